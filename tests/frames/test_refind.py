"""Where a picture lies on another: two windows of one random ground, at overlaps from all to a fifth."""

import cv2
import numpy as np
import pytest

from stillwing.frames.refind import likely_shifts, texture

ROWS, COLS = 128, 192


@pytest.mark.parametrize("dx", [0, 60, -110, 150])
def test_the_true_shift_is_the_likeliest_whatever_a_masked_animal_does(dx):
    ground = cv2.GaussianBlur(np.random.default_rng(4).normal(0, 40, (ROWS, 600)).astype(np.float32), (0, 0), 2)
    one, other = (ground[:, x : x + COLS].copy() for x in (200, 200 - dx))
    is_ground = np.ones((ROWS, COLS), np.bool_)
    is_ground[40:80, 70:120] = False
    one[~is_ground] = other[~is_ground] = 200 * (np.arange(2000) % 2)
    assert likely_shifts(one, other, is_ground, is_ground)[0] == pytest.approx((dx, 0), abs=2)


def test_an_even_picture_has_no_texture():
    even = np.full((ROWS, COLS), 90, np.float32)
    assert texture(even, np.ones((ROWS, COLS), np.bool_), 6.0) == pytest.approx(np.zeros((ROWS, COLS)), abs=1e-3)
