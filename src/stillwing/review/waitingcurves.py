"""What is known of waiting as curves over time: steps of what was seen, and the lines of the models."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stillwing.review.fits import Exponential, Weibull
from stillwing.review.intervals import Interval
from stillwing.review.returns import Returns
from stillwing.review.survival import Curve, Reals, Share
from stillwing.review.waiting import Away

__all__ = [
    "Line",
    "Steps",
    "chance_end_s",
    "chance_line",
    "ended_steps",
    "exponential_line",
    "returns_line",
    "share_steps",
    "until_s",
    "weibull_line",
]

N_POINTS = 81
"""Points of a line; enough that a plot of a screen's width shows no corners."""
SHOWN = 3.0
"""What was waited for longer than so many times the longest that was seen to its end lies beyond the curves (a choice,
no source)."""

BEYOND = 1.5


@dataclass(frozen=True, slots=True)
class Steps:
    """A share that rises in steps: each value holds from its time on, until the last time."""

    at_s: Reals
    share: Reals
    low: Reals
    high: Reals


@dataclass(frozen=True, slots=True)
class Line:
    """A share over time, without steps."""

    at_s: Reals
    share: Reals


def until_s(intervals: Sequence[Interval]) -> float:
    """Return the time that curves of these intervals reach to. [s]"""
    longest = max(each.length_s for each in intervals)
    ended = [each.length_s for each in intervals if each.has_happened]
    return max(min(longest, SHOWN * max(ended)) if ended else longest, 1.0)


def chance_end_s(away: Away) -> float:
    """Return the time that the curve of the chance of a return reaches to: beyond when to leave, where told. [s]"""
    reach = until_s(away.intervals)
    return max(reach, BEYOND * away.leave_after_s) if math.isfinite(away.leave_after_s) else reach


def share_steps(share: Share, end_s: float) -> Steps:
    """Return the share that ended in one way, from 0 to ``end_s``."""
    return _steps(share.times_s, share.share, share.low, share.high, end_s)


def ended_steps(curve: Curve, end_s: float) -> Steps:
    """Return the share that had happened, from 0 to ``end_s``."""
    return _steps(curve.times_s, 1.0 - curve.share, 1.0 - curve.high, 1.0 - curve.low, end_s)


def exponential_line(model: Exponential, end_s: float) -> Line:
    """Return the share that a steady chance has done, from 0 to ``end_s``."""
    at = _times(end_s)
    return Line(at, np.asarray(-np.expm1(-model.rate_per_s.likely * at)))


def weibull_line(model: Weibull, end_s: float) -> Line:
    """Return the share that a changing chance has done, from 0 to ``end_s``."""
    at = _times(end_s)
    return Line(at, np.asarray(-np.expm1(-((at / model.scale_s.likely) ** model.shape.likely))))


def returns_line(returns: Returns, end_s: float) -> Line:
    """Return the share of absences that `Returns` expects to have ended in a return, from 0 to ``end_s``."""
    at = _times(end_s)
    back = -np.expm1(-returns.rate_per_s * at[:, None, None]) * returns.share_back * returns.weight
    return Line(at, np.asarray(back.sum((-2, -1))))


def chance_line(returns: Returns, end_s: float) -> Line:
    """Return the chance that it still comes back, over the time that it has been gone, from 0 to ``end_s``."""
    at = _times(end_s)
    return Line(at, returns.chance_back(at))


def _times(end_s: float) -> Reals:
    return np.linspace(0.0, end_s, N_POINTS)


def _steps(times: Reals, share: Reals, low: Reals, high: Reals, end_s: float) -> Steps:
    seen = times <= end_s
    at = np.concatenate(([0.0], times[seen], [end_s]))
    # Before the first step nothing has ended, and after the last one it stays as it was.
    first, last = np.zeros(1), int(seen.sum()) - 1
    held = [
        np.concatenate((first, each[seen], each[seen][last:] if last >= 0 else first)) for each in (share, low, high)
    ]
    return Steps(at, *held)
