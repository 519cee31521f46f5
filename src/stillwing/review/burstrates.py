"""How surely a share of frames is known when frames come in bursts, and those of one burst are much alike.

Forty frames of one burst are not forty looks at a way of working: if the animal was missed, all of them were. What is
known of the rate is weighed on a grid, whatever the sameness of their frames may be.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv

from stillwing.errors import InputError
from stillwing.review.fits import Limits
from stillwing.review.survival import check_confidence

__all__ = ["GRID_EDGES", "GRID_RATES", "BurstCounts", "KnownRate", "burst_share", "count_bursts", "known_rate"]

Reals = NDArray[np.float64]

N_GRID = 400
"""Points of the grid of rates; four times as many move no end of an interval by 0.002
(`tests/review/test_burstrates.py`)."""
N_SAMENESS = 24
"""Values of the sameness, each standing for an equal part of its even prior."""
N_COARSE = 100
"""Points of the grid of rates over which the sameness is learned."""
N_PART = 32
"""Tables are made for bursts of up to a multiple of so many frames."""


def _rates(n: int) -> Reals:
    # Even in the arcsine of the root, as Jeffreys' prior of a share is.
    return np.asarray(np.sin((np.arange(n) + 0.5) * (np.pi / 2 / n)) ** 2, np.float64)


GRID_RATES = _rates(N_GRID)
"""Middles of the grid's parts."""
GRID_EDGES = np.sin(np.arange(N_GRID + 1) * (np.pi / 2 / N_GRID)) ** 2
SAMENESS = (np.arange(N_SAMENESS) + 0.5) / N_SAMENESS


@dataclass(frozen=True, slots=True, eq=False)
class BurstCounts:
    """What bursts tell of a rate."""

    n_bursts: int
    n_frames: int
    n_kept: int
    n_bursts_kept: int
    """Bursts with at least one frame kept."""
    squares: int
    """Sum of the squares of the bursts' numbers of frames."""
    kept_above: Reals
    """How many bursts have more than 0, 1, 2 ... frames kept."""
    left_above: Reals
    """The same of frames not kept."""
    frames_above: Reals
    """The same of all frames."""

    @property
    def rate(self) -> float:
        """Share of frames that were kept."""
        return self.n_kept / self.n_frames


@dataclass(frozen=True, eq=False)
class KnownRate:
    """What is known of the share of frames kept."""

    counts: BurstCounts
    weight: Reals
    """How likely the rate lies in each part of the grid, adding up to 1, shape (n,)."""
    sameness_weight: Reals
    """How likely each sameness within bursts is, adding up to 1."""

    @cached_property
    def sameness(self) -> float:
        """Correlation of two frames of one burst, 0 to 1: its mean over what is known of it."""
        return float(self.sameness_weight @ SAMENESS)

    @cached_property
    def worth_frames(self) -> float:
        """How many frames of bursts of their own would tell as much, at that sameness."""
        return float(_worth_frames(self.counts, np.array([self.sameness]))[0])

    def limits(self, confidence: float = 0.95) -> Limits:
        """Return the share kept with its interval; one-sided where no frame was kept, or all were."""
        check_confidence(confidence)
        tail = (1.0 - confidence) / 2
        if self.counts.n_kept == 0:
            return Limits(0.0, 0.0, self.rate_at(confidence))
        if self.counts.n_kept == self.counts.n_frames:
            return Limits(1.0, self.rate_at(1.0 - confidence), 1.0)
        return Limits(self.counts.rate, self.rate_at(tail), self.rate_at(1.0 - tail))

    def after(self, n_more: int, rate: float) -> "KnownRate":
        """Return what would be known after so many more bursts of the sizes so far that are kept at a rate.

        What is known of the sameness stays as it is.
        """
        share = n_more / (self.counts.n_bursts + n_more)
        middle = (1.0 - share) * self.counts.rate + share * rate
        worth = _worth_frames(self.counts, SAMENESS) / (1.0 - share)
        return KnownRate(self.counts, _rate_weight(middle, worth, self.sameness_weight), self.sameness_weight)

    def rate_at(self, chance: float) -> float:
        """Return the rate below which the true one lies with a chance."""
        below = np.append(0.0, np.cumsum(self.weight))
        return float(np.sin(np.interp(chance, below / below[-1], np.arcsin(np.sqrt(GRID_EDGES)))) ** 2)


def count_bursts(n_frames: Sequence[int], n_kept: Sequence[int]) -> BurstCounts:
    """Return the counts of some bursts; their order does not matter.

    Parameters
    ----------
    n_frames, n_kept : sequence of int
        Of each burst.

    Raises
    ------
    InputError
        If there is no burst, one has no frame, or more frames were kept than there are.
    """
    frames, kept = np.asarray(n_frames, np.int64), np.asarray(n_kept, np.int64)
    if frames.shape != kept.shape or frames.ndim != 1 or not frames.size:
        raise InputError(f"{kept.size} counts of frames kept for {frames.size} bursts; it takes one each, and a burst")
    bad = np.flatnonzero((frames < 1) | (kept < 0) | (kept > frames))
    if bad.size:
        raise InputError(f"{kept[bad[0]]} of {frames[bad[0]]} frames kept in a burst; it takes 0 or more of 1 or more")
    size = N_PART * -(-int(frames.max()) // N_PART)
    return BurstCounts(
        int(frames.size),
        int(frames.sum()),
        int(kept.sum()),
        int((kept > 0).sum()),
        int((frames**2).sum()),
        _above(kept, size),
        _above(frames - kept, size),
        _above(frames, size),
    )


def known_rate(counts: BurstCounts) -> KnownRate:
    r"""Return what bursts tell of the share of frames kept.

    Parameters
    ----------
    counts : BurstCounts
        Of one level.

    Notes
    -----
    How alike the frames of a burst are, :math:`\rho`, is learned from the beta-binomial model [1]_ under even priors
    (Jeffreys' of the rate, even of the sameness from 0 to 1). At each sameness the :math:`K` of :math:`N` frames kept
    are worth as much as

    .. math:: N_\rho = \frac{N}{1 + \left(\sum n_i^2 / N - 1\right) \rho}

    frames of bursts of their own [2]_, so that the rate follows Beta(:math:`r N_\rho + 1/2, (1 - r) N_\rho + 1/2`) with
    :math:`r = K / N`; these are averaged over what is known of :math:`\rho`. The beta-binomial model is thus trusted
    for the sameness only and not for the rate: where the rates of bursts have two values, its own interval of the rate
    held as little as 40 % of the time where it claimed 95, while this one takes the plain share as its middle
    (docs/keeper-rates.md, `benchmarks/review.py`).

    References
    ----------
    .. [1] D. A. Williams, "The analysis of binary responses from toxicological experiments involving reproduction and
       teratogenicity", Biometrics 31 (1975) 949-952; from memory.
    .. [2] J. N. K. Rao and A. J. Scott, "A simple method for the analysis of clustered binary data", Biometrics 48
       (1992) 577-585; E. L. Korn and B. I. Graubard, "Confidence intervals for proportions with small expected number
       of positive counts estimated from survey data", Surv. Methodol. 24 (1998) 193-201; both from memory.

    Examples
    --------
    >>> told = known_rate(count_bursts([10, 8, 10, 12], [4, 0, 1, 0])).limits()
    >>> round(told.likely, 3), round(told.low, 2), round(told.high, 2)
    (0.125, 0.02, 0.44)
    """
    sameness_weight = _sameness_weight(counts)
    weight = _rate_weight(counts.rate, _worth_frames(counts, SAMENESS), sameness_weight)
    return KnownRate(counts, weight, sameness_weight)


def burst_share(counts: BurstCounts, confidence: float = 0.95) -> Limits:
    """Return the share of bursts with at least one keeper, with its interval after Jeffreys.

    One-sided where no burst or every burst had one: at 95 % the rule of three, 3/n.

    References
    ----------
    .. [1] L. D. Brown, T. T. Cai and A. DasGupta, "Interval estimation for a binomial proportion", Stat. Sci. 16 (2001)
       101-133; from memory.
    """
    check_confidence(confidence)
    kept, left = counts.n_bursts_kept, counts.n_bursts - counts.n_bursts_kept
    alpha = 1.0 - confidence
    if kept == 0:
        return Limits(0.0, 0.0, 1.0 - alpha ** (1.0 / counts.n_bursts))
    if left == 0:
        return Limits(1.0, alpha ** (1.0 / counts.n_bursts), 1.0)
    low, high = (float(betaincinv(kept + 0.5, left + 0.5, chance)) for chance in (alpha / 2, 1.0 - alpha / 2))
    return Limits(kept / counts.n_bursts, low, high)


def _above(counts: NDArray[np.int64], size: int) -> Reals:
    return np.asarray((counts[:, None] > np.arange(size)[None, :]).sum(0), np.float64)


def _worth_frames(counts: BurstCounts, sameness: Reals) -> Reals:
    return np.asarray(counts.n_frames / (1.0 + (counts.squares / counts.n_frames - 1.0) * sameness), np.float64)


def _rate_weight(rate: float, worth: Reals, sameness_weight: Reals) -> Reals:
    """Return how likely the rate lies in each part of the grid, by what frames are worth at each sameness."""
    below = betainc(rate * worth[:, None] + 0.5, (1.0 - rate) * worth[:, None] + 0.5, GRID_EDGES[None, :])
    return np.asarray(sameness_weight @ np.diff(below, axis=1), np.float64)


def _sameness_weight(counts: BurstCounts) -> Reals:
    """Return how likely each sameness is, whatever the rate."""
    kept, left, all_ = _logarithms(counts.frames_above.size)
    log_weight = counts.kept_above @ kept + counts.left_above @ left - counts.frames_above @ all_
    weight = np.exp(log_weight - log_weight.max()).reshape(N_COARSE, N_SAMENESS).sum(0)
    return np.asarray(weight / weight.sum(), np.float64)


@lru_cache(maxsize=8)
def _logarithms(size: int) -> tuple[Reals, Reals, Reals]:
    """Return the logarithms that the beta-binomial likelihood is a sum of, each of shape (size, rates x samenesses).

    The chance of k of n frames is a product over j of (p + j g), (1 - p + j g) and 1/(1 + j g), g = rho/(1 - rho), but
    for a factor that depends on neither p nor rho (J. G. Skellam, J. R. Stat. Soc. B 10 (1948) 257-261; from memory).
    """
    rate = _rates(N_COARSE)[None, :, None]
    step = np.arange(size)[:, None, None] * (SAMENESS / (1.0 - SAMENESS))[None, None, :]
    terms = (
        np.log(rate + step),
        np.log(1.0 - rate + step),
        np.log(np.broadcast_to(1.0 + step, (size, N_COARSE, N_SAMENESS))),
    )
    kept, left, all_ = (term.reshape(size, -1) for term in terms)
    return kept, left, all_
