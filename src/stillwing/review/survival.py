"""Waiting without a model: the share still waited for after so long, and what becomes of it.

An interval that was cut off says only that it is longer than what was seen of it; it counts for as long as it was seen.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from stillwing.errors import InputError
from stillwing.optics.reals import not_negative

__all__ = ["Chance", "Curve", "Share", "check_confidence", "kaplan_meier", "shares_by_end", "waits"]

Reals = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance from 0 to 1 with its interval."""

    likely: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Curve:
    """Share still waited for, as steps: each value holds from its time on, and 1 holds before the first."""

    times_s: Reals
    """At which something happened, rising, shape (n,)."""
    share: Reals
    low: Reals
    high: Reals
    lengths_s: Reals
    """All intervals, rising, shape (m,)."""
    n_happened: int
    confidence: float

    @property
    def median_s(self) -> float:
        """Time by which half have happened; infinite where that was not seen. [s]"""
        return self.time_by(0.5)

    def time_by(self, chance: float) -> float:
        """Return by when it has happened with a chance of at least so much; infinite where that was not seen. [s]"""
        return _first_at_or_below(self.times_s, self.share, 1.0 - chance)

    def time_between(self, chance: float) -> tuple[float, float]:
        """Return the interval of `time_by`, after Brookmeyer and Crowley, from the limits of the curve. [s]

        References
        ----------
        .. [1] R. Brookmeyer and J. Crowley, "A confidence interval for the median survival time", Biometrics 38 (1982)
           29-41; from memory.
        """
        left = 1.0 - chance
        return _first_at_or_below(self.times_s, self.low, left), _first_at_or_below(self.times_s, self.high, left)

    def chance_by(self, t_s: float) -> Chance:
        """Return the chance that it happens within ``t_s``, with its interval.

        Where nothing happened yet by then, the upper end is the one-sided exact one, 1 - a^(1/n) of the n intervals
        seen for so long, which is the rule of three, 3/n, at 95 % [1]_; where all of them happened the lower end is
        a^(1/n). NaN where no interval was seen for so long and not all had happened before.

        References
        ----------
        .. [1] J. A. Hanley and A. Lippman-Hand, "If nothing goes wrong, is everything all right?", JAMA 249 (1983)
           1743-1745.
        """
        step = int(np.searchsorted(self.times_s, t_s, side="right")) - 1
        alpha = 1.0 - self.confidence
        n_seen = int(self.lengths_s.size - np.searchsorted(self.lengths_s, t_s, side="left"))
        if step >= 0 and self.share[step] <= 0.0:
            return Chance(1.0, alpha ** (1.0 / self.n_happened), 1.0)
        if n_seen == 0:
            return Chance(np.nan, np.nan, np.nan)
        if step < 0:
            return Chance(0.0, 0.0, 1.0 - alpha ** (1.0 / n_seen))
        return Chance(1.0 - float(self.share[step]), 1.0 - float(self.high[step]), 1.0 - float(self.low[step]))


def kaplan_meier(lengths_s: ArrayLike, has_happened: ArrayLike, *, confidence: float = 0.95) -> Curve:
    r"""Return the share of intervals still waited for after each time.

    Parameters
    ----------
    lengths_s : array_like, shape (m,)
        How long each interval was, or was seen to be. [s]
    has_happened : array_like of bool, shape (m,)
        Whether what was waited for was seen; else the interval was cut off.
    confidence : float, default 0.95
        That each limit of the curve holds, at one time.

    Raises
    ------
    InputError
        If the two do not fit together, a length is negative or no finite number, or ``confidence`` is not between 0
        and 1.

    Notes
    -----
    .. math:: S(t) = \prod_{t_i \le t} \left(1 - \frac{d_i}{n_i}\right), \quad
              S^{\exp(\pm z \sigma)}, \quad \sigma^2 = \frac{1}{\ln^2 S} \sum \frac{d_i}{n_i (n_i - d_i)}

    the product limit [1]_ with Greenwood's variance on the scale of log(-log S), so that limits stay between 0 and 1.
    An interval cut off at the time at which another one ended was seen until then.

    References
    ----------
    .. [1] E. L. Kaplan and P. Meier, "Nonparametric estimation from incomplete observations", J. Am. Stat. Assoc. 53
       (1958) 457-481; the limits as in J. D. Kalbfleisch and R. L. Prentice, The Statistical Analysis of Failure Time
       Data (1980); both from memory.

    Examples
    --------
    >>> curve = kaplan_meier([4, 9, 6, 12, 7], [True, True, False, True, True])
    >>> curve.times_s.tolist(), curve.share.round(3).tolist(), curve.median_s
    ([4.0, 7.0, 9.0, 12.0], [0.8, 0.533, 0.267, 0.0], 9.0)
    """
    lengths, happened = waits(lengths_s, has_happened)
    check_confidence(confidence)
    times, n_ended = np.unique(lengths[happened], return_counts=True)
    ordered = np.sort(lengths)
    n_at_risk = lengths.size - np.searchsorted(ordered, times, side="left")
    n_left = n_at_risk - n_ended
    share = np.asarray(np.cumprod(n_left / n_at_risk), np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        variance = np.cumsum(n_ended / (n_at_risk * n_left), dtype=np.float64)
        spread = ndtri(0.5 + confidence / 2) * np.sqrt(variance) / np.abs(np.log(share))
        low, high = share ** np.exp(spread), share ** np.exp(-spread)
    all_over = share <= 0.0
    # After the last one nothing is left; how surely that is so the curve cannot say, and `Curve.chance_by` does.
    low, high = np.where(all_over, 0.0, low), np.where(all_over, 0.0, high)
    return Curve(times, share, low, high, ordered, int(happened.sum()), confidence)


@dataclass(frozen=True, slots=True)
class Share:
    """Share that ended in one of several ways, as steps: each value holds from its time on, and 0 holds before."""

    times_s: Reals
    share: Reals
    low: Reals
    high: Reals

    def at(self, t_s: float) -> Chance:
        """Return the chance of this end within ``t_s``; exactly 0 where it was never seen by then."""
        step = int(np.searchsorted(self.times_s, t_s, side="right")) - 1
        if step < 0:
            return Chance(0.0, 0.0, 0.0)
        return Chance(float(self.share[step]), float(self.low[step]), float(self.high[step]))


def shares_by_end(lengths_s: ArrayLike, ends: ArrayLike, *, confidence: float = 0.95) -> dict[int, Share]:
    r"""Return for each way in which an interval may end the share that has ended so, of all and against the others.

    Parameters
    ----------
    lengths_s : array_like, shape (m,)
        How long each interval was, or was seen to be. [s]
    ends : array_like of int, shape (m,)
        Number of the way in which each ended; 0 where it was cut off.
    confidence : float, default 0.95
        That each limit holds, at one time.

    Returns
    -------
    dict of int to Share
        One for each number but 0 in ``ends``. Together with the share still waited for they make 1 at every time.

    Raises
    ------
    InputError
        As for `kaplan_meier`.

    Notes
    -----
    .. math:: F_k(t) = \sum_{t_i \le t} S(t_{i-1}) \frac{d_{ki}}{n_i}

    the estimate of Aalen and Johansen [1]_ with the variance of the delta method and limits on the scale of log(-log F)
    [2]_. Counting other ends as cut off instead would tell the chance of a return in a world without other perches.

    References
    ----------
    .. [1] O. O. Aalen and S. Johansen, "An empirical transition matrix for non-homogeneous Markov chains based on
       censored observations", Scand. J. Statist. 5 (1978) 141-150; from memory.
    .. [2] E. Marubini and M. G. Valsecchi, Analysing Survival Data from Clinical Trials and Observational Studies
       (1995); from memory.
    """
    lengths, happened = waits(lengths_s, np.asarray(ends) != 0)
    check_confidence(confidence)
    codes = np.asarray(ends, np.int64)
    times = np.unique(lengths[happened])
    n_at_risk = lengths.size - np.searchsorted(np.sort(lengths), times, side="left")
    n_any = np.bincount(np.searchsorted(times, lengths[happened]), minlength=times.size)
    before = np.concatenate(([1.0], np.cumprod(1.0 - n_any / n_at_risk)[:-1])) if times.size else np.empty(0)
    told = {}
    for code in np.unique(codes[codes != 0]):
        n_this = np.bincount(np.searchsorted(times, lengths[codes == code]), minlength=times.size)
        share = np.cumsum(before * n_this / n_at_risk)
        variance = _variance(share, before, n_at_risk, n_any, n_this)
        told[int(code)] = _limited(times, share, variance, confidence)
    return told


def _variance(
    share: Reals, before: Reals, n_at_risk: NDArray[np.int64], n_any: NDArray[np.int64], n_this: NDArray[np.int64]
) -> Reals:
    """Return the variance of a share by the delta method at each of its times; quadratic in their number."""
    n = n_at_risk.astype(np.float64)
    left = n - n_any
    with np.errstate(divide="ignore", invalid="ignore"):
        of_any = np.where(left > 0, n_any / (n * left), 0.0)
    of_this = before**2 * (n - n_this) * n_this / n**3
    of_both = before * n_this / n**2
    rest = np.tril(share[:, None] - share[None, :])
    return np.asarray((rest**2 * of_any).sum(1) + np.cumsum(of_this) - 2 * (rest * of_both).sum(1))


def _limited(times: Reals, share: Reals, variance: Reals, confidence: float) -> Share:
    some = share > 0.0
    times, share, variance = times[some], share[some], variance[some]
    # Sums of shares end a few last digits beside 1, where the logarithm is all rounding.
    full = share >= 1.0 - 1e-12
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        spread = ndtri(0.5 + confidence / 2) * np.sqrt(np.maximum(variance, 0.0)) / (share * np.abs(np.log(share)))
        low, high = share ** np.exp(spread), share ** np.exp(-spread)
    return Share(times, share, np.where(full, 1.0, low), np.where(full, 1.0, high))


def waits(lengths_s: ArrayLike, has_happened: ArrayLike) -> tuple[Reals, Flags]:
    """Return intervals as arrays that fit together, refusing what no interval is; raises `InputError`."""
    lengths = np.atleast_1d(not_negative("length", lengths_s, "s"))
    happened = np.atleast_1d(np.asarray(has_happened, np.bool_))
    if lengths.ndim != 1 or lengths.shape != happened.shape:
        raise InputError(
            f"{lengths.size} lengths came with {happened.size} ends; each interval needs one length and one end"
        )
    if not np.isfinite(lengths).all():
        raise InputError("the length of an interval is no finite number; give how long it was seen, in seconds")
    return lengths, happened


def check_confidence(confidence: float) -> None:
    """Refuse a confidence that is none; raises `InputError`."""
    if not 0.0 < confidence < 1.0:
        raise InputError(f"confidence is {confidence:g}; it must be between 0 and 1, such as 0.95")


def _first_at_or_below(times: Reals, share: Reals, level: float) -> float:
    # Rounding of the product must not move the time of, say, exactly one half.
    at = np.flatnonzero(share <= level + 1e-12)
    return float(times[at[0]]) if at.size else np.inf
