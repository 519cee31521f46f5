"""How the background moved: pictures cut from one drawn ground at known places, with noise, JPEG and an animal."""

import cv2
import numpy as np
import pytest
import simplejpeg
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.frames.coarse import coarse_picture
from stillwing.frames.measured import Box
from stillwing.frames.slip import background_slip

WIDTH, HEIGHT = 1536, 1152


def ground(seed, blur_px):
    """Return a ground larger than a frame, of spots of many sizes, out of focus by ``blur_px``."""
    rng = np.random.default_rng(seed)
    shape = (HEIGHT + 800, WIDTH + 800)
    total = np.zeros(shape, np.float32)
    for size in (6, 20, 60, 160):
        few = rng.normal(0, 1, (shape[0] // size + 2, shape[1] // size + 2)).astype(np.float32)
        total += cv2.resize(few, shape[::-1], interpolation=cv2.INTER_CUBIC)
    total = cv2.GaussianBlur(total, (0, 0), blur_px)
    return 110 + 30 * total / total.std()


GROUNDS = {"sharp": ground(1, 1.0), "soft": ground(2, 30.0), "a blur": ground(3, 90.0)}


def frame(name, x, y, *, seed=0, gain=1.0, noise=2.0, animal=None):
    rng = np.random.default_rng([seed, 5])
    luma = gain * GROUNDS[name][y : y + HEIGHT, x : x + WIDTH] + rng.normal(0, noise, (HEIGHT, WIDTH))
    if animal is not None:
        left, top = animal
        luma[top : top + 200, left : left + 400] = 40 + 60 * (np.indices((200, 400)).sum(0) // 25 % 2)
    packed = simplejpeg.encode_jpeg_yuv_planes(
        np.clip(luma, 0, 255).astype(np.uint8), *(np.full((HEIGHT // 2, WIDTH // 2), 128, np.uint8) for _ in "UV"), 90
    )
    return coarse_picture(simplejpeg.decode_jpeg(packed, "GRAY")[..., 0])


@settings(max_examples=25, deadline=None)
@given(st.sampled_from(sorted(GROUNDS)), st.integers(-350, 350), st.integers(-250, 250))
def test_a_shift_is_found_to_a_fraction_of_a_pixel_of_the_original(name, dx, dy):
    found = background_slip(frame(name, 400, 400), frame(name, 400 - dx, 400 - dy, seed=1))
    assert found is not None
    # A cell of the coarse picture is 4 px of the original here.
    assert (found.x_px, found.y_px) == pytest.approx((dx, dy), abs=max(4 * found.sd_px, 0.4))
    assert found.sd_px < 1.0


def test_a_blurred_ground_is_not_held_fast_by_the_grid_of_jpegs_blocks():
    found = background_slip(frame("a blur", 400, 400), frame("a blur", 395, 403, seed=1))
    assert (found.x_px, found.y_px) == pytest.approx((5, -3), abs=0.4)


def test_an_animal_that_stays_in_the_middle_does_not_hold_the_ground_fast():
    boxes = [Box(500, 400, 400, 200)]
    before, after = (frame("soft", x, 400, seed=x, animal=(500, 400)) for x in (400, 340))
    found = background_slip(before, after, boxes, boxes)
    assert (found.x_px, found.y_px) == pytest.approx((60, 0), abs=0.5)


def test_an_animal_that_nobody_found_counts_little():
    before, after = (frame("soft", x, 400, seed=x, animal=(500, 400)) for x in (400, 385))
    found = background_slip(before, after)
    assert (found.x_px, found.y_px) == pytest.approx((15, 0), abs=1.0)


@pytest.mark.parametrize("dx", [700, -620])
def test_a_pan_by_nearly_half_the_frame_is_found_behind_an_animal_that_stays(dx):
    boxes = [Box(500, 400, 400, 200)]
    start = 50 if dx < 0 else 750
    before, after = (frame("sharp", x, 400, seed=x, animal=(500, 400)) for x in (start, start - dx))
    found = background_slip(before, after, boxes, boxes)
    assert (found.x_px, found.y_px) == pytest.approx((dx, 0), abs=max(4 * found.sd_px, 0.5))


def test_where_a_texture_repeats_no_one_place_is_told():
    column = np.arange(WIDTH)[None, :] + np.zeros((HEIGHT, 1))
    stems = [(110 + 40 * np.sin((column + at) * 2 * np.pi / 120)).astype(np.uint8) for at in (0, 60)]
    assert background_slip(*map(coarse_picture, stems)) is None


def test_a_cloud_before_the_sun_is_no_movement():
    found = background_slip(frame("soft", 400, 400), frame("soft", 390, 400, seed=1, gain=0.93))
    assert found.x_px == pytest.approx(10, abs=0.4)


def test_frames_that_share_nothing_tell_nothing():
    assert background_slip(frame("soft", 0, 400), frame("sharp", 700, 400, seed=1)) is None


def test_an_even_ground_tells_nothing():
    even = coarse_picture(np.full((HEIGHT, WIDTH), 120, np.uint8))
    assert background_slip(even, even) is None


def test_frames_of_different_shape_tell_nothing():
    upright = coarse_picture(np.full((WIDTH, HEIGHT), 120, np.uint8))
    assert background_slip(upright, frame("soft", 0, 0)) is None


def test_noise_makes_it_less_sure():
    clean, noisy = (
        background_slip(frame("a blur", 400, 400, noise=noise), frame("a blur", 410, 400, seed=1, noise=noise))
        for noise in (1.0, 20.0)
    )
    assert clean.sd_px < noisy.sd_px
