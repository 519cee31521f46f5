"""The strip along the body, on masks drawn by hand."""

import numpy as np
import pytest

from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodycolours_strip import ENDS, MOST_HALF_WIDTH, body_strip


def drawn(width_px=12, wings_px=0, side="both"):
    """A body of 200 px along row 100, its thinner end at the left, with wings over columns 130 to 180."""
    mask = np.zeros((200, 240), np.uint8)
    half = width_px // 2
    mask[100 - half : 100 + half, 20:220] = 1
    mask[100 - half - wings_px : 100, 130:180] = 1
    if side == "both":
        mask[100 : 100 + half + wings_px, 130:180] = 1
    return mask, BodyAxis((20.0, 100.0), (220.0, 100.0), 1.0, 1.0)


def test_the_strip_lies_within_the_body_and_off_its_rim():
    mask, axis = drawn()
    strip = body_strip(mask, axis, 0, 0)
    rows, cols = np.nonzero(strip.inside)
    assert len(rows) > 500
    assert rows.min() >= 96 and rows.max() <= 103
    assert cols.min() >= 20 + ENDS[0] * 200 - 1 and cols.max() <= 20 + ENDS[1] * 200 + 1
    assert strip.half_width_px == pytest.approx(6, abs=1)


def test_wings_on_one_side_leave_the_strip_as_it_is():
    plain, winged = (body_strip(*drawn(wings_px=wings, side="one"), 0, 0).inside for wings in (0, 60))
    assert (plain != winged).sum() == 0


def test_wings_on_both_sides_widen_it_by_half_at_most():
    plain, winged = (body_strip(*drawn(wings_px=wings), 0, 0).inside for wings in (0, 60))
    assert winged[:, 150].sum() <= 1.8 * plain[:, 150].sum()
    assert np.array_equal(plain[:, :120], winged[:, :120])


def test_no_body_is_broader_than_an_abdomen_can_be():
    strip = body_strip(*drawn(width_px=160), 0, 0)
    rows = np.nonzero(strip.inside)[0]
    assert np.ptp(rows) <= 2 * MOST_HALF_WIDTH * 200


def test_a_region_within_the_frame_gives_the_same_strip():
    mask, axis = drawn()
    whole = body_strip(mask, axis, 0, 0).inside
    part = body_strip(mask[40:160, 10:230], axis, 10, 40).inside
    assert np.array_equal(whole[40:160, 10:230], part)


def test_a_hair_has_no_pixels_well_inside():
    assert not body_strip(*drawn(width_px=2), 0, 0).inside.any()
