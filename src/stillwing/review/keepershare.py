"""How much of the sharpness that the optics allow one's own bursts had, bursts of one outing being alike."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc

from stillwing.plan.ownshare import OwnShare
from stillwing.review.sameness import OUTING_SAMENESS

__all__ = ["HeldBurst", "own_share"]

Reals = NDArray[np.float64]

MOST = 1.25
"""No share is above it: the chain reckons with a practised hand already (a choice, no source)."""
N_GRID = 160
EDGES = MOST * np.sin(np.arange(N_GRID + 1) * (np.pi / 2 / N_GRID)) ** 2
SHARES = MOST * np.sin((np.arange(N_GRID) + 0.5) * (np.pi / 2 / N_GRID)) ** 2
"""Middles of the grid's parts, even in the arcsine of the root as those of a rate are."""
WORSE, BETTER = 0.22, 0.05
"""Before any burst is seen the share is as likely below 1 as above it, in logarithms exponential to either side with
these means: few bursts hardly move it from 1, many move it as far as they tell (a choice, no source)."""
SUREST = 0.995
"""However good the chances, a burst can fail."""
TAIL = 0.025
FEWEST = 1e-300


@dataclass(frozen=True, slots=True)
class HeldBurst:
    """One burst held against the chain."""

    outing: str
    expected: float
    """Chance of at least one sharp frame, as `stillwing.plan.takenchance` reckons it."""
    has_sharp: bool
    """Whether any of its frames would do."""


def own_share(bursts: Sequence[HeldBurst], n_left_out: int = 0) -> OwnShare | None:
    r"""Return what bursts teach of one's own share; ``None`` where there is none.

    Parameters
    ----------
    bursts : sequence of HeldBurst
        In any order.
    n_left_out : int, default 0
        Bursts that could not be held against the chain, to be told.

    Notes
    -----
    On outing g a burst that is expected with :math:`e` has a sharp frame with :math:`\min(f_g e, 0.995)`. Shares of
    outings are from a beta distribution between 0 and `MOST` with mean :math:`f`; how alike bursts of one outing are
    thereby has the prior of `sameness.OUTING_SAMENESS`, and is learned. All is summed over a grid. The likely share is
    the median of what is then known.

    Examples
    --------
    >>> bursts = [HeldBurst(f"outing {at % 10}", 0.95, at % 3 > 0) for at in range(210)]
    >>> told = own_share(bursts)
    >>> round(told.likely, 1), told.low < 0.7 < told.high, told.n_outings
    (0.7, True, 10)
    """
    outings: dict[str, list[HeldBurst]] = defaultdict(list)
    for burst in bursts:
        outings[burst.outing].append(burst)
    if not outings:
        return None
    reach = _reach()
    logs = np.zeros(reach.shape[:2])
    for within in outings.values():
        likelihood = _log_likelihood(within)
        best = likelihood.max()
        logs += np.log(np.maximum(reach @ np.exp(likelihood - best), FEWEST)) + best
    known = np.exp(logs - logs.max()).sum(0) * _prior()
    below = np.append(0.0, np.cumsum(known / known.sum()))
    low, likely, high = np.interp([TAIL, 0.5, 1.0 - TAIL], below, EDGES).tolist()
    return OwnShare(likely, low, high, len(bursts), len(outings), n_left_out)


def _prior() -> Reals:
    worse = np.minimum(EDGES, 1.0) ** (1.0 / WORSE)
    better = np.maximum(EDGES, 1.0) ** (-1.0 / BETTER)
    return np.asarray(np.diff(np.where(EDGES < 1.0, worse / 2, 1.0 - better / 2)), np.float64)


@lru_cache(maxsize=1)
def _reach() -> Reals:
    """Return how likely an outing has each share, by sameness and mean share, shape (samenesses, n, n)."""
    worth = ((1.0 - OUTING_SAMENESS) / OUTING_SAMENESS)[:, None, None]
    middle = (SHARES / MOST)[None, :, None]
    below = betainc(middle * worth, (1.0 - middle) * worth, (EDGES / MOST)[None, None, :])
    return np.asarray(np.diff(below, axis=-1), np.float64)


def _log_likelihood(bursts: Sequence[HeldBurst]) -> Reals:
    expected = np.array([burst.expected for burst in bursts])
    has_sharp = np.array([burst.has_sharp for burst in bursts])
    chance = np.clip(SHARES[:, None] * expected[None, :], 1e-9, SUREST)
    return np.asarray(np.log(np.where(has_sharp[None, :], chance, 1.0 - chance)).sum(1), np.float64)
