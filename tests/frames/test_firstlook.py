"""What previews show lies where the picture has it, and rules out no frame that could be the best of its burst."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
import simplejpeg
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.blur import at_full_size
from stillwing.frames.chunk import measure_chunk
from stillwing.frames.coarse import SMALL_FRAME_PX
from stillwing.frames.firstlook import AGAINST_BEST, LEAST_REDUCTION, SURELY_SOFT_PX, enlarged, first_look, is_enough
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, Cutout, FocusMap, MeasuredFrame, Origin
from stillwing.frames.pixels import decode_luma

from .made_files import with_previews

PREVIEW_PX = 1100
SINGLE = 0.15
"""Three times the 5 % that the median of many readings may err, as in test_blur."""


def grey_jpeg(luma):
    return simplejpeg.encode_jpeg(np.ascontiguousarray(luma[..., None]), 92, "GRAY")


def written(path, luma, preview_px=PREVIEW_PX, *, turned=False):
    """Return the frame of a file with a preview of that longest side; ``turned`` stores it on its side."""
    stored = np.rot90(luma) if turned else luma
    main = grey_jpeg(stored)
    if preview_px:
        share = preview_px / max(stored.shape)
        size = (round(stored.shape[1] * share), round(stored.shape[0] * share))
        main = with_previews(main, [grey_jpeg(cv2.resize(stored, size, interpolation=cv2.INTER_AREA))], (0x010002,))
    path.write_bytes(main)
    return Frame((path,), Tags(width_px=luma.shape[1], height_px=luma.shape[0], orientation=6 if turned else 1))


def defocused(luma, sigma_px):
    """Return the picture after a disc of that standard deviation, in light: a disc of radius r has sigma r / 2."""
    if not sigma_px:
        return luma
    reach = int(2 * sigma_px) + 1
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    kernel = np.clip(2 * sigma_px - np.hypot(x, y) + 0.5, 0, 1)
    light = cv2.filter2D((luma / np.float32(255)) ** 2.2, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REFLECT)
    return (255 * np.clip(light, 0, 1) ** (1 / 2.2)).round().astype(np.uint8)


@pytest.fixture(scope="module", params=["passing", "bird"])
def rendered(request):
    """A rendered burst and its pixels."""
    burst = request.getfixturevalue(request.param)
    return burst, [decode_luma(frame) for frame in burst.burst.frames]


def shot(folder, rendered, sigmas_px, **how):
    """Return the rendered burst's frames, each defocused further by its own blur, and the blur that each then has."""
    truth, lumas = rendered
    softened = [defocused(luma, sigma_px) for luma, sigma_px in zip(lumas, sigmas_px, strict=True)]
    frames = [written(folder / f"F{number}.jpg", luma, **how) for number, luma in enumerate(softened)]
    return frames, np.hypot(truth.blurs_px, sigmas_px)


def plain(folder, n_frames=2, **how):
    """Return frames of noise without an animal."""
    rng = np.random.default_rng(5)
    lumas = [rng.normal(110, 2, (1500, 2000)).astype(np.uint8) for _ in range(n_frames)]
    return [written(folder / f"P{number}.jpg", luma, **how) for number, luma in enumerate(lumas)]


# Where and how soft ---------------------------------------------------------------------------------


@pytest.mark.parametrize("turned", [False, True])
def test_animals_are_told_in_pixels_of_the_upright_original(tmp_path, rendered, turned):
    frames, _ = shot(tmp_path, rendered, (0, 0, 0, 0), turned=turned)
    looked = first_look(frames)
    assert [seen.frame for seen, _ in looked] == frames
    for (seen, _), box in zip(looked, rendered[0].boxes, strict=True):
        assert seen.sightings[0].box.overlap(box) >= 0.5


def test_soft_frames_are_ruled_out_and_sharp_ones_go_to_the_full_decode(tmp_path, rendered):
    frames, truths = shot(tmp_path, rendered, (0, 8, 8, 0))
    known = [frame for _, frame in first_look(frames)]
    assert [frame is not None for frame in known] == [False, True, True, False]
    for frame, truth, luma in zip(known[1:3], truths[1:3], rendered[1][1:3], strict=True):
        assert frame.from_preview
        assert (frame.height_px, frame.width_px) == luma.shape
        blur = frame.animals[0].blur
        assert blur.blur_low_px < truth < blur.blur_high_px
        assert blur.blur_px == pytest.approx(truth, rel=SINGLE)


def test_of_a_burst_that_is_soft_all_over_no_frame_is_ruled_out(tmp_path, rendered):
    frames, _ = shot(tmp_path, rendered, (8, 8, 8, 8))
    assert [frame for _, frame in first_look(frames)] == [None] * 4


def test_the_chunk_measures_the_promising_frames_in_full_and_names_the_sharpest_alike(tmp_path, rendered):
    frames, _ = shot(tmp_path, rendered, (8, 0, 8, 0))
    quick, whole = (measure_chunk(Burst("F", tuple(frames)), use_previews=use).frames for use in (True, False))
    assert [frame.from_preview for frame in quick] == [True, False, True, False]
    blurs = [[frame.animals[0].blur.blur_px for frame in frames] for frames in (quick, whole)]
    assert np.argmin(blurs[0]) == np.argmin(blurs[1])
    # Of a promising frame the preview gives only the place: its blur is read on the full picture.
    for k in (1, 3):
        assert quick[k].animals[0].box.overlap(whole[k].animals[0].box) > 0.7
        assert blurs[0][k] == pytest.approx(blurs[1][k], rel=SINGLE)


def test_frames_without_an_animal_need_no_full_decode(tmp_path):
    frames = plain(tmp_path)
    for frame in frames:  # no main picture is left to be decoded, only the preview behind it
        data = bytearray(frame.path.read_bytes())
        data[4000:40000] = bytes(36000)
        frame.path.write_bytes(data)
    known = [frame for _, frame in first_look(frames)]
    assert [(frame.animals, frame.from_preview) for frame in known] == [((), True)] * 2
    assert {(frame.width_px, frame.height_px) for frame in known} == {(2000, 1500)}
    assert not measure_chunk(Burst("P", tuple(frames))).failed
    assert len(measure_chunk(Burst("P", tuple(frames)), use_previews=False).failed) == 2


# Where there is nothing to look at ------------------------------------------------------------------


@pytest.mark.parametrize("preview_px", [0, SMALL_FRAME_PX - 100, round(2000 / LEAST_REDUCTION) + 50])
def test_a_preview_that_is_absent_too_small_or_nearly_the_picture_is_not_looked_at(tmp_path, preview_px):
    assert first_look(plain(tmp_path, preview_px=preview_px)) is None


@pytest.mark.parametrize("preview_px", [SMALL_FRAME_PX, int(2000 / LEAST_REDUCTION)])
def test_previews_at_either_end_of_the_range_are_looked_at(tmp_path, preview_px):
    assert len(first_look(plain(tmp_path, preview_px=preview_px))) == 2


@pytest.mark.parametrize("at", [0, 1])
def test_one_frame_without_a_preview_leaves_the_whole_burst_to_the_full_decode(tmp_path, at):
    frames = plain(tmp_path)
    frames[at].path.write_bytes(grey_jpeg(np.full((1500, 2000), 90, np.uint8)))
    assert first_look(frames) is None


@pytest.mark.parametrize("at", [0, 1])
def test_a_file_that_is_gone_is_left_for_the_full_decode_to_name(tmp_path, at):
    frames = plain(tmp_path)
    frames[at].path.unlink()
    assert first_look(frames) is None
    assert [error.path for error in measure_chunk(Burst("P", tuple(frames))).failed] == [frames[at].path]


def test_a_frame_that_does_not_tell_its_size_is_not_looked_at(tmp_path):
    frames = plain(tmp_path)
    assert first_look([replace(frames[0], tags=Tags()), *frames[1:]]) is None


# What rules a frame out -----------------------------------------------------------------------------

NOWHERE = Frame((), Tags())
px = st.floats(0.3, 40)


def blur(blur_px, low_px):
    return Blur(blur_px, low_px, 2 * blur_px - low_px, blur_px, blur_px, None, BlurKind.DEFOCUS)


def animal(of):
    box = Box(100, 50, 80, 40)
    outline = ((110.0, 60.0), (170.0, 60.0), (140.0, 80.0))
    focus = FocusMap(box, 1, 2, (1.5, float("nan")))
    cutout = Cutout(90.0, 20.0, 100.0, b"as JPEG")
    return Animal(
        box, 0.9, Origin.FOUND, of, outline, 0.1, False, (100, 50, 300, 200), 0.25, 0.125, 0.5, focus, 2, cutout
    )


def shown(*blurs):
    return MeasuredFrame(NOWHERE, 800, 600, tuple(animal(one) for one in blurs), from_preview=True)


def test_a_frame_without_an_animal_is_ruled_out_and_one_whose_blur_is_unknown_never():
    assert is_enough(shown(), 1.0)
    assert not is_enough(shown(None), 0.5)
    assert not is_enough(shown(blur(30, 25), None), 0.5)


@given(px, st.floats(0.1, 1), px)
def test_only_a_surely_soft_frame_far_from_the_best_is_ruled_out(blur_px, low_share, best_px):
    low_px = blur_px * low_share
    if is_enough(shown(blur(blur_px, low_px)), best_px):
        assert low_px > SURELY_SOFT_PX
        assert blur_px > AGAINST_BEST * best_px
        # A second animal that is sharp, or may be, saves the frame.
        assert not is_enough(shown(blur(blur_px, low_px), blur(best_px, best_px)), best_px)
        assert not is_enough(shown(blur(blur_px, low_px), blur(blur_px, SURELY_SOFT_PX / 2)), best_px)


def test_the_best_of_a_burst_is_never_ruled_out():
    assert not is_enough(shown(blur(20, 18)), 20)
    assert is_enough(shown(blur(20, 18)), 9.9)


# From preview to original ---------------------------------------------------------------------------


def test_lengths_grow_with_the_scale_and_shares_stay():
    small, large = animal(blur(2, 1)), enlarged(animal(blur(2, 1)), 2.5)
    assert large.box == large.focus_map.box == Box(250, 125, 200, 100)
    assert large.edge_distance_px == (250, 125, 750, 500)
    assert large.outline_px[0] == (275, 150)
    assert large.cutout == Cutout(225, 50, 250, small.cutout.jpeg)
    kept = ("certainty", "origin", "size_in_frame", "edge_clipped", "highlights_clipped", "shadows_clipped", "track")
    assert all(getattr(large, name) == getattr(small, name) for name in kept)
    assert np.isnan(large.focus_map.blur_px[1])


@given(st.floats(0.5, 8), st.floats(1, 6))
def test_a_blur_seen_on_the_preview_is_the_original_s_less_the_pixels_own_boxes(sigma_px, scale):
    """A pixel's box has a variance of 1/12: of an original pixel there, of one k times as wide here."""
    on_preview = np.sqrt(sigma_px**2 / scale**2 + 1 / 12)
    on_original = np.sqrt(sigma_px**2 + 1 / 12)
    large = enlarged(animal(blur(on_preview, on_preview)), scale)
    for figure in (large.blur.blur_px, large.blur.blur_low_px, large.blur.minor_px, large.blur.major_px):
        assert figure == pytest.approx(on_original)
    assert large.focus_map.blur_px[0] == pytest.approx(at_full_size(1.5, scale))
    assert (large.blur.kind, large.blur.direction_deg) == (BlurKind.DEFOCUS, None)


def test_an_animal_without_a_blur_stays_without():
    assert enlarged(replace(animal(None), focus_map=None), 2).blur is None
    assert enlarged(replace(animal(None), focus_map=None), 2).focus_map is None
