"""How surely a share of frames is known when those of one burst are much alike, and bursts of one outing a little.

Forty frames of one burst are not forty looks at a way of working: if the animal was missed, all of them were. Nor are
ten bursts of one outing ten looks: they share its animals, its light and one's own form. What is known of the rate is
weighed on a grid, whatever either sameness may be.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc

from stillwing.review.burstcounts import BurstCounts
from stillwing.review.fits import Limits
from stillwing.review.sameness import FEWEST, OUTING_SAMENESS, burst_sameness, known_sameness
from stillwing.review.survival import check_confidence

__all__ = ["GRID_EDGES", "GRID_RATES", "KnownRate", "burst_share", "known_rate"]

Reals = NDArray[np.float64]

N_GRID = 400
"""Points of the grid of rates; four times as many move no end of an interval by 0.002
(`tests/review/test_burstrates.py`)."""
GRID_RATES = np.sin((np.arange(N_GRID) + 0.5) * (np.pi / 2 / N_GRID)) ** 2
"""Middles of the grid's parts: even in the arcsine of the root, as Jeffreys' prior of a share is."""
GRID_EDGES = np.sin(np.arange(N_GRID + 1) * (np.pi / 2 / N_GRID)) ** 2
N_WORTHS = 24
"""What frames are worth at each sameness is told apart in so many steps, alike in ratio."""


@dataclass(frozen=True, eq=False)
class KnownRate:
    """What is known of the share of frames kept."""

    counts: BurstCounts
    weight: Reals
    """How likely the rate lies in each part of the grid, adding up to 1, shape (n,)."""
    sameness_weight: Reals
    """How likely each sameness of bursts and of outings is, as `sameness.known_sameness` gives it."""
    outing_concentration: float
    """How few outings the rate hangs on: the sum of the squares of their shares of the frames."""

    @cached_property
    def sameness(self) -> float:
        """Correlation of two frames of one burst, 0 to 1: its mean over what is known of it."""
        return float((self.sameness_weight * burst_sameness()).sum())

    @cached_property
    def outing_sameness(self) -> float:
        """Correlation of two frames of different bursts of one outing, likewise."""
        return float(self.sameness_weight.sum(0) @ OUTING_SAMENESS)

    @cached_property
    def worth_frames(self) -> float:
        """How many frames of bursts and outings of their own would tell as much, at that sameness."""
        worth = _worth_frames(
            self.counts, self.outing_concentration, np.array(self.sameness), np.array(self.outing_sameness)
        )
        return float(worth)

    def limits(self, confidence: float = 0.95) -> Limits:
        """Return the share kept with its interval; one-sided where no frame was kept, or all were."""
        check_confidence(confidence)
        tail = (1.0 - confidence) / 2
        if self.counts.n_kept == 0:
            return Limits(0.0, 0.0, _most_unseen(self, confidence))
        if self.counts.n_kept == self.counts.n_frames:
            return Limits(1.0, 1.0 - _most_unseen(self, confidence), 1.0)
        return Limits(self.counts.rate, self.rate_at(tail), self.rate_at(1.0 - tail))

    def after(self, n_more: int, rate: float) -> "KnownRate":
        """Return what would be known after so many more bursts of the sizes so far that are kept at a rate.

        They come on outings of as many bursts as so far. What is known of the sameness stays as it is.
        """
        share = n_more / (self.counts.n_bursts + n_more)
        middle = (1.0 - share) * self.counts.rate + share * rate
        weight = _rate_weight(self.counts, middle, self.sameness_weight, self.outing_concentration, 1.0 - share)
        return KnownRate(self.counts, weight, self.sameness_weight, self.outing_concentration)

    def beside(self, other: "KnownRate") -> "KnownRate":
        """Return what is known for a comparison with another rate: what their outings do to both alike drops out.

        Of the variance of the difference that outings make, which is that of their shares' differences, each gets its
        part.
        """
        mine, theirs = self.counts.outing_shares, other.counts.outing_shares
        apart = sum((mine.get(outing, 0.0) - theirs.get(outing, 0.0)) ** 2 for outing in {**mine, **theirs})
        own, others = self.counts.outing_concentration, other.counts.outing_concentration
        concentration = apart * own / (own + others)
        weight = _rate_weight(self.counts, self.counts.rate, self.sameness_weight, concentration)
        return KnownRate(self.counts, weight, self.sameness_weight, concentration)

    def rate_at(self, chance: float) -> float:
        """Return the rate below which the true one lies with a chance."""
        return _at(np.append(0.0, np.cumsum(self.weight)), chance)


def known_rate(counts: BurstCounts) -> KnownRate:
    r"""Return what bursts tell of the share of frames kept.

    Parameters
    ----------
    counts : BurstCounts
        Of one level.

    Notes
    -----
    How alike the frames of a burst are, :math:`\rho`, and those of different bursts of one outing, :math:`\omega`, is
    learned by `sameness.known_sameness`. With both, the :math:`K` of :math:`N` frames kept are worth as much as
    :math:`N_w` frames of bursts and outings of their own [1]_,

    .. math:: \frac{1}{N_w} = \frac{1 - \rho}{N} + (\rho - \omega) \frac{\sum n_i^2}{N^2}
              + \omega \frac{\sum m_g^2}{N^2}

    for bursts of :math:`n_i` and outings of :math:`m_g` frames, so that the rate follows
    Beta(:math:`r N_w + 1/2, (1 - r) N_w + 1/2`) with :math:`r = K / N`; these are averaged over what is known of
    :math:`\rho` and :math:`\omega`. The beta-binomial model is thus trusted for the sameness only and not for the rate:
    where the rates of bursts have two values, its own interval of the rate held as little as 40 % of the time where it
    claimed 95, while this one takes the plain share as its middle (docs/keeper-rates.md, `benchmarks/review.py`).

    References
    ----------
    .. [1] J. N. K. Rao and A. J. Scott, "A simple method for the analysis of clustered binary data", Biometrics 48
       (1992) 577-585; E. L. Korn and B. I. Graubard, "Confidence intervals for proportions with small expected number
       of positive counts estimated from survey data", Surv. Methodol. 24 (1998) 193-201; both from memory.

    Examples
    --------
    >>> from stillwing.review.burstcounts import count_bursts
    >>> told = known_rate(count_bursts([10, 8, 10, 12], [4, 0, 1, 0], ["May", "May", "June", "July"])).limits()
    >>> round(told.likely, 3), round(told.low, 2), round(told.high, 2)
    (0.125, 0.02, 0.44)
    """
    sameness_weight = known_sameness(counts)
    concentration = counts.outing_concentration
    return KnownRate(
        counts, _rate_weight(counts, counts.rate, sameness_weight, concentration), sameness_weight, concentration
    )


def burst_share(counts: BurstCounts, confidence: float = 0.95) -> Limits:
    """Return the share of bursts with at least one keeper, with its interval: bursts of one outing are a little alike.

    One-sided where no burst or every burst had one: at 95 %, with each burst on an outing of its own, the rule of
    three, 3/n.

    References
    ----------
    .. [1] L. D. Brown, T. T. Cai and A. DasGupta, "Interval estimation for a binomial proportion", Stat. Sci. 16 (2001)
       101-133; from memory.
    """
    check_confidence(confidence)
    alone = counts.alone()
    known = known_rate(alone)
    if 0 < alone.n_kept < alone.n_bursts:
        return known.limits(confidence)
    worth = _worth_frames(alone, alone.outing_concentration, burst_sameness(), OUTING_SAMENESS)
    below = ((1.0 - (1.0 - GRID_EDGES[:, None, None]) ** worth) * known.sameness_weight).sum((1, 2))
    most = _at(below, confidence)
    return Limits(0.0, 0.0, most) if alone.n_kept == 0 else Limits(1.0, 1.0 - most, 1.0)


def _most_unseen(known: KnownRate, confidence: float) -> float:
    r"""Return the highest rate at which it is not yet too unlikely that no frame of any burst was kept.

    Notes
    -----
    Bursts that are all misses do not tell whether others are hits: how the rates of bursts lie about their mean
    :math:`r` has to be taken at its worst. Whatever the law, at a sameness :math:`\rho` a share of at least
    :math:`r / g` of the bursts has a rate above 0, with :math:`g = r + \rho (1 - r)` (from the inequality of Cauchy and
    Schwarz), and it is just that where hits all have the rate :math:`g`: a burst of :math:`n` frames then has no keeper
    with :math:`1 - (r / g) (1 - (1 - g)^n)`. Bursts of one outing count for fewer, as in `burst_share`, and all is
    averaged over what is known of the sameness.
    """
    counts, sameness = known.counts, burst_sameness()
    rate = GRID_EDGES[:, None, None]
    hit_rate = rate + sameness * (1.0 - rate)
    worth = _worth_frames(counts.alone(), known.outing_concentration, sameness, OUTING_SAMENESS) / counts.n_bursts
    log_none = np.zeros(hit_rate.shape)
    for size, n in zip(*np.unique(counts.frames, return_counts=True), strict=True):
        log_none += n * np.log(np.maximum(1.0 - rate / hit_rate * (1.0 - (1.0 - hit_rate) ** size), FEWEST))
    below = ((1.0 - np.exp(worth * log_none)) * known.sameness_weight).sum((1, 2))
    return _at(below, confidence)


def _at(below: Reals, chance: float) -> float:
    """Return the rate at which a chance is reached that was summed up to each edge of the grid."""
    return float(np.sin(np.interp(chance, below / below[-1], np.arcsin(np.sqrt(GRID_EDGES)))) ** 2)


def _worth_frames(counts: BurstCounts, outing_concentration: float, sameness: Reals, outing_sameness: Reals) -> Reals:
    inverse = (1.0 - sameness) / counts.n_frames
    inverse = inverse + (sameness - outing_sameness) * counts.burst_concentration
    return np.asarray(1.0 / (inverse + outing_sameness * outing_concentration), np.float64)


def _rate_weight(
    counts: BurstCounts, rate: float, sameness_weight: Reals, outing_concentration: float, share_so_far: float = 1.0
) -> Reals:
    """Return how likely the rate lies in each part of the grid, once the bursts so far are a share of all."""
    at_each = _worth_frames(counts, outing_concentration, burst_sameness(), OUTING_SAMENESS) / share_so_far
    worth, likely = _steps(at_each.ravel(), sameness_weight.ravel())
    below = betainc(rate * worth[:, None] + 0.5, (1.0 - rate) * worth[:, None] + 0.5, GRID_EDGES[None, :])
    weight = likely @ np.diff(below, axis=1)
    return np.asarray(weight / weight.sum(), np.float64)


def _steps(worth: Reals, likely: Reals) -> tuple[Reals, Reals]:
    """Return a few figures of worth that stand for many, with how likely each is."""
    logarithm = np.log(worth)
    edges = np.linspace(logarithm.min(), logarithm.max(), N_WORTHS + 1)[1:-1]
    step = np.searchsorted(edges, logarithm)
    inside = np.bincount(step, likely, N_WORTHS)
    middle = np.bincount(step, likely * logarithm, N_WORTHS)
    is_there = inside > 0
    return np.asarray(np.exp(middle[is_there] / inside[is_there])), np.asarray(inside[is_there], np.float64)
