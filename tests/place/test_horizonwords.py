"""A horizon in words: angles, or distances and heights."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.horizonwords import horizon_of_words


def test_angles_and_heights_are_read_by_semicolon_and_by_line():
    read = horizon_of_words("225, 15 deg; W, 30 m, 12 m\nnorth-east, -2.5°")
    # 12 m above the eye, 30 m off: arctan(0.4) = 21.80 degrees.
    assert [entry.bearing_deg for entry in read.entries] == [225, 270, 45]
    assert [entry.altitude_deg for entry in read.entries] == pytest.approx([15, 21.8014, -2.5], abs=1e-4)
    assert [entry.distance_m for entry in read.entries] == [math.inf, 30, math.inf]


def test_a_level_horizon_has_no_entries():
    assert horizon_of_words(" Level ") == Horizon()


@given(st.floats(0, 359.9).map(lambda b: round(b, 1)), st.floats(-30, 89).map(lambda a: round(a, 2)))
def test_what_is_written_is_read(bearing, altitude):
    assert horizon_of_words(f"{bearing}, {altitude} deg").entries == (HorizonEntry(bearing, altitude),)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("", r'the horizon is empty; write it like "225, 15 deg; W, 30 m, 12 m", or "level"'),
        ("225, 15", r'entry 1 of the horizon: "225, 15" is not understood'),
        ("S, 5 deg; behind, 5 deg", r"entry 2 of the horizon: direction 'behind' is not known"),
        ("S, 0 m, 5 m", r"entry 1 of the horizon: the horizon at bearing 180 deg is 0 m away"),
        ("S, 95 deg", r"entry 1 of the horizon: the horizon at bearing 180 deg is 95 deg high"),
        ("S, 5 deg; 180, 6 deg", r"the horizon has two entries at bearing 180 deg"),
    ],
)
def test_what_cannot_be_read_is_named(words, sentence):
    with pytest.raises(InputError, match=sentence):
        horizon_of_words(words)
