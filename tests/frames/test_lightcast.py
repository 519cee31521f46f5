"""The family of casts, against CIE's own illuminants and the published Bradford matrix."""

from fractions import Fraction

import exiv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.exif import ExifValues
from stillwing.frames.lightcast import (
    NO_CAST,
    Balance,
    Cast,
    WhiteBalance,
    daylight_white,
    from_light,
    plausible_casts,
    undone,
    white_balance,
)


@pytest.mark.parametrize(
    ("kelvin", "x", "y"),
    [(5003, 0.3457, 0.3585), (5503, 0.3324, 0.3474), (6504, 0.3127, 0.3290), (7504, 0.2990, 0.3149)],
)
def test_daylight_has_the_chromaticity_of_cie_illuminants(kelvin, x, y):
    white = daylight_white(kelvin)
    assert white[:2] / white.sum() == pytest.approx([x, y], abs=3e-4), "CIE 15, D50, D55, D65 and D75"


def test_adaptation_is_bradfords():
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    # B. Lindbloom, chromatic adaptation: Bradford from D50 to D65, as published.
    published = [[0.9556, -0.0230, 0.0632], [-0.0283, 1.0099, 0.0210], [0.0123, -0.0205, 1.3299]]
    found = to_xyz @ from_light(5003) @ np.linalg.inv(to_xyz)
    assert np.abs(found - published).max() < 0.003


def test_a_white_card_in_warm_light_comes_out_white():
    linear = np.linalg.solve(from_light(5000), np.ones(3) * 0.5)
    assert linear[0] > linear[2] * 1.2
    assert from_light(5000) @ linear == pytest.approx([0.5, 0.5, 0.5])


@given(st.sampled_from(list(Balance)), st.floats(-3, 3))
def test_a_family_is_weighed_whole_and_even(balance, bias):
    family = plausible_casts(WhiteBalance(balance, bias))
    weights = np.array([cast.weight for cast in family])
    assert weights.sum() == pytest.approx(1)
    assert sum(cast.weight * cast.mired for cast in family) == pytest.approx(0, abs=1e-9)
    assert sum(cast.weight * cast.ev for cast in family) == pytest.approx(0, abs=1e-9)


def spread(told):
    family = plausible_casts(told)
    return max(cast.mired for cast in family), max(cast.ev for cast in family)


def test_white_balance_set_to_something_else_widens_the_casts():
    auto, daylight, other, lamps = (
        spread(WhiteBalance(balance, 0.0))[0]
        for balance in (Balance.AUTO, Balance.DAYLIGHT, Balance.OTHER, Balance.ARTIFICIAL)
    )
    assert auto < daylight < other < lamps


def test_a_corrected_exposure_widens_the_light():
    assert spread(WhiteBalance(Balance.AUTO, 1.0))[1] > spread(WhiteBalance(Balance.AUTO, 0.0))[1]


def test_automatic_white_balance_covers_a_thousand_kelvin():
    warm = 1e6 / 5504 - 1e6 / 6504
    assert spread(WhiteBalance(Balance.AUTO, 0.0))[0] > warm


@pytest.mark.parametrize(
    ("tags", "balance"),
    [
        ({"WhiteBalance": 0, "LightSource": 0}, Balance.AUTO),
        ({"WhiteBalance": 1, "LightSource": 1}, Balance.DAYLIGHT),
        ({"WhiteBalance": 1, "LightSource": 9}, Balance.DAYLIGHT),
        ({"WhiteBalance": 1, "LightSource": 11}, Balance.OTHER),
        ({"WhiteBalance": 1}, Balance.OTHER),
        ({"WhiteBalance": 1, "LightSource": 3}, Balance.ARTIFICIAL),
        ({"WhiteBalance": 7}, Balance.UNKNOWN),
        ({}, Balance.UNKNOWN),
    ],
)
def test_tags_tell_how_white_balance_was_set(tags, balance):
    assert white_balance(with_tags(tags)) == WhiteBalance(balance, 0.0)


def test_tags_tell_the_correction_of_the_exposure():
    assert white_balance(with_tags({"ExposureBiasValue": Fraction(-2, 3)})).exposure_bias_ev == pytest.approx(-2 / 3)


def with_tags(tags):
    image = exiv2.ImageFactory.create(exiv2.ImageType.jpeg)
    data = exiv2.ExifData()
    for name, value in tags.items():
        if isinstance(value, Fraction):
            data[f"Exif.Photo.{name}"] = exiv2.RationalValue((value.numerator, value.denominator))
        else:
            data[f"Exif.Photo.{name}"] = exiv2.UShortValue(value)
    image.setExifData(data)
    return ExifValues(image)


@given(st.lists(st.integers(0, 255), min_size=3, max_size=3))
def test_no_cast_leaves_a_colour_as_it_is(rgb):
    assert undone(np.array([rgb], np.uint8), NO_CAST).tolist() == [rgb]


def test_darker_light_is_brightened():
    grey = np.array([[60, 60, 60]], np.uint8)
    lit = undone(grey, Cast(0.0, -1.0, 1.0, np.eye(3) * 2.0))
    # Twice the light of 60 by IEC 61966-2-1: 255 * 1.055 * (2 * 0.04519)^(1/2.4) - 0.055.
    assert lit.tolist() == [[85, 85, 85]]
