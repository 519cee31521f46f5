"""The longest lines within drawn masks, and the widths along them."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.frames.chords import longest_chords, widths_along


def rectangle(angle_deg, length=120, width=12, side=180):
    mask = np.zeros((side, side), np.uint8)
    corners = cv2.boxPoints(((side / 2, side / 2), (length, width), angle_deg))
    cv2.fillPoly(mask, [np.rint(corners).astype(np.int32)], 1)
    return mask


@settings(max_examples=20, deadline=None)
@given(st.floats(0, 180))
def test_a_bar_s_longest_line_is_its_diagonal_whatever_its_turn(angle):
    first = longest_chords(rectangle(angle))[0]
    assert np.linalg.norm(first[1] - first[0]) == pytest.approx(np.hypot(120, 12), abs=4)


def test_a_cross_has_both_its_bars():
    mask = rectangle(0) | rectangle(90, length=100)
    directions = [np.degrees(np.arctan2(*np.abs(chord[1] - chord[0])[::-1])) for chord in longest_chords(mask)[:2]]
    assert sorted(directions) == pytest.approx([0, 90], abs=9)


def test_an_empty_mask_has_no_lines():
    assert longest_chords(np.zeros((50, 60), np.uint8)).shape == (0, 2, 2)


def test_widths_are_those_of_either_side():
    mask = np.zeros((100, 140), np.uint8)
    mask[40:52, 20:120] = 1
    sides = widths_along(mask, np.array([[20.0, 44.0], [119.0, 44.0]]), 10)
    assert sides.sum(0) == pytest.approx(np.full(10, 13 / 99))
    assert sides[0, 0] != sides[1, 0]
