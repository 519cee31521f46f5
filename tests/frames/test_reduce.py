"""Smaller pictures against plain means and against ramps, whose reduced values are known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.reduce import averaged, halved, shrunk

sides = st.integers(2, 70)


def noise(rows, cols, dtype=np.float32, seed=0):
    return np.random.default_rng(seed).integers(0, 256, (rows, cols)).astype(dtype)


@given(sides, sides)
def test_each_half_size_pixel_is_the_mean_of_four(rows, cols):
    picture = noise(rows, cols)
    even = picture[: rows // 2 * 2, : cols // 2 * 2].reshape(rows // 2, 2, cols // 2, 2)
    assert halved(picture) == pytest.approx(even.mean((1, 3)), abs=1e-3)


@given(sides, sides)
def test_bytes_stay_bytes_and_are_rounded_at_most_once(rows, cols):
    picture = noise(rows, cols, np.uint8)
    half = halved(picture)
    assert half.dtype == np.uint8
    assert np.abs(half - halved(picture.astype(np.float32))).max() <= 0.51


@pytest.mark.parametrize("size", [(1, 1), (7, 5), (20, 30), (33, 29)])
def test_averaging_keeps_the_mean(size):
    picture = noise(60, 66)
    assert averaged(picture, size).shape == size[::-1]
    assert averaged(picture, size).mean() == pytest.approx(picture.mean(), rel=1e-4)


@pytest.mark.parametrize("size", [(96, 64), (100, 70), (256, 192), (640, 480), (900, 700), (3, 400)])
def test_a_ramp_stays_where_it_was_when_shrunk_or_enlarged(size):
    """A linear ramp has at the middle of every new pixel the value it had there: nothing moves by a part of a pixel."""
    rows, cols = 480, 640
    ramp = np.tile(np.linspace(10, 240, cols), (rows, 1)).round().astype(np.uint8)
    small = shrunk(ramp, size).astype(float)
    middle = (np.arange(size[0]) + 0.5) * cols / size[0] - 0.5
    want = np.interp(middle, np.arange(cols), np.linspace(10, 240, cols))
    inner = slice(1, -1) if size[0] > 4 else slice(1, 2)
    # Rounding to whole DN, at most once for every halving (of up to nine) and once for the rest.
    assert np.abs(small - want)[:, inner].max() <= 2.0


def test_a_plain_picture_stays_plain_and_the_input_as_it_was():
    plain = np.full((333, 517), 77, np.uint8)
    assert np.all(shrunk(plain, (32, 32)) == 77)
    assert np.all(plain == 77)
    picture = noise(50, 60, np.uint8)
    copy = picture.copy()
    shrunk(picture, (11, 7))
    halved(picture)
    assert np.array_equal(picture, copy)
