"""Two ways of working compared: which is better, by how much, and how many more bursts it would take to know."""

from collections.abc import Iterable
from dataclasses import dataclass

from stillwing.errors import InputError
from stillwing.review.comparedlevels import Together
from stillwing.review.fits import Limits
from stillwing.review.outcomes import FactorRates, LevelRate

__all__ = [
    "MOST_BURSTS",
    "BestLevel",
    "FactorCompared",
    "WaysCompared",
    "best_level",
    "compare_factors",
    "compare_ways",
    "compare_with_best",
    "more_bursts_to_tell",
]

MOST_BURSTS = 300
"""More bursts of each than this are no plan for a season (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class WaysCompared:
    """Two levels of one factor, weighed together with all its levels."""

    first: LevelRate
    second: LevelRate
    chance_better: float
    """That the first keeps a greater share of its frames than the second."""
    difference: Limits
    """Share kept of the first less that of the second; both drawn together as far as luck may have parted them."""
    ratio: Limits
    """Share kept of the first over that of the second, likewise."""
    is_told: bool
    """Whether the chance that one of them is better is so near to 1 that it may be said."""
    more_bursts: int | None
    """So many more bursts of each would tell them apart if they were kept at the rates drawn together; 0 where they are
    told apart already, and None where even `MOST_BURSTS` of each would not do."""


@dataclass(frozen=True, slots=True)
class BestLevel:
    """The best level of a factor, and what it can be told from; without any plan of more bursts."""

    best: LevelRate
    """Of the highest middle rate, once the levels are drawn together."""
    runner_up: LevelRate
    less: tuple[LevelRate, ...]
    """Levels that keep less so surely that it may be said."""
    alike: tuple[LevelRate, ...]
    """Levels that it cannot be told from."""


@dataclass(frozen=True, slots=True)
class FactorCompared:
    """The best level of one factor against each other level."""

    rates: FactorRates
    best: LevelRate
    """Of the highest middle rate, once the levels are drawn together."""
    against: tuple[WaysCompared, ...]
    """The best against the others, the next best first."""
    n_factors: int
    """Factors that were looked at together; the more, the surer a claim has to be."""

    @property
    def n_pairs(self) -> int:
        """Pairs of levels among which the best was found."""
        n = len(self.rates.levels)
        return n * (n - 1) // 2


def compare_ways(rates: FactorRates, first: str, second: str, *, n_factors: int = 1) -> WaysCompared:
    """Return how two levels of a factor compare.

    Parameters
    ----------
    rates : FactorRates
        Of all its levels: how far such levels are apart at all is learned from them.
    first, second : str
        Words of two of its levels.
    n_factors : int, default 1
        Factors that are looked at together. What may be said has to be so much surer (Bonferroni).

    Raises
    ------
    InputError
        If there is no level with these words, or both are the same.

    Notes
    -----
    The model is that of `comparedlevels.Together`. What an outing did to both levels alike drops out of the comparison
    (`burstrates.KnownRate.beside`): bursts of both on the same outings tell them apart the soonest.

    How many more bursts are needed is found by adding bursts of the sizes so far, on outings as so far, kept at the
    rates of the two levels once they are drawn together: at the plain rates fewer would be told than it takes, because
    what was looked at for its large difference has a smaller one.
    """
    at = {each.level.words: position for position, each in enumerate(rates.levels)}
    for words in (first, second):
        if words not in at:
            raise InputError(f"no level '{words}' of {rates.factor}; its levels are {', '.join(at) or 'none'}")
    if first == second:
        raise InputError(f"'{first}' cannot be compared with itself")
    return _compared(rates, Together(tuple(each.known for each in rates.levels)), at[first], at[second], n_factors)


def best_level(rates: FactorRates, *, n_factors: int = 1) -> BestLevel:
    """Return the best level of a factor, quickly: how many more bursts would tell costs most of a comparison.

    Parameters
    ----------
    rates : FactorRates
        Of all its levels.
    n_factors : int, default 1
        Factors that are looked at together; see `compare_ways`.

    Raises
    ------
    InputError
        If the factor has fewer than two levels.
    """
    together, order = _in_order(rates)
    sure = _sure(rates, n_factors)
    is_less = {at: together.beside(order[0], at).chance_better(order[0], at) >= sure for at in order[1:]}
    return BestLevel(
        rates.levels[order[0]],
        rates.levels[order[1]],
        less=tuple(rates.levels[at] for at in order[1:] if is_less[at]),
        alike=tuple(rates.levels[at] for at in order[1:] if not is_less[at]),
    )


def compare_with_best(rates: FactorRates, *, n_factors: int = 1) -> FactorCompared:
    """Return how the best level of a factor compares with each of the others.

    Raises
    ------
    InputError
        If the factor has fewer than two levels.
    """
    together, order = _in_order(rates)
    against = tuple(_compared(rates, together, order[0], other, n_factors) for other in order[1:])
    return FactorCompared(rates, rates.levels[order[0]], against, n_factors)


def compare_factors(factors: Iterable[FactorRates]) -> tuple[FactorCompared, ...]:
    """Return how the levels of several factors compare; factors of one level only are left out.

    The more factors are looked at, the surer a claim must be: the chance of being wrong that a claim may have is
    divided by their number (Bonferroni). Between the levels of one factor no such division is needed, because they are
    drawn together.
    """
    several = [rates for rates in factors if len(rates.levels) > 1]
    return tuple(compare_with_best(rates, n_factors=len(several)) for rates in several)


def _compared(rates: FactorRates, levels: Together, first: int, second: int, n_factors: int) -> WaysCompared:
    together = levels.beside(first, second)
    chance = together.chance_better(first, second)
    both = together.pair(first, second)
    sure = _sure(rates, n_factors)
    is_told = max(chance, 1.0 - chance) >= sure
    return WaysCompared(
        rates.levels[first],
        rates.levels[second],
        chance,
        both.difference(rates.confidence),
        both.ratio(rates.confidence),
        is_told,
        0 if is_told else more_bursts_to_tell(together, first, second, sure),
    )


def _in_order(rates: FactorRates) -> tuple[Together, list[int]]:
    """Return the levels weighed together, and where they stand, the best first."""
    if len(rates.levels) < 2:
        raise InputError(f"{rates.factor} has {len(rates.levels)} level in these bursts; it takes two to compare")
    together = Together(tuple(each.known for each in rates.levels))
    middles = together.middles()
    return together, sorted(range(len(middles)), key=lambda at: -middles[at])


def _sure(rates: FactorRates, n_factors: int) -> float:
    return 1.0 - (1.0 - rates.confidence) / 2 / n_factors


def more_bursts_to_tell(together: Together, first: int, second: int, sure: float) -> int | None:
    """Return the fewest more bursts of each that would tell two levels apart."""
    drawn = together.rates()

    def would_tell(n_more: int) -> bool:
        more = together
        for at in (first, second):
            more = more.with_level(at, together.known[at].after(n_more, float(drawn[at])))
        chance = more.chance_better(first, second)
        return max(chance, 1.0 - chance) >= sure

    if not would_tell(MOST_BURSTS):
        return None
    low, high = 0, 1
    while not would_tell(high):
        low, high = high, min(2 * high, MOST_BURSTS)
    # Within a tenth is near enough for a plan, and each step costs a hierarchical model.
    while high - low > max(1, high // 10):
        middle = (low + high) // 2
        low, high = (low, middle) if would_tell(middle) else (middle, high)
    return high
