"""Keeper rates in sentences: figures with their intervals, no claim that luck may have made, and no causes."""

import math
from collections.abc import Mapping, Sequence

from stillwing.review.compared import MOST_BURSTS, BestLevel, WaysCompared
from stillwing.review.fits import Limits
from stillwing.review.outcomes import LevelRate
from stillwing.review.words import rounded

__all__ = [
    "bursts_words",
    "chance_in_100",
    "compared_sentence",
    "factor_name",
    "headline_sentence",
    "level_sentence",
    "listed",
    "outings_words",
    "share_words",
]

NAMES: Mapping[str, str] = {
    "exposure_s": "exposure",
    "f_number": "f-number",
    "iso": "ISO",
    "focal_length_mm": "focal length",
    "distance_m": "distance",
    "wind_angle_deg": "angle to the wind",
    "hour": "hour of the day",
}
MOST_NAMED = 3
"""More levels than this that the best cannot be told from are counted, not named."""
FEW_BURSTS = 3
"""With fewer bursts a level is told to be a beginning (a choice, no source)."""


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


def listed(names: Sequence[str]) -> str:
    """Return names as one listing."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


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


def headline_sentence(factor: str, best: BestLevel) -> str:
    """Return which level did best, and from which others it can be told apart."""
    less = [each.level.words for each in best.less]
    alike = [each.level.words for each in best.alike]
    name, words = factor_name(factor), best.best.level.words
    if not less:
        others = listed(alike) if len(alike) <= MOST_NAMED else f"the {len(alike)} others"
        return f"{name}: {words} did best so far, but cannot be told from {others} yet"
    told = f"{name}: {words} kept more than {listed(less)}"
    return f"{told}; it cannot be told from {listed(alike)} yet" if alike else told


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
