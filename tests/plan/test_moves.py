"""Moves: the walk is as good as an exhaustive search finds, never worse than staying, and can be walked."""

import math
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.place.site import with_proposed_stands
from stillwing.plan.day import plan_day
from stillwing.plan.ending import ending_of
from stillwing.plan.moves import MOVE_WORTH, SETTLE_S, STAY_MIN, moves_of
from stillwing.plan.walks import walks_m
from stillwing.sky.observer import Observer

from .plans import question, square_pond

STEP_S = 600.0


@cache
def fine():
    return plan_day(question())


def with_rates(rates):
    """Return the plan of the square pond with rates of our own, (n, 4), from 08:00 on; nothing before and after."""
    plan = fine()
    keepers = np.zeros_like(plan.cells.keepers_h)
    first = [f"{when:%H:%M}" for when in plan.times].index("08:00")
    keepers[first : first + len(rates)] = rates
    return replace(plan, cells=replace(plan.cells, keepers_h=keepers))


def rows_of(plan, move):
    start, end = move.start.timestamp(), move.end.timestamp()
    return [i for i, when in enumerate(plan.times) if start <= when.timestamp() < end]


def best_by_search(gain, away, price, least):
    """Return the most keepers, less the price of each move, by trying every choice at every step forwards."""
    n, n_stands = gain.shape

    @cache
    def value(at, stand, stayed):
        if at == n:
            return 0.0 if stayed >= least else -math.inf
        found = gain[at, stand] + value(at + 1, stand, min(stayed + 1, least))
        if stayed >= least:
            for other in range(n_stands):
                there = at + int(away[stand, other])
                if other != stand and there + least <= n:
                    found = max(found, value(there, other, 0) - price)
        return found

    return max(value(0, stand, 0) for stand in range(n_stands))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 100_000), st.integers(3, 14))
def test_the_walk_is_the_best_of_all(seed, n):
    rates = np.random.default_rng(seed).uniform(1.0, 2.5, (n, 4))
    plan = with_rates(rates)
    moves = moves_of(plan)
    gain = rates * plan.step_h
    away = np.ceil((walks_m(plan.question.site, np.arange(4)) + SETTLE_S) / STEP_S)
    price = MOVE_WORTH * gain.sum(axis=0).max()
    kept = sum(move.keepers for move in moves) - price * (len(moves) - 1)
    assert kept == pytest.approx(best_by_search(gain, away, price, 2))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 100_000))
def test_a_walk_can_be_walked_and_is_no_worse_than_staying(seed):
    smooth = np.cumsum(np.random.default_rng(seed).normal(0, 0.3, (60, 4)), axis=0)
    plan = with_rates(np.clip(smooth, 0, None))
    moves = moves_of(plan)
    if not moves:
        assert plan.cells.keepers_h.max() < 0.12
        return
    walks = walks_m(plan.question.site, np.arange(4))
    for one, other in pairwise(moves):
        assert other.stand != one.stand
        assert other.walk_m == pytest.approx(walks[one.stand, other.stand])
        assert other.start.timestamp() - one.end.timestamp() >= other.walk_m + SETTLE_S
    alone = max(len(rows_of(plan, move)) for move in moves) == 1
    assert alone or all(move.end.timestamp() - move.start.timestamp() >= 60 * STAY_MIN for move in moves)
    whole = [i for move in (moves[0], moves[-1]) for i in rows_of(plan, move)]
    staying = plan.cells.keepers_h[whole[0] : whole[-1] + 1].sum(axis=0).max() * plan.step_h
    assert sum(move.keepers for move in moves) >= staying - 1e-9
    for move in moves:
        assert move.keepers == pytest.approx(plan.cells.keepers_h[rows_of(plan, move), move.stand].sum() * plan.step_h)


def test_one_moves_when_the_other_bank_is_clearly_better_and_loses_the_time_to_walk():
    rates = np.zeros((12, 4))
    rates[:6, 1], rates[6:, 3] = 2.0, 2.0
    first, second = moves_of(with_rates(rates))
    assert (first.stand, second.stand, first.walk_m) == (1, 3, 0.0)
    # From the east to the west bank, half round the pond of 60 m; 122 m and 3 minutes are one step.
    assert second.walk_m == pytest.approx(122, abs=0.1)
    assert second.start.timestamp() - first.end.timestamp() == STEP_S
    assert first.keepers + second.keepers == pytest.approx(11 * 2 / 6)
    assert " here, " in second.why and " at east" in second.why


def test_one_stays_where_moving_gains_next_to_nothing():
    rates = np.full((12, 4), 2.0)
    rates[6:, 3] = 2.35
    assert len(moves_of(with_rates(rates))) == 1


def test_the_walk_ends_with_the_day():
    plan = fine()
    ending, moves = ending_of(plan), moves_of(plan)
    assert ending is not None and moves[-1].end <= ending.when


def test_nothing_to_expect_no_walk():
    assert moves_of(plan_day(question(day=date(2024, 1, 15)))) == ()


def test_of_many_stands_the_walk_uses_the_good_ones():
    site = with_proposed_stands(square_pond(600.0))
    assert len(site.stands) > 200
    plan = plan_day(question(site, step_min=30.0))
    moves = moves_of(plan)
    rows = [i for move in moves for i in rows_of(plan, move)]
    alone = plan.cells.keepers_h[rows[0] : rows[-1] + 1].sum(axis=0).max() * plan.step_h
    assert sum(move.keepers for move in moves) >= alone - 1e-9


def test_a_polar_day_is_walked_without_a_break_at_midnight():
    plan = plan_day(question(observer=Observer(69.6, 18.9), zone="Europe/Oslo", day=date(2024, 6, 20), step_min=30.0))
    assert len(plan.times) == 48
    moves = moves_of(plan)
    assert moves and all(move.start < move.end for move in moves)
