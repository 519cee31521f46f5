"""Bursts that show one kind only: how often they are drawn and their interval holds, and an interval tried for them.

Where no burst is a miss, nothing tells how many others would be. The interval that is tried lets misses be there of
which none was seen; it is held against the truth beside the one of stillwing (docs/keeper-rates.md says what came out).
"""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincc, betaln

from stillwing.review.burstcounts import BurstCounts
from stillwing.review.burstrates import GRID_RATES, KnownRate
from stillwing.review.fits import Limits

UNSEEN = "unseen misses"
KINDS = ("none kept", "all kept", "no burst a miss", "others")
"""Bursts with no keeper at all; with every frame kept; with a keeper in each but some left; hits and misses."""
TWO_KINDS = 0.5
"""Chance, before any burst is seen, that there are bursts of two kinds (a choice, no source)."""
TAIL = 0.025

Reals = NDArray[np.float64]
Figures = dict[str, Any]

_SHARES = np.sin(np.linspace(0.0, np.pi / 2, 201)) ** 2
_MISSES = np.linspace(0.0, 1.0, 2001) ** 2


def kind_of(counts: BurstCounts) -> str:
    """Return which of `KINDS` some bursts are."""
    if counts.n_kept == 0:
        return KINDS[0]
    if counts.n_kept == counts.n_frames:
        return KINDS[1]
    return KINDS[2] if counts.n_bursts_kept == counts.n_bursts else KINDS[3]


def with_unseen_misses(known: KnownRate, limits: Limits) -> Limits:
    """Return the interval with a lower end that lets some bursts be misses of which none was seen.

    Where no burst is a miss, the share of misses has Jeffreys' prior if there are two kinds of bursts, and what is
    known of the rate is that of hits. Bursts of one outing count for fewer, as everywhere.
    """
    if kind_of(known.counts) != KINDS[2]:
        return limits
    counts, alike = known.counts.alone(), known.outing_sameness
    n_alone = 1.0 / ((1.0 - alike) / counts.n_bursts + alike * known.outing_concentration)
    more_misses = _more_misses(round(n_alone, 1))
    # The rate of all bursts is at most x where misses are a share of at least 1 - x over the rate of hits.
    least = 1.0 - _SHARES[:, None] / GRID_RATES[None, :]
    below = np.where(least <= 0.0, 1.0, np.interp(least, _MISSES, more_misses)) @ known.weight
    return Limits(limits.likely, min(limits.low, float(np.interp(TAIL, below, _SHARES))), limits.high)


@lru_cache(maxsize=512)
def _more_misses(n_hits: float) -> Reals:
    """Return the chance of a share of misses of at least each of `_MISSES` after so many bursts, none of them one."""
    seen = float(np.exp(betaln(0.5, n_hits + 0.5) - betaln(0.5, 0.5)))
    two_kinds = TWO_KINDS * seen / (TWO_KINDS * seen + 1.0 - TWO_KINDS)
    return np.asarray(two_kinds * betaincc(0.5, n_hits + 0.5, _MISSES), np.float64)


def kinds_figures(cases: Sequence[Figures], rates: Iterable[float]) -> Figures:
    """Return how often draws were of each kind and the interval of stillwing then held, by the true rate."""
    told: Figures = {}
    for rate in rates:
        some = [case for case in cases if case["rate"] == rate]
        drawn = {kind: sum(case["kinds"][kind][0] for case in some) for kind in KINDS}
        held = {kind: sum(case["kinds"][kind][1] for case in some) for kind in KINDS}
        told[f"{rate:g}"] = {
            kind: {"share": n / sum(drawn.values()), "held": held[kind] / n} for kind, n in drawn.items() if n
        }
    return told


def kinds_table(figures: Figures) -> list[str]:
    """Return the figures as lines of text."""
    lines = ["what the bursts of a draw show, by the true rate: share of the draws, and of those the interval held in"]
    lines.append(f"{'rate':12}" + "".join(f"{kind:>20}" for kind in KINDS))
    for rate, told in figures.items():
        cells = (told.get(kind) for kind in KINDS)
        words = ("-" if each is None else f"{100 * each['share']:.1f}, {100 * each['held']:.1f}" for each in cells)
        lines.append(f"{rate:12}" + "".join(f"{word:>20}" for word in words))
    return lines
