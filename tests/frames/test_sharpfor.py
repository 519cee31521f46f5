import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.ndimage import gaussian_filter1d

from stillwing.errors import InputError
from stillwing.frames.sharpfor import SHARP_LIMIT_PX, parse_sharp_for, print_width_cm, usable_width


@pytest.mark.parametrize(
    ("text", "normal", "width_px"),
    [
        ("full", "full", None),
        ("Print 30 cm at 254 ppi", "print 30 cm at 254 ppi", 3000.0),
        ("print 25,4cm at 300ppi", "print 25.4 cm at 300 ppi", 3000.0),
        ("screen 2560 px", "screen 2560", 2560.0),
    ],
)
def test_an_output_is_read_from_words_and_back(text, normal, width_px):
    wanted = parse_sharp_for(text)
    assert wanted.text == normal
    assert wanted.width_px == (None if width_px is None else pytest.approx(width_px))
    assert parse_sharp_for(wanted.text) == wanted


@pytest.mark.parametrize("text", ["", "poster", "print 30 cm", "screen -5", "print 0 cm at 240 ppi", "screen 9999999"])
def test_anything_else_is_refused_in_one_sentence(text):
    with pytest.raises(InputError) as refused:
        parse_sharp_for(text)
    assert "\n" not in str(refused.value)


@given(st.floats(0.3, 60.0), st.floats(0.3, 60.0), st.integers(300, 12000))
def test_more_blur_never_makes_a_wider_picture(one, other, frame_width):
    softer, sharper = max(one, other), min(one, other)
    assert usable_width(softer, frame_width) <= usable_width(sharper, frame_width) <= frame_width


@given(st.floats(50.0, 9000.0), st.integers(300, 12000))
def test_the_blur_limit_is_the_blur_whose_usable_width_is_the_needed_one(width, frame_width):
    wanted = parse_sharp_for(f"screen {width:.0f}")
    limit = wanted.blur_limit(frame_width)
    assert usable_width(limit, frame_width) == pytest.approx(wanted.needed_width(frame_width), rel=1e-9)


def test_a_frame_of_few_pixels_is_judged_at_its_own_width():
    assert parse_sharp_for("print 30 cm at 240 ppi").needed_width(640) == 640
    assert parse_sharp_for("full").needed_width(5184) == 5184


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


def test_a_print_width_is_inches_turned_into_cm():
    assert print_width_cm(3000, 300) == pytest.approx(25.4)
