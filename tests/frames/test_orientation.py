"""Orientation: NumPy's plain turns as the oracle, and rectangles that go there and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.orientation import point_upright, rect_stored, rect_upright, sides_swapped, upright

# Exif 2.32, tag 0x0112: where the stored row 0 and column 0 lie in the scene.
ORACLE = {
    1: lambda stored: stored,
    2: np.fliplr,
    3: lambda stored: np.rot90(stored, 2),
    4: np.flipud,
    5: lambda stored: stored.swapaxes(0, 1),
    6: lambda stored: np.rot90(stored, -1),
    7: lambda stored: np.rot90(stored, 2).swapaxes(0, 1),
    8: lambda stored: np.rot90(stored, 1),
}


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("shape", [(5, 8), (5, 8, 3), (1, 4), (7, 1)])
def test_pixels_turn_as_numpy_turns_them(orientation, shape):
    stored = np.arange(np.prod(shape)).reshape(shape).astype(np.uint8)
    turned = upright(stored, orientation)
    np.testing.assert_array_equal(turned, ORACLE[orientation](stored))
    assert turned.flags.c_contiguous
    assert sides_swapped(orientation) == (turned.shape[:2] == shape[1::-1] and shape[0] != shape[1])


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_marked_pixel_is_where_its_point_is(orientation):
    stored = np.zeros((5, 8), np.uint8)
    stored[1, 6] = 255
    row, col = np.argwhere(upright(stored, orientation) == 255)[0]
    assert point_upright(6.5, 1.5, 8, 5, orientation) == (col + 0.5, row + 0.5)


@given(
    st.integers(1, 8),
    st.tuples(st.floats(0, 100), st.floats(0, 50), st.floats(0, 100), st.floats(0, 50)),
)
def test_rectangles_go_there_and_back(orientation, rect):
    width, height = 200.0, 100.0
    there = rect_upright(rect, width, height, orientation)
    sides = (height, width) if sides_swapped(orientation) else (width, height)
    assert rect_stored(there, *sides, orientation) == pytest.approx(rect, abs=1e-9)
    assert there[2] * there[3] == pytest.approx(rect[2] * rect[3], abs=1e-9)
