"""What to beware of when keeper rates are read: luck, few outings, factors that go together, and causes."""

from collections.abc import Sequence

from stillwing.review.confounded import Association, going_with
from stillwing.review.keeperwords import bursts_words, factor_name, listed
from stillwing.review.outcomes import FactorRates

__all__ = ["NO_CAUSE", "confounded_sentence", "outings_sentence", "pairs_sentence", "unknown_sentence"]

NO_CAUSE = "which way gave keepers is counted, not why: what was not noted may have gone with it"
FEW_OUTINGS = 5
"""From fewer outings it is hardly known how much outings differ (a choice, no source)."""


def pairs_sentence(n_levels: int, n_factors: int) -> str:
    """Return among how many comparisons the best was found."""
    n_pairs = n_levels * (n_levels - 1) // 2
    told = "1 pair was compared" if n_pairs == 1 else f"{n_pairs} pairs of {n_levels} levels were compared"
    if n_factors > 1:
        return f"{told}, and {n_factors} factors; of so many some look good by luck, so a claim had to be surer"
    return told if n_pairs == 1 else f"{told}; of so many some look good by luck, which the chances allow for"


def confounded_sentence(factor: str, found: Sequence[Association]) -> str:
    """Return with which other factors one goes so strongly that it may stand for them; empty where with none."""
    others = going_with(factor, found)
    if not others:
        return ""
    name = factor_name(factor)
    goes_with = listed([f"{factor_name(other)} ({strength:.2f} of 1)" for other, strength in others])
    which = "it" if len(others) == 1 else "they"
    return f"{name} goes with {goes_with}: {which}, and not {name}, may be what made the difference"


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


def unknown_sentence(rates: FactorRates) -> str:
    """Return how many bursts are left out because nothing tells the factor; empty where none is."""
    if not rates.n_unknown:
        return ""
    verb = "is" if rates.n_unknown == 1 else "are"
    return f"{bursts_words(rates.n_unknown)} {verb} left out, their {factor_name(rates.factor)} not known"
