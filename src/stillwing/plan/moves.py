"""The day's walk from stand to stand that gives most keepers."""

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwing.plan.day import FACTORS, DayPlan
from stillwing.plan.ending import ending_of
from stillwing.plan.reasons import FACTOR_WORDS, sun_reason
from stillwing.plan.told import Move
from stillwing.plan.walks import walks_m
from stillwing.plan.windows import is_worth_going, moment_end

__all__ = ["moves_of"]

Reals = NDArray[np.float64]
WALK_M_S = 1.0
"""With a long lens, on a bank, without scaring anything (a choice, no source); so in the rest."""
SETTLE_S = 180.0
"""To stand still until they come back."""
STAY_MIN = 20.0
"""A stay is at least so long."""
MOVE_WORTH = 0.03
"""A move must gain this share of the best single stand's keepers, or one stays."""
MOST_STANDS = 60
"""Stands that are weighed against each other."""


@dataclass(frozen=True, slots=True)
class _Grid:
    """The part of the day in which anything is to be expected, in whole steps, nights between included."""

    stands: NDArray[np.intp]
    """Those weighed, (s,)."""
    gain: Reals
    """Keepers of each step at each of them, (t, s)."""
    moment: NDArray[np.intp]
    """The plan's moment of each step, the last one before where a step has none, (t,)."""
    walk_m: Reals
    """(s, s)."""

    def __len__(self) -> int:
        return len(self.gain)


class _Stay(NamedTuple):
    """Steps of the grid, ``end`` excluded, at one of its stands."""

    first: int
    end: int
    stand: int


def moves_of(plan: DayPlan) -> tuple[Move, ...]:
    """Return the stays of the day, in order of time; none where nothing is to be expected.

    Notes
    -----
    Dynamic programming over steps and stands, backwards. One stays at a stand or leaves it for another, walking at
    `WALK_M_S` (`stillwing.plan.walks.walks_m`) and settling for `SETTLE_S`; both are rounded up to whole steps, in
    which nothing is photographed. Each stay lasts at least `STAY_MIN`. The walk begins when the best stand is worth it
    (`stillwing.plan.windows.is_worth_going`) and ends with the day (`stillwing.plan.ending.ending_of`). Of many stands,
    those with most keepers over the day and those that are the best at some moment are weighed, up to `MOST_STANDS`.
    """
    grid = _grid(plan)
    if grid is None:
        return ()
    stays = _stays(plan, grid)
    before = [None, *stays[:-1]]
    return tuple(_move(plan, grid, stay, last) for stay, last in zip(stays, before, strict=True))


def _grid(plan: DayPlan) -> _Grid | None:
    rate, ending = plan.cells.keepers_h, ending_of(plan)
    is_on = is_worth_going(plan)
    if ending is not None:
        is_on &= np.array([when.timestamp() < ending.when.timestamp() for when in plan.times])
    worth = np.flatnonzero(is_on)
    if not worth.size:
        return None
    moments = np.arange(worth[0], worth[-1] + 1)
    seconds = np.array([plan.times[i].timestamp() for i in moments])
    steps = np.rint((seconds - seconds[0]) / (60.0 * plan.question.step_min)).astype(np.intp)
    stands = _candidates(rate[moments])
    gain = np.zeros((steps[-1] + 1, len(stands)))
    gain[steps] = rate[np.ix_(moments, stands)] * plan.step_h
    last_before = np.searchsorted(steps, np.arange(steps[-1] + 1), side="right") - 1
    return _Grid(stands, gain, moments[last_before], walks_m(plan.question.site, stands))


def _candidates(rate: Reals) -> NDArray[np.intp]:
    """Return the stands that are weighed, in rising order."""
    total = rate.sum(axis=0)
    times_best = np.bincount(rate.argmax(axis=1), minlength=rate.shape[1])
    often = np.lexsort((-total, -times_best))[: MOST_STANDS - 1]
    return np.asarray(np.unique([total.argmax(), *often]), np.intp)


def _stays(plan: DayPlan, grid: _Grid) -> list[_Stay]:
    """Return the stays that give most keepers."""
    gain, n, step_s = grid.gain, len(grid), 60.0 * plan.question.step_min
    least = min(n, max(1, math.ceil(60 * STAY_MIN / step_s)))
    away = np.minimum(np.ceil((grid.walk_m / WALK_M_S + SETTLE_S) / step_s), n + 1).astype(np.intp)
    np.fill_diagonal(away, n + 1)
    price = MOVE_WORTH * float(gain.sum(axis=0).max())
    each = np.arange(gain.shape[1])
    # Of being settled at a stand, and of having just come to it, from a step on; beyond the day nothing can begin.
    settled = np.zeros((n + 1, len(each)))
    come = np.full((2 * n + 2, len(each)), -np.inf)
    upto = np.vstack([np.zeros(len(each)), gain.cumsum(axis=0)])
    next_stand = np.full((n, len(each)), -1)
    for at in range(n - 1, -1, -1):
        leave = come[at + away, each[None, :]] - price
        to = leave.argmax(axis=1)
        stay = gain[at] + settled[at + 1]
        goes = leave[each, to] > stay
        settled[at] = np.where(goes, leave[each, to], stay)
        next_stand[at] = np.where(goes, to, -1)
        if at + least <= n:
            come[at] = upto[at + least] - upto[at] + settled[at + least]
    return _followed(int(come[0].argmax()), next_stand, away, least)


def _followed(stand: int, next_stand: NDArray[np.intp], away: NDArray[np.intp], least: int) -> list[_Stay]:
    stays, first, at, n = [], 0, least, len(next_stand)
    while True:
        while at < n and next_stand[at, stand] < 0:
            at += 1
        stays.append(_Stay(first, at, stand))
        if at >= n:
            return stays
        to = int(next_stand[at, stand])
        first = at + int(away[stand, to])
        stand, at = to, first + least


def _move(plan: DayPlan, grid: _Grid, stay: _Stay, before: _Stay | None) -> Move:
    stand, middle = int(grid.stands[stay.stand]), int(grid.moment[(stay.first + stay.end - 1) // 2])
    return Move(
        start=plan.times[grid.moment[stay.first]],
        end=moment_end(plan, int(grid.moment[stay.end - 1])),
        stand=stand,
        bearing_deg=float(plan.cells.bearing_deg[middle, stand]),
        keepers=float(grid.gain[stay.first : stay.end, stay.stand].sum()),
        walk_m=0.0 if before is None else float(grid.walk_m[before.stand, stay.stand]),
        why=_why(plan, middle, stand, None if before is None else int(grid.stands[before.stand])),
    )


def _why(plan: DayPlan, moment: int, stand: int, before: int | None) -> str:
    """Return what is better than at the stand before; of the first, where the sun stands."""
    if before is None:
        return sun_reason(plan, moment, stand)
    here, there = plan.cells.chain(moment, stand), plan.cells.chain(moment, before)
    name = max(FACTORS, key=lambda factor: getattr(here, factor) / max(getattr(there, factor), 1e-3))
    return (
        f"{FACTOR_WORDS[name]}: {getattr(here, name):.2f} here, {getattr(there, name):.2f} at "
        f"{plan.question.site.stands[before].name}; {sun_reason(plan, moment, stand)}"
    )
