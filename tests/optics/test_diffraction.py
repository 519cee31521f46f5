import numpy as np
import pytest
from scipy.special import j1

from stillwing.optics.diffraction import GREEN_MM, airy_diameter, airy_sigma


def test_first_dark_ring():
    # First zero of J1 is at 3.8317 (Abramowitz and Stegun, table 9.5): diameter 2 x 1.21967 lambda N.
    assert airy_diameter(8) == pytest.approx(2 * 1.21967 * GREEN_MM * 8, rel=1e-3)


def test_the_gaussian_has_the_patterns_peak_at_equal_volume():
    n = 8.0
    sigma = float(airy_sigma(n))
    r = np.linspace(1e-9, 400 * GREEN_MM * n, 2_000_001)
    x = np.pi * r / (GREEN_MM * n)
    volume = np.trapezoid((2 * j1(x) / x) ** 2 * 2 * np.pi * r, r)
    assert 2 * np.pi * sigma**2 == pytest.approx(volume, rel=0.005)


def test_half_contrast_lies_where_the_gaussian_says():
    # Diffraction MTF: 2/pi (acos v - v sqrt(1 - v^2)); 0.5 at v = 0.404 (Goodman, Introduction to Fourier Optics).
    v = 0.404 / (GREEN_MM * 8)
    gaussian = np.exp(-2 * (np.pi * float(airy_sigma(8)) * v) ** 2)
    assert gaussian == pytest.approx(0.5, abs=0.03)
