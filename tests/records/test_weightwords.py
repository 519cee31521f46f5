"""Weights of evidence in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.records.weightwords import gain_words, weight_words


@pytest.mark.parametrize(
    ("weight_bits", "words"),
    [
        (0.0, "neither for nor against"),
        (2.0, "4 times likelier"),
        (-1.0, "2 times less likely"),
        (0.5, "1.4 times likelier"),
        (-6.64, "100 times less likely"),
        (-12.0, "over 100 times less likely"),
    ],
)
def test_a_bit_is_a_factor_of_two(weight_bits, words):
    assert weight_words(weight_bits) == words


@given(st.floats(-30, 30))
def test_what_speaks_for_is_likelier_and_what_speaks_against_less_likely(weight_bits):
    told = weight_words(weight_bits)
    assert told.endswith(("likelier", "less likely", "neither for nor against"))
    assert told.endswith("less likely") == (weight_bits <= -0.1)
    assert told.endswith("likelier") == (weight_bits >= 0.1)


def test_a_question_that_tells_more_is_said_to():
    told = [gain_words(bits) for bits in (0.0, 0.2, 0.5, 1.5)]
    assert told == ["tells hardly anything", "tells a little", "tells something", "tells much"]
