"""All levels of one factor weighed together: how far apart such levels are at all is learned from them too.

The best of eight looks good by luck alone. Where the levels hardly differ by more than luck would have them, each is
drawn towards the others, and a claim that one is better becomes weaker by itself.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import logit, ndtr, ndtri

from stillwing.review.burstrates import GRID_EDGES, GRID_RATES, KnownRate
from stillwing.review.fits import Limits

__all__ = ["Pair", "Together"]

Reals = NDArray[np.float64]

SPREAD = 1.0
"""Of how far levels lie apart, half a normal distribution with this standard deviation in log-odds is the prior: rates
of 4 and 23 % about a middle one of 10 % are then nothing unusual. A choice; with half of it claims were weaker than
they came true, and twice of it changed little (`benchmarks/review.py`)."""
N_SPREADS, N_MIDDLES = 8, 80
FEWEST = 1e-300


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """What is known of two rates at once: how likely they lie in each two parts of the grid, shape (n, n)."""

    weight: Reals

    def difference(self, confidence: float) -> Limits:
        """Return the first rate less the second."""
        return _limits(_differences(), self.weight, confidence)

    def ratio(self, confidence: float) -> Limits:
        """Return the first rate over the second."""
        told = _limits(_log_ratios(), self.weight, confidence)
        return Limits(*(float(np.exp(each)) for each in (told.likely, told.low, told.high)))


@dataclass(frozen=True, eq=False)
class Together:
    r"""What is known of all levels of one factor at once.

    Notes
    -----
    The log-odds of the levels' rates are normal about a middle, and how far they spread is learned with them: a
    hierarchical model, all of it on a grid. Because it draws levels together that do not differ, no further correction
    for the number of levels is needed [1]_.

    .. math:: \operatorname{logit} p_l \sim N(\mu, \tau^2), \quad \tau \sim |N(0, s^2)|

    with Jeffreys' prior of the middle rate.

    References
    ----------
    .. [1] A. Gelman, J. Hill and M. Yajima, "Why we (usually) don't have to worry about multiple comparisons", J. Res.
       Educ. Eff. 5 (2012) 189-211; from memory.
    """

    known: tuple[KnownRate, ...]
    spread: float = SPREAD

    @cached_property
    def _priors(self) -> Reals:
        return _priors(self.spread)

    @cached_property
    def _evidence(self) -> Reals:
        """Return how well each level agrees with each middle and spread, shape (n levels, n middles x spreads)."""
        return np.maximum(np.stack([level.weight for level in self.known]) @ self._priors, FEWEST)

    @cached_property
    def _agreement(self) -> Reals:
        """Return how likely each middle and spread is."""
        logarithm = np.log(self._evidence).sum(0)
        weight = np.exp(logarithm - logarithm.max())
        return np.asarray(weight / weight.sum(), np.float64)

    def rates(self) -> Reals:
        """Return the mean rate of each level, drawn towards the others as far as luck may have parted them."""
        means = (np.stack([level.weight for level in self.known]) * GRID_RATES) @ self._priors / self._evidence
        return np.asarray(means @ self._agreement, np.float64)

    def middles(self) -> Reals:
        """Return the rate of each level that it is as likely above as below, drawn together likewise.

        The mean of a level of which little is known lies above what it likely is, so levels are ranked by this one.
        """
        below = np.cumsum(np.stack([self._given(at) @ self._agreement for at in range(len(self.known))]), axis=1)
        return np.array([GRID_RATES[np.searchsorted(each, each[-1] / 2)] for each in below])

    def chance_better(self, first: int, second: int) -> float:
        """Return the chance that the first level's rate is above the second's; of equal parts half counts."""
        ahead, behind = self._given(first), self._given(second)
        below = np.cumsum(behind, axis=0) - behind / 2
        return float(np.clip((ahead * below).sum(0) @ self._agreement, 0.0, 1.0))

    def pair(self, first: int, second: int) -> Pair:
        """Return what is known of two levels at once."""
        weight = (self._given(first) * self._agreement) @ self._given(second).T
        return Pair(weight / weight.sum())

    def _given(self, at: int) -> Reals:
        """Return how likely a level's rate lies in each part of the grid, at each middle and spread."""
        return np.asarray(self.known[at].weight[:, None] * self._priors / self._evidence[at], np.float64)

    def beside(self, first: int, second: int) -> "Together":
        """Return the same with two levels known as far as they tell the one from the other on their outings."""
        one, other = self.known[first], self.known[second]
        return self.with_level(first, one.beside(other)).with_level(second, other.beside(one))

    def with_level(self, at: int, known: KnownRate) -> "Together":
        """Return the same with one level known otherwise."""
        return Together((*self.known[:at], known, *self.known[at + 1 :]), self.spread)


def _limits(ordered: tuple[NDArray[np.intp], Reals], weight: Reals, confidence: float) -> Limits:
    order, values = ordered
    mass = weight.ravel()[order]
    at = np.cumsum(mass) - mass / 2
    chances = (0.5, (1.0 - confidence) / 2, (1.0 + confidence) / 2)
    return Limits(*(float(np.interp(chance, at, values)) for chance in chances))


@lru_cache(maxsize=1)
def _differences() -> tuple[NDArray[np.intp], Reals]:
    return _in_order(GRID_RATES)


@lru_cache(maxsize=1)
def _log_ratios() -> tuple[NDArray[np.intp], Reals]:
    return _in_order(np.log(GRID_RATES))


def _in_order(values: Reals) -> tuple[NDArray[np.intp], Reals]:
    """Return where each difference of two values stands once they are sorted, and the sorted differences."""
    apart = (values[:, None] - values[None, :]).ravel()
    order = np.argsort(apart)
    return order, apart[order]


@lru_cache(maxsize=4)
def _priors(spread: float) -> Reals:
    """Return how likely each part of the grid holds a level, by middle and spread, shape (n, middles x spreads)."""
    spreads = spread * ndtri(0.5 + (np.arange(N_SPREADS) + 0.5) / (2 * N_SPREADS))
    middles = logit(np.sin((np.arange(N_MIDDLES) + 0.5) * (np.pi / 2 / N_MIDDLES)) ** 2)
    edges = logit(GRID_EDGES)[:, None, None]
    # The last edge is 1 but for rounding.
    edges[0], edges[-1] = -np.inf, np.inf
    parts = np.diff(ndtr((edges - middles[None, :, None]) / spreads[None, None, :]), axis=0)
    return np.asarray(parts.reshape(len(parts), -1), np.float64)
