"""Outlines lie where they say, and round rendered animals where the truth says."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.animal import room_round
from stillwing.frames.measured import Box
from stillwing.frames.outline import Outline, belonging, between, draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window
from stillwing.scene.truth import mask_of

CELLS = 64


def outline_of(cover, x=1000.0, y=500.0, side=640.0):
    return Outline(x, y, side, cover.astype(np.float32), 1.0, Box(x, y, side, side), np.zeros((128, 128), np.uint8))


def disc_cover(centre, radius):
    """Cover of a disc with its middle and radius in cells, by counting points in each cell."""
    at = (np.arange(CELLS * 8) + 0.5) / 8
    inside = np.hypot(at[None] - centre[0], at[:, None] - centre[1]) < radius
    return inside.reshape(CELLS, 8, CELLS, 8).mean((1, 3))


def test_a_mask_lies_on_its_cells():
    cover = np.zeros((CELLS, CELLS))
    cover[16:32, 8:24] = 1  # of 640 px: x 80 to 240, y 160 to 320 in the square
    outline = outline_of(cover)
    mask = outline.mask_of(1000, 500, 640, 640) > 127
    rows, cols = np.nonzero(mask)
    assert abs(cols.min() - 80) <= 1 and abs(cols.max() + 1 - 240) <= 1
    assert abs(rows.min() - 160) <= 1 and abs(rows.max() + 1 - 320) <= 1
    xs = [x for x, _ in outline.polygon()]
    assert min(xs) >= 1080 and max(xs) <= 1240


@pytest.mark.parametrize("step_px", [1, 4])
@pytest.mark.parametrize("side", [64.0, 200.0, 733.3])
def test_a_disc_s_mask_has_its_middle_and_area(side, step_px):
    cell = side / CELLS
    outline = outline_of(disc_cover((29.3, 34.8), 15.0), 812.6, 77.2, side)
    left, top = 800, 60
    cols = rows = int(side + 40) // step_px
    mask = outline.mask_of(left, top, cols, rows, step_px) > 127
    y, x = np.nonzero(mask)
    middle = np.array([left + (x.mean() + 0.5) * step_px, top + (y.mean() + 0.5) * step_px])
    assert middle == pytest.approx([812.6 + 29.3 * cell, 77.2 + 34.8 * cell], abs=0.15 * max(cell, step_px))
    assert mask.sum() * step_px**2 == pytest.approx(np.pi * (15 * cell) ** 2, rel=0.05)


@given(st.integers(-30, 700), st.integers(-30, 700), st.integers(1, 90), st.integers(1, 90))
def test_a_window_s_mask_is_that_part_of_the_whole_mask(left, top, cols, rows):
    outline = outline_of(disc_cover((30, 34), 20), 40.5, 30.25, 640.0)
    whole = outline.mask_of(-30, -30, 900, 900)
    part = outline.mask_of(left, top, cols, rows)
    assert np.abs(part.astype(int) - whole[top + 30 : top + 30 + rows, left + 30 : left + 30 + cols]).max() <= 1


def test_the_polygon_goes_round_the_largest_piece():
    cover = np.maximum(disc_cover((20, 20), 12), disc_cover((52, 52), 5))
    points = np.array(outline_of(cover).polygon())
    x, y = points.T
    area = abs(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) / 2
    # Corners lie on the middles of cells, so that the polygon is half a cell smaller all round.
    assert area == pytest.approx(np.pi * (11.5 * 10) ** 2, rel=0.1)
    assert points.mean(0) == pytest.approx([1200, 700], abs=10)


def test_an_empty_cover_has_no_polygon_and_no_mask():
    outline = outline_of(np.zeros((CELLS, CELLS)))
    assert outline.polygon() == ()
    assert not outline.mask_of(1000, 500, 640, 640).any()


def test_a_mask_far_from_the_outline_is_empty():
    assert not outline_of(np.ones((CELLS, CELLS))).mask_of(5000, 5000, 50, 50).any()


def test_pieces_outside_the_box_are_of_another_animal():
    cover = np.maximum(disc_cover((32, 32), 10), disc_cover((8, 8), 6)).astype(np.float32)
    kept = belonging(cover, Box(20, 20, 24, 24), 0, 0, 64)
    assert kept[32, 32] == 1 and kept[8, 8] == 0
    alone = disc_cover((32, 32), 10).astype(np.float32)
    assert np.array_equal(belonging(alone, Box(20, 20, 24, 24), 0, 0, 64), alone)


@given(st.floats(0, 1))
def test_between_goes_from_one_box_to_the_other(share):
    a, b = Box(0, 10, 100, 50), Box(40, 0, 20, 90)
    mean = between(a, b, share)
    assert between(a, b, 0) == a and between(a, b, 1) == b
    assert mean.x_px == pytest.approx(40 * share)
    assert mean.y_px + mean.height_px == pytest.approx(60 + 30 * share)


def mask_overlap(outline, animal):
    """Intersection over union with the truth's mask, at the truth's own step."""
    truth, step = mask_of(animal), animal["mask"]["step_px"]
    x, y, *_ = (int(side) for side in animal["box"])
    pad = 20
    drawn = (
        outline.mask_of(x - pad * step, y - pad * step, truth.shape[1] + 2 * pad, truth.shape[0] + 2 * pad, step) > 127
    )
    truth = np.pad(truth, pad)
    return (drawn & truth).sum() / (drawn | truth).sum()


def test_outlines_of_rendered_animals_lie_on_their_masks(bird, passing):
    """Crops held out had a median overlap of 0.75 (training/README.md); eight frames are asked for a little less."""
    overlaps = []
    for one in (bird, passing):
        for frame, box, animal in zip(one.burst.frames, one.boxes, one.animals, strict=True):
            outline = draw_outline(Window.whole(decode_luma(frame)), box)
            overlaps.append(mask_overlap(outline, animal))
            assert outline.certainty > 0.5
            assert outline.box.overlap(box) > 0.6
    assert np.median(overlaps) > 0.6


def test_no_animal_makes_a_lower_certainty(passing):
    luma, box = decode_luma(passing.burst.frames[0]), passing.boxes[0]
    here = draw_outline(Window.whole(luma), box).certainty
    plain = cv2.GaussianBlur(luma, (0, 0), 60)
    assert draw_outline(Window.whole(plain), box).certainty < here


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.02, 0.6), st.floats(0.02, 0.6))
def test_a_window_gives_the_same_outline_as_the_whole_frame(x, y, width, height):
    luma = np.random.default_rng(0).integers(0, 255, (240, 320), dtype=np.uint8)
    box = Box(round(x * 250, 1), round(y * 180, 1), round(width * 320, 1), round(height * 240, 1))
    whole = Window.whole(luma)
    part = whole.round(box, room_round(box)).copied()
    one, other = draw_outline(whole, box), draw_outline(part, box)
    assert np.allclose(one.cover, other.cover, atol=1e-4)
    assert one.certainty == pytest.approx(other.certainty, abs=1e-4)


ODD_BOXES = {
    "one pixel": Box(100, 80, 1, 1),
    "part of a pixel in the corner": Box(0, 0, 0.5, 0.4),
    "the last pixel": Box(319, 239, 1, 1),
    "the whole frame": Box(0, 0, 320, 240),
    "larger than the frame": Box(-50, -40, 420, 330),
    "along the left edge": Box(0, 30, 6, 200),
    "along the bottom edge": Box(20, 236, 280, 4),
    "beyond the right edge": Box(400, 100, 30, 30),
    "above and left of the frame": Box(-90, -90, 30, 30),
}


@pytest.mark.parametrize("name", ODD_BOXES)
@pytest.mark.parametrize("level", [None, 0, 255])
def test_any_box_gets_an_outline_that_stays_in_the_frame(name, level):
    box = ODD_BOXES[name]
    luma = np.random.default_rng(0).integers(0, 255, (240, 320), dtype=np.uint8)
    if level is not None:
        luma[:] = level
    whole = Window.whole(luma)
    for window in (whole, whole.round(box, room_round(box))):
        outline = draw_outline(window, box)
        assert outline.cover.shape == (CELLS, CELLS) and np.isfinite(outline.cover).all()
        assert 0 <= outline.certainty <= 1
        if box.x_px >= 0 and box.x_px + box.width_px <= 320 and box.y_px >= 0 and box.y_px + box.height_px <= 240:
            assert outline.box.x_px >= 0 and outline.box.x_px + outline.box.width_px <= 320 + 1e-6
            assert outline.box.y_px >= 0 and outline.box.y_px + outline.box.height_px <= 240 + 1e-6
