"""Windows: at most three times of the day that are worth going for, each at one stand."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.optics.answer import answer
from stillwing.optics.subject import Range
from stillwing.plan.day import DayPlan
from stillwing.plan.reasons import cell_reasons, side_at
from stillwing.plan.sharpness import out_of_plane_deg
from stillwing.plan.spoils import spoils_of
from stillwing.plan.told import Window
from stillwing.sky.instants import zone_named
from stillwing.sky.suntimes import day_bounds

__all__ = ["WORTH_GOING", "is_worth_going", "keepers_between", "moment_end", "peak_rate", "runs_of", "windows_of"]

Reals = NDArray[np.float64]
SHORTEST_MIN, LONGEST_MIN = 30.0, 120.0
"""Less is no outing, more is no window (a choice, no source); so in the rest."""
OF_PEAK = 0.7
"""A window lasts while the rate stays above this share of its peak."""
WORTH_GOING = 0.01
"""Share of the encounters below which nothing is to be expected."""
OF_BEST = 0.1
"""Share of the day's best rate below which it is not worth it."""
APART_MIN = 60.0
"""Between two windows, so that they differ in light."""
MOST_WINDOWS = 3


def windows_of(plan: DayPlan) -> tuple[Window, ...]:
    """Return the best times to go for, best first; none where nothing is to be expected.

    Notes
    -----
    The best half hour at any stand is the seed; from it the window grows to either side, the better side first, while
    the rate there stays above `OF_PEAK` of the peak and the window within `LONGEST_MIN`. Further windows lie at least
    `APART_MIN` before or after all others: the same hour at another stand is no alternative, as you go there anyway
    (`stillwing.plan.moves`).
    """
    rate, worth = plan.cells.keepers_h, is_worth_going(plan)
    free = np.ones(len(plan.times), np.bool_)
    found: list[tuple[int, int, int]] = []
    while len(found) < MOST_WINDOWS:
        seed = _seed(plan, rate, free)
        if seed is None:
            break
        first, last, stand = _grown(plan, rate[:, seed[2]], seed, free)
        if not worth[first : last + 1].any():
            break
        found.append((first, last, stand))
        free &= ~_near(plan, first, last)
    return tuple(_window(plan, *one) for one in sorted(found, key=lambda one: -_mean(rate, one)))


def is_worth_going(plan: DayPlan) -> NDArray[np.bool_]:
    """Return at which moments the best stand gives enough of the encounters and of the day's best, (n_moments,)."""
    least = max(WORTH_GOING * plan.question.encounters_an_hour, OF_BEST * peak_rate(plan))
    return np.asarray(plan.cells.keepers_h.max(axis=1) >= least)


def peak_rate(plan: DayPlan) -> float:
    """Return the best rate of the day. [keepers an hour]"""
    return float(plan.cells.keepers_h.max())


def moment_end(plan: DayPlan, moment: int) -> datetime:
    """Return when a step of the plan ends, in the site's zone; not after the day."""
    clock = zone_named(plan.question.zone)
    end = plan.times[moment].astimezone(UTC) + timedelta(minutes=plan.question.step_min)
    return min(end, day_bounds(plan.question.day, clock)[1].astimezone(UTC)).astimezone(clock)


def runs_of(plan: DayPlan) -> tuple[slice, ...]:
    """Return the pieces of the plan without a gap: one, but for nights with light at both ends of the day."""
    seconds = [when.timestamp() for when in plan.times]
    gap = 90.0 * plan.question.step_min
    cuts = [0, *(i + 1 for i, (a, b) in enumerate(pairwise(seconds)) if b - a > gap), len(seconds)]
    return tuple(slice(a, b) for a, b in pairwise(cuts))


def keepers_between(plan: DayPlan, first: int, last: int, stand: int) -> Range:
    """Return the keepers to expect at a stand from one moment to the end of another: low, likely, high."""
    cells = plan.cells
    rates = (cells.keepers_low_h, cells.keepers_h, cells.keepers_high_h)
    return Range(*(float(rate[first : last + 1, stand].sum() * plan.step_h) for rate in rates))


def _mean(rate: Reals, window: tuple[int, int, int]) -> float:
    first, last, stand = window
    return float(rate[first : last + 1, stand].mean())


def _steps(plan: DayPlan) -> tuple[int, int]:
    """Return the fewest and the most steps of a window."""
    step = plan.question.step_min
    fewest = max(1, int(np.ceil(SHORTEST_MIN / step)))
    return fewest, max(fewest, int(LONGEST_MIN // step))


def _seed(plan: DayPlan, rate: Reals, free: NDArray[np.bool_]) -> tuple[int, int, int] | None:
    """Return first and last step and the stand of the best half hour that is free; ``None`` where none is."""
    fewest, _ = _steps(plan)
    best, found = 0.0, None
    for run in runs_of(plan):
        length = run.stop - run.start
        if length < fewest:
            continue
        rows = np.arange(length - fewest + 1)[:, None] + np.arange(fewest) + run.start
        means = np.where(free[rows].all(axis=1)[:, None], rate[rows].mean(axis=1), -1.0)
        start, stand = np.unravel_index(int(means.argmax()), means.shape)
        if means[start, stand] > best:
            best, found = float(means[start, stand]), (int(rows[start, 0]), int(rows[start, -1]), int(stand))
    return found


def _grown(plan: DayPlan, rate: Reals, seed: tuple[int, int, int], free: NDArray[np.bool_]) -> tuple[int, int, int]:
    first, last, stand = seed
    run = next(run for run in runs_of(plan) if run.start <= first < run.stop)
    most, least = _steps(plan)[1], OF_PEAK * float(rate[first : last + 1].max())
    while last - first + 1 < most:
        sides = [at for at in (first - 1, last + 1) if run.start <= at < run.stop and free[at] and rate[at] >= least]
        if not sides:
            break
        better = max(sides, key=lambda at: float(rate[at]))
        first, last = min(first, better), max(last, better)
    return first, last, stand


def _near(plan: DayPlan, first: int, last: int) -> NDArray[np.bool_]:
    seconds = np.array([when.timestamp() for when in plan.times])
    start, end = seconds[first] - 60 * APART_MIN, seconds[last] + 60 * APART_MIN
    step_s = 60.0 * plan.question.step_min
    return np.asarray((seconds + step_s > start) & (seconds < end + step_s))


def _window(plan: DayPlan, first: int, last: int, stand: int) -> Window:
    cells = plan.cells
    moment = first + int(cells.keepers_h[first : last + 1, stand].argmax())
    return Window(
        start=plan.times[first],
        end=moment_end(plan, last),
        stand=stand,
        moment=moment,
        bearing_from_deg=float(cells.bearing_deg[first, stand]),
        bearing_to_deg=float(cells.bearing_deg[last, stand]),
        keepers=keepers_between(plan, first, last, stand),
        settings=_settings(plan, moment, stand),
        reasons=cell_reasons(plan, moment, stand),
        spoils=spoils_of(plan, moment, last, stand),
    )


def _settings(plan: DayPlan, moment: int, stand: int) -> str:
    """Return the best setting for the side that shows; where there is none, why."""
    question = plan.question
    subject = question.subject(out_of_plane_deg(side_at(plan, moment, stand), question.behaviour))
    wish = replace(
        question.wish, ev100=float(plan.cells.ev[moment, stand]), distance_m=plan.distance_m, size_in_frame=None
    )
    try:
        best = answer(question.kit, subject, wish).best
    except InputError as error:
        return str(error)
    return best.words
