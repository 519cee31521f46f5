"""Whether figures of one outing after another rise or fall: a robust slope, and the last ones against those before."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import bdtr, stdtrit

from stillwing.errors import InputError
from stillwing.review.fits import Limits
from stillwing.review.survival import check_confidence

__all__ = ["Shift", "last_against_before", "median_limits", "robust_slope", "trend_line"]

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Shift:
    """The mean of the last figures against that of those before."""

    last: float
    before: float
    change: Limits
    """Last less before."""


def median_limits(values: ArrayLike, *, confidence: float = 0.95) -> Limits | None:
    r"""Return the median of figures with its interval; ``None`` where there are too few for the confidence.

    Parameters
    ----------
    values : array_like, shape (n,)
        In any order; at 95 % it takes 6.
    confidence : float, default 0.95
        That the interval holds the median of all that could have been drawn.

    Raises
    ------
    InputError
        If there is none, or one is no finite number.

    Notes
    -----
    From the :math:`r`-th smallest to the :math:`r`-th largest, with the largest :math:`r` for which fewer than
    :math:`r` of :math:`n` fall on one side of the median with at most half the chance of being wrong: counted out from
    the binomial distribution, whatever the law of the figures. A textbook interval; from memory.

    Examples
    --------
    >>> median_limits([5, 1, 4, 2, 3, 6])
    Limits(likely=3.5, low=1.0, high=6.0)
    """
    check_confidence(confidence)
    y = np.sort(_finite(values))
    if not y.size:
        raise InputError("no figure has a median; it takes one")
    r = int((bdtr(np.arange(y.size), y.size, 0.5) <= (1.0 - confidence) / 2).sum())
    return None if r == 0 else Limits(float(np.median(y)), float(y[r - 1]), float(y[-r]))


def robust_slope(values: ArrayLike, *, confidence: float = 0.95) -> Limits:
    r"""Return by how much figures rise from one to the next, with its interval.

    Parameters
    ----------
    values : array_like, shape (n,)
        In order, one per outing.
    confidence : float, default 0.95
        That the interval holds the slope.

    Returns
    -------
    Limits
        Endless where there are too few for the confidence: at 95 % it takes 5.

    Raises
    ------
    InputError
        If there are fewer than two, or one is no finite number.

    Notes
    -----
    The median of the slopes between all pairs (Theil), and the :math:`r`-th slope from either end, where the chance of
    fewer than :math:`r` of :math:`n (n - 1) / 2` pairs in disorder is at most half of what may be wrong (Sen) [1]_.
    That chance is counted out, not taken from a normal distribution. It holds whatever the law of the scatter, if it is
    the same for all outings and none depends on the one before.

    References
    ----------
    .. [1] P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63 (1968)
       1379-1389; from memory.

    Examples
    --------
    >>> told = robust_slope([0.9, 0.8, 0.85, 0.6, 0.5])
    >>> round(told.likely, 3), round(told.low, 3), round(told.high, 3)
    (-0.1, -0.25, 0.05)
    """
    check_confidence(confidence)
    y = _finite(values)
    if y.size < 2:
        raise InputError(f"{y.size} outings have no slope; it takes two")
    first, second = np.triu_indices(y.size, 1)
    slopes = np.sort((y[second] - y[first]) / (second - first))
    tails = np.cumsum(_disorder(y.size))
    n_off = int(np.searchsorted(tails, (1.0 - confidence) / 2 * (1 + 1e-9), side="right"))
    likely = float(np.median(slopes))
    if n_off == 0:
        return Limits(likely, -math.inf, math.inf)
    return Limits(likely, float(slopes[n_off - 1]), float(slopes[-n_off]))


def trend_line(values: ArrayLike, slope: float) -> tuple[float, ...]:
    """Return the line of a slope through figures, one figure per outing: as many of them above it as below.

    Examples
    --------
    >>> trend_line([1.0, 2.0, 9.0], 1.0)
    (1.0, 2.0, 3.0)
    """
    y = _finite(values)
    along = slope * np.arange(y.size)
    return tuple((along + float(np.median(y - along))).tolist())


def last_against_before(values: ArrayLike, n_last: int, *, confidence: float = 0.95) -> Shift:
    """Return how the mean of the last figures differs from that of those before.

    Parameters
    ----------
    values : array_like, shape (n,)
        In order, one per outing.
    n_last : int
        How many are the last.
    confidence : float, default 0.95
        That the interval holds the change.

    Raises
    ------
    InputError
        If there are not two of either, or one is no finite number.

    Notes
    -----
    Welch's interval [1]_: the scatter of either may be its own.

    References
    ----------
    .. [1] B. L. Welch, "The generalization of Student's problem when several different population variances are
       involved", Biometrika 34 (1947) 28-35; from memory.
    """
    check_confidence(confidence)
    y = _finite(values)
    if n_last < 2 or y.size - n_last < 2:
        raise InputError(f"the last {n_last} of {y.size} outings against those before; it takes two of either")
    before, last = y[:-n_last], y[-n_last:]
    parts = [float(each.var(ddof=1)) / each.size for each in (last, before)]
    change = float(last.mean() - before.mean())
    squared = sum(parts)
    if squared == 0.0:
        return Shift(float(last.mean()), float(before.mean()), Limits(change, change, change))
    freedom = squared**2 / sum(part**2 / (each.size - 1) for part, each in zip(parts, (last, before), strict=True))
    wide = float(stdtrit(freedom, 0.5 + confidence / 2)) * math.sqrt(squared)
    return Shift(float(last.mean()), float(before.mean()), Limits(change, change - wide, change + wide))


def _finite(values: ArrayLike) -> Reals:
    y = np.asarray(values, np.float64).ravel()
    if not np.isfinite(y).all():
        raise InputError(f"the figure of an outing is {y[~np.isfinite(y)][0]:g}; it must be a finite number")
    return y


def _disorder(n: int) -> Reals:
    """Return the chance of each number of pairs in disorder, where all orders of ``n`` are as likely."""
    chances = np.ones(1)
    for size in range(2, n + 1):
        chances = np.convolve(chances, np.full(size, 1.0 / size))
    return chances
