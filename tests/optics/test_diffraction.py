import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.special import j0, j1, jn_zeros

from stillwing.errors import OutsideModel
from stillwing.optics.diffraction import (
    AIRY_FACTOR,
    GREEN_MM,
    airy_diameter,
    airy_mtf,
    airy_sigma,
    cutoff_frequency,
)


def test_first_dark_ring():
    # First zero of J1 is at 3.8317 (Abramowitz and Stegun, table 9.5): diameter 2 x 1.21967 lambda N.
    assert airy_diameter(8) == pytest.approx(2 * 1.21967 * GREEN_MM * 8, rel=5e-6)
    assert pytest.approx(2 * jn_zeros(1, 1)[0] / np.pi, rel=1e-10) == AIRY_FACTOR
    x = np.pi * AIRY_FACTOR / 2
    assert 1 - j0(x) ** 2 - j1(x) ** 2 == pytest.approx(0.838, abs=5e-4)  # 83.8 % of the energy (textbooks)


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


@pytest.mark.parametrize(
    ("n", "green_um", "blue_green_um", "cycles_mm"),
    [
        (2.8, 3.757, 3.415, 649.4),
        (4, 5.367, 4.879, 454.5),
        (5.6, 7.513, 6.830, 324.7),
        (8, 10.733, 9.757, 227.3),
        (11, 14.758, 13.416, 165.3),
        (16, 21.466, 19.515, 113.6),
        (22, 29.516, 26.833, 82.6),
        (32, 42.932, 39.029, 56.8),
    ],
)
def test_dark_rings_and_cutoffs_as_tabled(n, green_um, blue_green_um, cycles_mm):
    # 2.43934 lambda N at 550 and 500 nm, cutoff 1/(lambda N): computed; Airy disc as J1 in Microscope Image Processing,
    # ch. 2, eq. 2.9-2.10 (read).
    assert airy_diameter(n) * 1000 == pytest.approx(green_um, abs=6e-4)
    assert airy_diameter(n, 0.0005) * 1000 == pytest.approx(blue_green_um, abs=6e-4)
    assert cutoff_frequency(n) == pytest.approx(cycles_mm, abs=0.06)


@pytest.mark.parametrize(
    ("v", "contrast"),
    [
        (0.1, 0.87289),
        (0.2, 0.74706),
        (0.25, 0.68504),
        (0.3, 0.62384),
        (0.4, 0.50463),
        (0.5, 0.39100),
        (0.6, 0.28476),
        (0.7, 0.18812),
        (0.8, 0.10409),
        (0.9, 0.03739),
    ],
)
def test_contrast_of_a_perfect_lens_as_tabled(v, contrast):
    # (2/pi)(acos v - v sqrt(1 - v^2)): Goodman, Introduction to Fourier Optics; digits computed. A text that gives 30 %
    # at 0.7 of the cutoff means a square aperture, 1 - v (read).
    assert airy_mtf(v * cutoff_frequency(8), 8) == pytest.approx(contrast, abs=5e-6)


@pytest.mark.parametrize(("contrast", "v"), [(0.5, 0.40397), (0.1, 0.80538)])
def test_frequencies_of_half_and_a_tenth_of_the_contrast(contrast, v):
    found = brentq(lambda x: float(airy_mtf(x * cutoff_frequency(8), 8)) - contrast, 0.01, 0.99)
    assert found == pytest.approx(v, abs=5e-6)


def test_rayleighs_separation_has_nine_percent_contrast():
    # Lines one radius of the dark ring apart: v = 1/1.21967 of the cutoff, MTF 0.09 (computed; known as the 9 % rule).
    assert airy_mtf(cutoff_frequency(8) / (AIRY_FACTOR / 2), 8) == pytest.approx(0.0894, abs=5e-4)


def test_contrast_against_the_overlap_of_two_drawn_pupils():
    # Outside truth: the transfer function of light without coherence is the pupil's overlap with itself, shifted by v.
    y, x = np.mgrid[-1:1:1601j, -1:3:3201j]
    pupil = x * x + y * y <= 1
    for v in (0.15, 0.5, 0.85):
        shifted = (x - 2 * v) ** 2 + y * y <= 1
        assert airy_mtf(v * cutoff_frequency(5.6), 5.6) == pytest.approx(
            (pupil & shifted).sum() / pupil.sum(), abs=2e-3
        )


@given(st.floats(0, 1000), st.floats(0, 1000), st.floats(1, 64))
def test_finer_detail_never_has_more_contrast(one, other, n):
    coarse, fine = sorted((one, other))
    assert 0 <= airy_mtf(fine, n) <= airy_mtf(coarse, n) <= 1
    assert airy_mtf(1.01 * float(cutoff_frequency(n)), n) == 0


def test_arrays_broadcast_and_keep_nan():
    contrast = airy_mtf(np.array([[0.0], [50.0], [np.nan]]), [4.0, 8.0])
    assert contrast.shape == (3, 2)
    assert contrast[0] == pytest.approx(1)
    assert np.isnan(contrast[2]).all()


@pytest.mark.parametrize(
    "call",
    [
        lambda: airy_diameter(0),
        lambda: airy_sigma(-8),
        lambda: cutoff_frequency(8, 0),
        lambda: airy_mtf(-1, 8),
        lambda: airy_mtf(1, [8, 0]),
    ],
)
def test_impossible_apertures_are_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()
