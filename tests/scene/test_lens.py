import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.optics.spread import disc_variance, path_covariance
from stillwing.scene.lens import filtered, kernel, kernel_covariance

STILL = np.zeros((2, 2))


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 14), st.floats(0.6, 2.5), st.floats(-12, 12), st.floats(-12, 12))
def test_a_kernel_has_the_covariance_of_its_parts(disc, sigma, dx, dy):
    path = np.linspace(-0.5, 0.5, 65)[:, None] * (dx, dy)
    expected = path_covariance(path) + np.eye(2) * (float(disc_variance(disc)) + sigma**2)
    found = kernel_covariance(kernel(disc, sigma, path))
    assert found == pytest.approx(expected, rel=0.01, abs=0.02)


def test_a_kernel_sums_to_one_and_has_an_odd_side():
    spread = kernel(7.3, 0.8, STILL)
    assert spread.sum() == pytest.approx(1, abs=1e-5)
    assert spread.shape[0] == spread.shape[1]
    assert spread.shape[0] % 2 == 1


def test_a_disc_is_flat_in_the_middle_and_round():
    spread = kernel(20, 0.6, STILL)
    middle = spread.shape[0] // 2
    assert spread[middle, middle] == pytest.approx(1 / (np.pi * 100), rel=0.02)
    assert spread == pytest.approx(spread.T, abs=1e-6)


def test_a_path_moves_the_picture_the_way_it_goes():
    picture = np.zeros((41, 41), np.float32)
    picture[20, 20] = 1
    moved = filtered(picture, kernel(0, 0.6, np.full((3, 2), (5.0, -3.0))))
    assert np.unravel_index(moved.argmax(), moved.shape) == (17, 25)


def test_light_is_neither_made_nor_lost():
    picture = np.zeros((64, 64, 3), np.float32)
    picture[25:40, 25:40] = 0.7
    assert filtered(picture, kernel(9, 0.7, STILL)).sum() == pytest.approx(picture.sum(), rel=1e-4)
