"""Curves of waiting: steps where something ended, lines of the models between."""

import math

import numpy as np
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.review.fits import fit_exponential, fit_weibull
from stillwing.review.intervals import End
from stillwing.review.returns import learn_returns
from stillwing.review.survival import kaplan_meier, shares_by_end
from stillwing.review.waiting import waiting_at
from stillwing.review.waitingcurves import (
    chance_end_s,
    chance_line,
    ended_steps,
    exponential_line,
    returns_line,
    share_steps,
    until_s,
    weibull_line,
)

from .tapped import Tapping

LENGTHS, HAPPENED = [4.0, 9.0, 6.0, 12.0, 7.0], [True, True, False, True, True]


def test_steps_begin_at_nothing_and_hold_their_last_value():
    steps = ended_steps(kaplan_meier(LENGTHS, HAPPENED), 20.0)
    assert steps.at_s.tolist() == [0, 4, 7, 9, 12, 20]
    assert steps.share == pytest.approx([0, 0.2, 7 / 15, 11 / 15, 1, 1])
    assert np.all(steps.low <= steps.share + 1e-12) and np.all(steps.share <= steps.high + 1e-12)


def test_steps_beyond_the_end_are_not_shown():
    share = shares_by_end([4, 9, 30], [1, 1, 1])[1]
    steps = share_steps(share, 10.0)
    assert steps.at_s.tolist() == [0, 4, 9, 10]
    assert steps.share == pytest.approx([0, 1 / 3, 2 / 3, 2 / 3])


def test_a_curve_without_a_step_in_reach_stays_at_nothing():
    assert share_steps(shares_by_end([30.0], [1])[1], 10.0).share.tolist() == [0, 0]


def test_the_lines_are_those_of_the_models():
    exponential, weibull = fit_exponential(LENGTHS, HAPPENED), fit_weibull(LENGTHS, HAPPENED)
    steady, changing = exponential_line(exponential, 12.0), weibull_line(weibull, 12.0)
    assert steady.share[-1] == pytest.approx(exponential.chance_by(12.0).likely)
    at = np.searchsorted(changing.at_s, weibull.scale_s.likely)
    assert changing.share[at - 1] <= 1 - math.exp(-1) <= changing.share[at]


def test_the_line_of_returns_meets_the_chance_that_is_left():
    """P(back at all) = P(back by t) + P(still gone at t) x P(back | still gone at t)."""
    returns = learn_returns([4, 9, 6, 5, 30, 8], [End.HAPPENED] * 4 + [End.ELSEWHERE, End.CUT_OFF])
    back, left = returns_line(returns, 25.0), chance_line(returns, 25.0)
    assert back.share + (1 - back.share) * left.share == pytest.approx(np.full(back.at_s.size, left.share[0]))


def test_the_curves_reach_beyond_when_to_leave_but_not_to_the_longest_wait(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        tapping = Tapping(book)
        tapping.absences([4, 9, 6, 5])
        tapping.tap(10, "take-off", "post")
        tapping.tap(900, "moved")
        away = waiting_at(book, "mill pond", "hawker").away
    assert until_s(away.intervals) == 27.0
    assert chance_end_s(away) >= 1.5 * away.leave_after_s
