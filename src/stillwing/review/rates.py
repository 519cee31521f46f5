"""Which stand, perch or weather pays: events an hour of watching, with exact intervals, and compared exactly."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from scipy.stats import binomtest

from stillwing.errors import InputError
from stillwing.fieldbook.moment import MomentKind
from stillwing.review.events import Log
from stillwing.review.fits import Limits, count_limits
from stillwing.review.survival import check_confidence
from stillwing.review.watches import Watch, watches_of

__all__ = ["By", "Comparison", "PlaceRate", "Rate", "against_best", "compare", "rate", "rates_by"]

HOUR_S = 3600.0


class By(StrEnum):
    """What rates are told apart by."""

    STAND = "stand"
    PERCH = "perch"
    CONDITIONS = "conditions"


@dataclass(frozen=True, slots=True)
class Rate:
    """Events an hour of watching."""

    n: int
    hours: float
    per_h: Limits


@dataclass(frozen=True, slots=True)
class PlaceRate:
    """The rate of one stand, of one perch at a stand, or in one weather; what was not asked for is empty."""

    rate: Rate
    stand: str = ""
    perch: str = ""
    conditions: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """How two rates compare."""

    ratio: Limits
    """First over second; infinite where the second is 0, NaN where both are."""
    chance_by_luck: float
    """Chance of a difference at least as unlikely as this one between equal rates: the p-value."""
    do_overlap: bool
    """Whether the intervals of the two overlap; even where they do, the rates may differ."""


def rate(n: int, hours: float, *, confidence: float = 0.95) -> Rate:
    """Return a rate with its exact interval; one-sided where nothing was counted.

    Raises
    ------
    InputError
        If ``n`` is negative or ``hours`` is not more than nothing.
    """
    check_confidence(confidence)
    if n < 0 or not hours > 0.0:
        raise InputError(f"{n} events in {hours:g} h tell no rate; it needs 0 or more events in more than 0 h")
    low, high = count_limits(n, confidence)
    return Rate(n, hours, Limits(n / hours, low / hours, high / hours))


def rates_by(
    logs: Iterable[Log], by: By, kinds: Collection[MomentKind], animal: str | None = None, *, confidence: float = 0.95
) -> tuple[PlaceRate, ...]:
    """Return rates per stand, perch or weather, the highest first.

    Parameters
    ----------
    logs : iterable of Log
        Of any number of outings at one water.
    by : By
        What the rates are told apart by. A perch counts as watched while anyone stood at a stand from which it was
        ever tapped.
    kinds : collection of MomentKind
        What is counted, such as hovers and passes, or returns and landings.
    animal : str, optional
        Of which animal; of all by default.
    confidence : float, default 0.95
        Of each interval.

    Returns
    -------
    tuple of PlaceRate
        What was watched for no time at all has no rate and is left out.
    """
    watches = [watch for log in logs for watch in watches_of(log)]
    counts: dict[tuple[str, str, str], int] = defaultdict(int)
    seconds: dict[tuple[str, str, str], float] = defaultdict(float)
    perches: dict[str, set[str]] = defaultdict(set)
    for watch in watches:
        perches[watch.stand] |= {event.perch for event in watch.events if event.perch}
    for watch in watches:
        for key, watched_s in _watched(watch, by, sorted(perches[watch.stand])):
            seconds[key] += watched_s
        for event in watch.events:
            # The tap with which a watch begins was not waited for: counting it would make every place look better.
            is_counted = event.kind in kinds and event.at_s > watch.start_s
            if is_counted and animal in (None, event.animal) and (by is not By.PERCH or event.perch):
                counts[_key(watch, by, event.perch, watch.conditions_at(event.at_s))] += 1
    told = [
        PlaceRate(rate(counts[key], watched_s / HOUR_S, confidence=confidence), *key)
        for key, watched_s in seconds.items()
        if watched_s > 0.0
    ]
    return tuple(sorted(told, key=lambda place: -place.rate.per_h.likely))


def compare(first: Rate, second: Rate, *, confidence: float = 0.95) -> Comparison:
    """Return how two rates compare, by the exact test of the first's share of all events given the hours of both.

    References
    ----------
    .. [1] J. Przyborowski and H. Wilenski, "Homogeneity of results in testing samples from Poisson series", Biometrika
       31 (1940) 313-323; from memory.

    Examples
    --------
    >>> told = compare(rate(12, 2.0), rate(3, 2.0))
    >>> round(told.ratio.likely, 3), round(told.chance_by_luck, 3), told.do_overlap
    (4.0, 0.035, True)
    """
    check_confidence(confidence)
    do_overlap = first.per_h.low <= second.per_h.high and second.per_h.low <= first.per_h.high
    n = first.n + second.n
    if n == 0:
        return Comparison(Limits(float("nan"), 0.0, float("inf")), 1.0, do_overlap)
    even = first.hours / (first.hours + second.hours)
    test = binomtest(first.n, n, even)
    share = test.proportion_ci(confidence, "exact")
    low, likely, high = (_odds(each) * (1 - even) / even for each in (share.low, first.n / n, share.high))
    return Comparison(Limits(likely, low, high), float(test.pvalue), do_overlap)


def against_best(places: Iterable[PlaceRate]) -> tuple[Comparison, ...]:
    """Return how the first of some places compares with each of the others, in their order.

    The chance that luck made a difference is multiplied by the number of comparisons (Bonferroni): the best of many
    looks good by luck alone. None where there are not two places.
    """
    rates = [place.rate for place in places]
    compared = [compare(rates[0], other) for other in rates[1:]]
    return tuple(
        Comparison(each.ratio, min(1.0, each.chance_by_luck * len(compared)), each.do_overlap) for each in compared
    )


def _watched(watch: Watch, by: By, perches: Collection[str]) -> Iterator[tuple[tuple[str, str, str], float]]:
    for words, watched_s in watch.watched():
        for perch in perches if by is By.PERCH else ("",):
            yield _key(watch, by, perch, words), watched_s


def _key(watch: Watch, by: By, perch: str, conditions: str) -> tuple[str, str, str]:
    if by is By.CONDITIONS:
        return "", "", conditions
    return watch.stand, perch if by is By.PERCH else "", ""


def _odds(share: float) -> float:
    return share / (1.0 - share) if share < 1.0 else float("inf")
