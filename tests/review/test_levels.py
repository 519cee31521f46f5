"""Levels of a factor against cuts worked out by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.review.levels import levels_of


def words_of(factor, values):
    return [None if level is None else level.words for level in levels_of(factor, values)]


@pytest.mark.parametrize(
    ("factor", "values", "words"),
    [
        # Whole stops of exposure: 1/4000 and a third of a stop to either side are one.
        ("exposure_s", [1 / 5161, 1 / 4096, 1 / 3251], ["1/5000 to 1/3200 s"] * 3),
        ("exposure_s", [1 / 3200, 1 / 1600], ["1/3200 s", "1/1600 s"]),
        ("iso", [800, 1000, 1600], ["ISO 800 to 1000", "ISO 800 to 1000", "ISO 1600"]),
        ("f_number", [5.6, 5.66, 6.3], ["f/5.6", "f/5.6", "f/6.3"]),
        # Halves of stops of area: 300 and 420 mm lie one step apart, 290 and 300 in one.
        ("focal_length_mm", [290, 300, 420], ["290 to 300 mm", "290 to 300 mm", "420 mm"]),
        ("distance_m", [0.4, 1.0, 1.99, 60], ["under 0.5 m", "1 to 2 m", "1 to 2 m", "50 m and more"]),
        (
            "wind_angle_deg",
            [0, -29.9, 30, 180, -180, 350],
            ["0 to 30°"] * 2 + ["30 to 60°"] + ["150 to 180°"] * 2 + ["0 to 30°"],
        ),
        ("hour", [11.0, 11.99, 24.0], ["11 to 12 h", "11 to 12 h", "0 to 1 h"]),
    ],
)
def test_numbers_are_cut_where_people_would_cut_them(factor, values, words):
    assert words_of(factor, values) == words


def test_a_number_without_levels_of_its_own_is_cut_into_thirds():
    told = words_of("size_in_frame", [0.1, 0.12, 0.2, 0.21, 0.3, 0.35])
    assert told == ["0.1 to 0.12"] * 2 + ["0.2 to 0.21"] * 2 + ["0.3 to 0.35"] * 2


def test_words_that_differ_in_capitals_and_spaces_are_one_level():
    assert words_of("support", ["Tripod", " tripod", "hand"]) == ["Tripod", "Tripod", "hand"]


def test_what_is_not_known_has_no_level():
    assert words_of("support", [None, " ", "hand"]) == [None, None, "hand"]
    assert words_of("iso", [None, math.nan, 100]) == [None, None, "ISO 100"]
    assert words_of("iso", [None, math.nan]) == [None, None]


@pytest.mark.parametrize(
    ("factor", "values", "said"),
    [
        ("iso", [100, "high"], "100 in one burst and 'high' in another"),
        ("exposure_s", [0.0], "exposure_s is 0 s; it must be more than 0"),
        ("distance_m", [-1.0], "distance_m is -1 m"),
        ("f_number", [math.inf], "f_number is inf"),
        ("hour", [25.0], "hour is 25"),
    ],
)
def test_values_that_cannot_be_are_refused(factor, values, said):
    with pytest.raises(InputError, match=said):
        levels_of(factor, values)


@given(st.lists(st.floats(1 / 32000, 30.0), min_size=1, max_size=20))
def test_no_level_of_exposure_is_wider_than_a_stop(values):
    inside = {}
    for level, value in zip(levels_of("exposure_s", values), values, strict=True):
        inside.setdefault(level, []).append(value)
    assert all(max(each) <= 2.0000001 * min(each) for each in inside.values())


@given(st.floats(-720, 720))
def test_the_side_of_the_wind_makes_no_difference(angle):
    left, right = levels_of("wind_angle_deg", [angle, -angle])
    assert left == right
