"""Draws by elliptical slices: moments of densities that are known in closed form."""

import numpy as np
import pytest
from scipy.special import gamma

from stillwing.flight.slices import sliced


def test_a_gaussian_is_drawn_as_it_is():
    rng = np.random.default_rng(1)
    bend = np.array([[2.0, 0.6], [0.6, 1.0]])
    middle = np.array([3.0, -1.0])
    drawn = sliced(lambda x: np.einsum("mi,ij,mj->m", x - middle, bend, x - middle) / 2, middle, bend, 6000, rng)
    assert drawn.mean(0) == pytest.approx(middle, abs=0.06)
    assert np.cov(drawn.T) == pytest.approx(np.linalg.inv(bend), abs=0.08)


def test_a_flat_bottom_is_put_right():
    # exp(-x^4), taken for a Gaussian of standard deviation 1: its own is sqrt(gamma(3/4) / gamma(1/4)) = 0.581.
    rng = np.random.default_rng(2)
    drawn = sliced(lambda x: x[:, 0] ** 4, np.zeros(1), np.eye(1), 6000, rng)[:, 0]
    assert drawn.std() == pytest.approx(np.sqrt(gamma(0.75) / gamma(0.25)), rel=0.05)


def test_heavy_tails_are_reached():
    # Student's t with 5 degrees of freedom: variance 5/3 where the Gaussian at its top has 5/6.
    rng = np.random.default_rng(3)
    drawn = sliced(lambda x: 3 * np.log1p(x[:, 0] ** 2 / 5), np.zeros(1), np.array([[1.2]]), 8000, rng)[:, 0]
    assert drawn.std() == pytest.approx(np.sqrt(5 / 3), rel=0.08)
