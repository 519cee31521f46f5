import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter1d

from stillwing.optics.usable import SHARP_LIMIT_PX, blur_limit, usable_width


@given(st.floats(0.3, 60.0), st.floats(0.3, 60.0), st.integers(300, 12000))
def test_more_blur_never_makes_a_wider_picture(one, other, frame_width):
    softer, sharper = max(one, other), min(one, other)
    assert usable_width(softer, frame_width) <= usable_width(sharper, frame_width) <= frame_width


def test_an_unmeasured_blur_has_no_usable_width():
    assert math.isnan(usable_width(math.nan, 5184))


@pytest.mark.parametrize(("blur_px", "reduction"), [(3.0, 4), (2.0, 2), (6.0, 8)])
def test_a_drawn_line_reduced_by_averaging_has_the_predicted_blur(blur_px, reduction):
    # Outside truth: a line one pixel wide, blurred by a Gaussian and averaged, measured by its second moment.
    line = np.zeros(4096)
    line[2048] = 1.0
    blurred = gaussian_filter1d(line, math.sqrt(blur_px**2 - 1 / 12), truncate=8)
    reduced = blurred.reshape(-1, reduction).mean(axis=1)
    at = np.arange(reduced.size)
    centre = np.average(at, weights=reduced)
    # The second moment of samples misses the box of the pixel that gathered them at the start (1/12 of an original px).
    out_px = math.sqrt(np.average((at - centre) ** 2, weights=reduced) + (1 / 12) / reduction**2)
    predicted = math.sqrt((blur_px**2 - 1 / 12) / reduction**2 + 1 / 12)
    assert out_px == pytest.approx(predicted, rel=0.02)


def test_the_limit_lies_between_its_two_derived_bounds():
    contrast_at_nyquist = math.exp(-2 * math.pi**2 * 0.70**2 * 0.5**2)
    assert contrast_at_nyquist == pytest.approx(0.0891, abs=1e-4)  # tabulated Gaussian MTF at Nyquist, sigma 0.7
    assert 0.70 < SHARP_LIMIT_PX < 1.0  # 2 px / 2 sigma = 1: Sparrow


def test_many_blurs_at_once_are_the_single_ones():
    blurs = np.array([[0.5, 1.0], [3.0, np.nan]])
    widths = usable_width(blurs, 5184)
    assert widths.shape == (2, 2)
    assert np.isnan(widths[1, 1])
    assert widths[1, 0] == usable_width(3.0, 5184)


@given(st.floats(300, 9000), st.floats(1, 9000))
def test_the_limit_is_the_blur_whose_usable_width_is_the_shown_one(frame_width, shown):
    shown = min(shown, frame_width)
    assert usable_width(blur_limit(shown, frame_width), frame_width) == pytest.approx(shown, rel=1e-9)
