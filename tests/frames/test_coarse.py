"""The coarse picture lies over the frame, whatever the frame's shape."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from stillwing.frames.coarse import COARSE_LONG_PX, coarse_picture


def textured(rows, cols, seed=0):
    rng = np.random.default_rng(seed)
    few = rng.uniform(30, 220, (max(rows // 40, 2), max(cols // 40, 2))).astype(np.float32)
    return np.clip(cv2.resize(few, (cols, rows), interpolation=cv2.INTER_CUBIC), 0, 255).astype(np.uint8)


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 2500), st.integers(1, 2500))
def test_sides_are_multiples_of_32_and_the_scales_give_the_frame_back(rows, cols):
    coarse = coarse_picture(np.full((rows, cols), 90, np.uint8))
    out_rows, out_cols = coarse.grey.shape
    assert out_rows % 32 == 0 and out_cols % 32 == 0 and min(out_rows, out_cols) >= 32
    assert coarse.detail.shape == coarse.grey.shape
    assert coarse.scale_x * out_cols == pytest.approx(cols)
    assert coarse.scale_y * out_rows == pytest.approx(rows)
    assert np.all(coarse.grey == 90) and not coarse.detail.any()


@pytest.mark.parametrize("shape", [(3000, 4000), (4000, 3000), (2000, 3000), (3376, 6000), (3000, 3000)])
def test_usual_frames_keep_their_proportions(shape):
    """The rounding to multiples of 32 stretches by at most 16 in the shorter coarse side of over 200."""
    coarse = coarse_picture(np.zeros(shape, np.uint8))
    assert max(coarse.grey.shape) == COARSE_LONG_PX
    assert coarse.scale_x / coarse.scale_y == pytest.approx(1, abs=0.08)


@pytest.mark.parametrize("shape", [(480, 640), (512, 640), (640, 427), (400, 400)])
def test_small_frames_are_searched_at_twice_the_size(shape):
    assert max(coarse_picture(np.zeros(shape, np.uint8)).grey.shape) == 2 * COARSE_LONG_PX


@pytest.mark.parametrize(("x", "y"), [(200, 300), (1500, 1100), (2700, 1900), (1201, 77)])
def test_a_spot_is_found_at_its_place(x, y):
    luma = np.full((2000, 3000), 60, np.uint8)
    cv2.circle(luma, (x, y), 40, 250, -1)
    coarse = coarse_picture(luma)
    row, col = ndimage.center_of_mass(coarse.grey - 60)
    # Middles of pixels: coarse pixel 0 covers original pixels 0 to scale - 1.
    assert (col + 0.5) * coarse.scale_x - 0.5 == pytest.approx(x, abs=0.25 * coarse.scale_x)
    assert (row + 0.5) * coarse.scale_y - 0.5 == pytest.approx(y, abs=0.25 * coarse.scale_y)


def test_a_portrait_frame_is_the_landscape_one_turned():
    luma = textured(1200, 1800)
    wide, tall = coarse_picture(luma), coarse_picture(np.ascontiguousarray(luma.T))
    assert np.abs(tall.grey - wide.grey.T).max() <= 2
    assert (tall.scale_x, tall.scale_y) == (wide.scale_y, wide.scale_x)


def test_detail_tells_sharp_from_soft_where_the_grey_is_alike():
    rng = np.random.default_rng(1)
    fine = np.kron(rng.integers(60, 200, (300, 450)), np.ones((6, 6))).astype(np.uint8)
    soft = np.clip(ndimage.gaussian_filter(fine.astype(float), 12), 0, 255).astype(np.uint8)
    half = fine.copy()
    half[:, 1350:] = soft[:, 1350:]
    coarse = coarse_picture(half)
    middle = coarse.grey.shape[1] // 2
    assert coarse.detail[:, : middle - 2].mean() > 5 * coarse.detail[:, middle + 2 :].mean()
    assert coarse.grey[:, :middle].mean() == pytest.approx(coarse.grey[:, middle:].mean(), abs=4)


def test_a_larger_picture_of_the_same_scene_gives_the_same_grey():
    luma = textured(1200, 1600)
    double = cv2.resize(luma, (3200, 2400), interpolation=cv2.INTER_LINEAR)
    assert np.abs(coarse_picture(luma).grey - coarse_picture(double).grey).max() <= 3
