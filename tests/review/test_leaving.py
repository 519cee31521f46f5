"""When to leave."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.review.intervals import End
from stillwing.review.leaving import SMALL_CHANCE, leave_after_s
from stillwing.review.returns import Returns, learn_returns

SIX = learn_returns([4.0, 9.0, 6.0, 5.0, 7.0, 8.0], [End.HAPPENED] * 6)


def animal(share, rate_per_s):
    """Give an animal of which all is known."""
    return Returns(9, 0, 0, np.array([[share]]), np.array([[rate_per_s]]), np.ones((1, 1)))


def test_without_another_place_one_leaves_when_the_chance_is_small():
    leave_s = leave_after_s(SIX)
    assert SIX.chance_back(leave_s) < SMALL_CHANCE <= SIX.chance_back(leave_s - 0.2)


def test_one_leaves_when_the_hazard_falls_below_the_rate_elsewhere_and_the_walk():
    # h(t) = a p e^(-a t) / (p e^(-a t) + 1 - p) solved for t by hand.
    share, rate, elsewhere, walk_s = 0.8, 0.1, 0.02, 30.0
    level = 1 / (1 / elsewhere + walk_s)
    by_hand = math.log(share * (rate - level) / (level * (1 - share))) / rate
    assert leave_after_s(animal(share, rate), elsewhere, walk_s) == pytest.approx(by_hand, abs=0.1)


@pytest.mark.parametrize(("elsewhere", "leave_s"), [(0.005, math.inf), (0.02, 0.0)])
def test_for_a_steady_chance_one_never_changes_ones_mind(elsewhere, leave_s):
    assert leave_after_s(animal(1.0, 0.01), elsewhere, 0.0) == leave_s


@given(st.floats(0.001, 0.1), st.floats(0.0, 600.0), st.floats(1.1, 5.0))
def test_a_better_place_or_a_shorter_walk_never_lengthens_the_wait(elsewhere, walk_s, times):
    leave_s = leave_after_s(SIX, elsewhere, walk_s)
    assert leave_after_s(SIX, elsewhere * times, walk_s) <= leave_s + 0.1
    assert leave_after_s(SIX, elsewhere, walk_s / times) <= leave_s + 0.1


def test_no_other_wait_brings_more_returns_an_hour():
    """Leaving after the wait told beats others over long days of absences, at a perch and a steady place elsewhere."""
    share, rate, elsewhere, walk_s = 0.7, 0.12, 0.02, 20.0
    told_s = leave_after_s(animal(share, rate), elsewhere, walk_s)

    def worth_lost(wait_s):
        # Expected returns of one absence less what the time would have brought elsewhere; the walk is made on leaving.
        back = share * -math.expm1(-rate * wait_s)
        time_s = back / rate - share * wait_s * math.exp(-rate * wait_s) + (1 - back) * wait_s
        return back - elsewhere * (time_s + (1 - back) * walk_s)

    waits_s = np.arange(0.0, 120.0, 0.5)
    best_s = waits_s[np.argmax([worth_lost(each) for each in waits_s])]
    assert told_s == pytest.approx(best_s, abs=0.6)


@pytest.mark.parametrize(("elsewhere", "walk_s"), [(0.0, 60.0), (math.nan, 60.0), (0.1, -1.0), (0.1, math.nan)])
def test_a_place_that_is_none_is_refused(elsewhere, walk_s):
    with pytest.raises(InputError, match="another place is said to bring"):
        leave_after_s(SIX, elsewhere, walk_s)
