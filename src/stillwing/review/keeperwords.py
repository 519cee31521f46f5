"""Keeper rates in sentences: figures with their intervals, no claim that luck may have made, and no causes."""

import math
from collections.abc import Mapping, Sequence

from stillwing.review.compared import MOST_BURSTS, FactorCompared, WaysCompared
from stillwing.review.confounded import Association, going_with
from stillwing.review.fits import Limits
from stillwing.review.outcomes import FactorRates, LevelRate
from stillwing.review.words import rounded

__all__ = [
    "NO_CAUSE",
    "bursts_words",
    "chance_in_100",
    "compared_sentence",
    "confounded_sentence",
    "factor_name",
    "factor_sentences",
    "headline_sentence",
    "level_sentence",
    "outings_sentence",
    "outings_words",
    "pairs_sentence",
    "share_words",
]

NO_CAUSE = "which way gave keepers is counted, not why: what was not noted may have gone with it"
NAMES: Mapping[str, str] = {
    "exposure_s": "exposure",
    "f_number": "f-number",
    "iso": "ISO",
    "focal_length_mm": "focal length",
    "distance_m": "distance",
    "wind_angle_deg": "angle to the wind",
    "hour": "hour of the day",
}
FEW_BURSTS = 3
"""With fewer bursts a level is told to be a beginning (a choice, no source)."""
FEW_OUTINGS = 5
"""From fewer outings it is hardly known how much outings differ (a choice, no source)."""


def factor_name(factor: str) -> str:
    """Return the name of a factor in words.

    Examples
    --------
    >>> factor_name("exposure_s"), factor_name("focus_area")
    ('exposure', 'focus area')
    """
    return NAMES.get(factor, factor.replace("_", " "))


def share_words(share: Limits) -> str:
    """Return a share with its interval in per cent; with a decimal where it is under 1 %.

    Examples
    --------
    >>> share_words(Limits(0.15, 0.078, 0.251)), share_words(Limits(0.004, 0.0, 0.031))
    ('15 %, 8 to 25 %', '0.4 %, 0 to 3 %')
    """
    return f"{_per_cent(share.likely)} %, {_per_cent(share.low)} to {_per_cent(share.high)} %"


def chance_in_100(chance: float) -> str:
    """Return a chance as so many in 100, never as certain as 0 or 100.

    Examples
    --------
    >>> chance_in_100(0.938), chance_in_100(0.9996), chance_in_100(0.5)
    ('94 in 100', 'over 99 in 100', '50 in 100')
    """
    if chance > 0.99:
        return "over 99 in 100"
    return "under 1 in 100" if chance < 0.01 else f"{rounded(100 * chance)} in 100"


def bursts_words(n: int) -> str:
    """Return a number of bursts."""
    return "1 burst" if n == 1 else f"{n} bursts"


def outings_words(n: int) -> str:
    """Return a number of outings."""
    return "1 outing" if n == 1 else f"{n} outings"


def level_sentence(rate: LevelRate) -> str:
    """Return how one level did, in frames and in bursts."""
    told = (
        f"{_kept(rate)} in {bursts_words(rate.n_bursts)} on {outings_words(rate.n_outings)}, "
        f"at least one in {rate.n_bursts_kept} of them ({share_words(rate.bursts_kept)})"
    )
    return f"{told}; so few bursts are a beginning" if rate.n_bursts < FEW_BURSTS else told


def compared_sentence(way: WaysCompared) -> str:
    """Return how two levels compare, with what it would take to know."""
    first, second = way.first, way.second
    chance = way.chance_better
    better = first if chance >= 0.5 else second
    turned = way.difference
    if better is second:
        turned = Limits(-turned.likely, -turned.high, -turned.low)
    return (
        f"{_kept(first)} in {bursts_words(first.n_bursts)}; "
        f"{_kept(second)} in {second.n_bursts}: "
        f"{chance_in_100(max(chance, 1.0 - chance))} that {better.level.words} is better, "
        f"by {_points(turned)} once luck is allowed for; {_more(way)}"
    )


def headline_sentence(compared: FactorCompared) -> str:
    """Return which level did best, and from which others it can be told apart."""
    best = compared.best.level.words
    less = [way.second.level.words for way in compared.against if way.is_told]
    alike = [way.second.level.words for way in compared.against if not way.is_told]
    name = factor_name(compared.rates.factor)
    if not less:
        return f"{name}: {best} did best so far, but cannot be told from {_listed(alike)} yet"
    told = f"{name}: {best} kept more than {_listed(less)}"
    return f"{told}; it cannot be told from {_listed(alike)} yet" if alike else told


def pairs_sentence(compared: FactorCompared) -> str:
    """Return among how many comparisons the best was found."""
    n_levels = len(compared.rates.levels)
    told = (
        "1 pair was compared"
        if compared.n_pairs == 1
        else f"{compared.n_pairs} pairs of {n_levels} levels were compared"
    )
    if compared.n_factors > 1:
        return (
            f"{told}, and {compared.n_factors} factors; of so many some look good by luck, so a claim had to be surer"
        )
    return told if compared.n_pairs == 1 else f"{told}; of so many some look good by luck, which the chances allow for"


def confounded_sentence(factor: str, found: Sequence[Association]) -> str:
    """Return with which other factors one goes so strongly that it may stand for them; empty where with none."""
    others = going_with(factor, found)
    if not others:
        return ""
    name = factor_name(factor)
    listed = _listed([f"{factor_name(other)} ({strength:.2f} of 1)" for other, strength in others])
    which = "it" if len(others) == 1 else "they"
    return f"{name} goes with {listed}: {which}, and not {name}, may be what made the difference"


def outings_sentence(rates: FactorRates) -> str:
    """Return a caution where there are too few outings to know how much they differ; empty where there are enough."""
    n = rates.n_outings
    if n == 0 or n >= FEW_OUTINGS:
        return ""
    if n == 1:
        return (
            "all bursts are from 1 outing: how another one would go is not known, "
            "and the intervals only guess how much outings differ"
        )
    return (
        f"all bursts are from {n} outings: so few hardly tell how much outings differ, "
        "and the intervals rest partly on a guess of it"
    )


def factor_sentences(compared: FactorCompared, found: Sequence[Association] = ()) -> tuple[str, ...]:
    """Return all that is told of one factor; without full stops.

    Parameters
    ----------
    compared : FactorCompared
        Its best level against the others.
    found : sequence of Association, optional
        Which factors go together, as `confounded.associations` gives them.
    """
    told = [headline_sentence(compared), compared_sentence(compared.against[0])]
    last = compared.against[-1]
    told += [compared_sentence(way) for way in compared.against[1:] if way.is_told or way is last]
    told += [pairs_sentence(compared), confounded_sentence(compared.rates.factor, found)]
    told += [outings_sentence(compared.rates), _unknown(compared.rates)]
    return (*(sentence for sentence in told if sentence), NO_CAUSE)


def _kept(rate: LevelRate) -> str:
    return f"{rate.level.words} kept {rate.n_keepers} of {rate.n_frames} frames ({share_words(rate.frames_kept)})"


def _per_cent(share: float) -> str:
    per_cent = 100.0 * share
    if 0.05 <= per_cent < 0.95:
        return f"{per_cent:.1f}"
    # Not everything was kept, nor nothing, because it rounds to that.
    if share < 1.0 and rounded(per_cent) == 100:
        return f"{math.floor(10 * per_cent) / 10:g}"
    return f"{rounded(per_cent)}"


def _points(difference: Limits) -> str:
    likely, low, high = (rounded(100 * each) for each in (difference.likely, difference.low, difference.high))
    one = "1 point" if abs(likely) == 1 else f"{likely} points"
    return f"{'under 1 point' if likely == 0 else one} ({low} to {high})"


def _more(way: WaysCompared) -> str:
    if way.more_bursts == 0:
        return "that is told"
    if way.more_bursts is None:
        return f"to tell would take more than {MOST_BURSTS} more bursts of each"
    return f"about {bursts_words(way.more_bursts).replace('burst', 'more burst')} of each would tell"


def _unknown(rates: FactorRates) -> str:
    if not rates.n_unknown:
        return ""
    verb = "is" if rates.n_unknown == 1 else "are"
    return f"{bursts_words(rates.n_unknown)} {verb} left out, their {factor_name(rates.factor)} not known"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
