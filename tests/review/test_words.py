"""Short words."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.review.intervals import End
from stillwing.review.returns import learn_returns
from stillwing.review.words import (
    chance_words,
    gone_words,
    hovers_words,
    length_words,
    range_words,
    returns_words,
    steady_chance,
    waiting_words,
)

BACK, ELSEWHERE, CUT_OFF = End.HAPPENED, End.ELSEWHERE, End.CUT_OFF
SIX = learn_returns([4.0, 9.0, 6.0, 5.0, 7.0, 8.0], [BACK] * 6)


@pytest.mark.parametrize(
    ("lengths", "ends", "told"),
    [
        ([], [], "nothing known of its returns yet"),
        ([30], [CUT_OFF], "no return seen of one absence"),
        ([30, 4], [CUT_OFF, ELSEWHERE], "no return seen of 2 absences"),
        ([12], [BACK], "one return, after 12 s; 80 % back within 12 s"),
        ([4, 9, 6, 5, 7, 8], [BACK] * 6, "last 6 returns 4 to 9 s; 80 % back within 8 s"),
        ([90, 4, 9, 6, 5, 7, 8], [BACK] * 7, "last 6 returns 4 to 9 s; 80 % back within 9 s"),
        # Half of four landed elsewhere: no more than half are ever back.
        ([4, 9, 6, 5], [BACK, ELSEWHERE, BACK, ELSEWHERE], "last 2 returns 4 to 6 s; 50 % back within 6 s"),
        # One of eleven: below a tenth nothing is told of shares.
        ([4, *range(5, 15)], [BACK] + [ELSEWHERE] * 10, "one return, after 4 s"),
    ],
)
def test_absences_are_told_in_a_line(lengths, ends, told):
    assert returns_words(lengths, ends) == told


def test_an_absence_that_goes_on_is_told_with_its_chance():
    assert gone_words(3, SIX, 38.0).startswith("gone 3 s: 82 % chance")
    assert gone_words(40, SIX, 38.0) == "gone 40 s: 9 % chance, move on?"
    assert gone_words(37, SIX, 38.0).endswith("chance")
    assert gone_words(3600, SIX, math.inf) == "gone 60 min: under 1 % chance"
    assert gone_words(40, None, math.inf) == "gone 40 s"


def test_hovers_are_told_in_a_line():
    assert hovers_words([], []) == ""
    assert hovers_words([20.0], []) == "one hover, after 20 s"
    assert hovers_words([20.0, 20.3], [2.0]) == "last 2 hovers came after 20 s, held 2 s"
    assert waiting_words(100, 1.0) == "waiting 2 min: 99 % within a minute"


@given(st.integers(1, 40), st.floats(0.1, 1e4))
def test_more_waiting_for_as_many_lowers_the_chance(n, total_s):
    assert 0.0 <= steady_chance(n, total_s * 1.5) <= steady_chance(n, total_s) <= steady_chance(n + 1, total_s) <= 1.0


def test_a_steady_chance_is_the_integral_over_what_the_rate_may_be():
    # Gamma(3, 120 s) by hand: 1 - E exp(-60 rate) = 1 - (120 / 180)^3
    assert steady_chance(3, 120.0, 60.0) == pytest.approx(1 - (2 / 3) ** 3)
    assert steady_chance(0, 120.0) == 0.0


@pytest.mark.parametrize(("chance", "told"), [(0.0, "under 1 %"), (0.0049, "under 1 %"), (0.005, "1 %"), (1.0, "99 %")])
def test_no_chance_is_told_as_certain(chance, told):
    assert chance_words(chance) == told


def test_lengths_are_whole_and_share_a_unit():
    assert length_words(0.5) == "1 s"
    assert range_words(30 * 60, 100 * 60) == "30 min to 2 h"
    assert range_words(95, 200) == "2 to 3 min"
