"""How alike the frames of one burst are in being kept, and how alike the bursts of one outing: learned together."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betainc, betaincinv

from stillwing.review.burstcounts import BurstCounts

__all__ = ["FEWEST", "OUTING_SAMENESS", "SAMENESS", "burst_sameness", "known_sameness"]

Reals = NDArray[np.float64]

N_SAMENESS, N_OUTINGS = 24, 8
"""Values of either sameness, each standing for an equal part of its prior."""
N_RATES = 64
"""Points of the grid of an outing's rate."""
N_MIDDLES = 32
"""Points of the grid of the middle rate of all outings."""
N_PART = 32
"""Tables are made for bursts of up to a multiple of so many frames."""
FEWEST = 1e-300
"""No chance is taken as smaller, so that it has a logarithm."""

SAMENESS = ((np.arange(N_SAMENESS) + 0.5) / N_SAMENESS) ** 2
"""Correlation of two frames of one burst beyond what their outing does. Its prior is even in the root, so that frames
much alike are thought a little less likely than with one that is even in itself (a choice, no source)."""
OUTING_SAMENESS = betaincinv(0.5, 4.0, (np.arange(N_OUTINGS) + 0.5) / N_OUTINGS)
"""Correlation of two frames of different bursts of one outing. Its prior is Beta(1/2, 4), with a median of 0.06 and one
in twenty above 0.4: at a rate of 20 % the log-odds of outings then spread by some 0.6 and seldom by 2 (a choice, no
source). It is all that is known where there is one outing."""


def burst_sameness() -> Reals:
    """Return the correlation of two frames of one burst at each sameness of bursts and of outings.

    Returns
    -------
    ndarray, shape (N_SAMENESS, N_OUTINGS)
    """
    return np.asarray(OUTING_SAMENESS + (1.0 - OUTING_SAMENESS) * SAMENESS[:, None], np.float64)


def known_sameness(counts: BurstCounts) -> Reals:
    r"""Return how likely each sameness of bursts and of outings is, adding up to 1.

    Returns
    -------
    ndarray, shape (N_SAMENESS, N_OUTINGS)

    Notes
    -----
    Outings have rates from a beta distribution about a middle one, bursts from one about their outing's, frames are
    kept by their burst's: a beta-binomial model [1]_ within each outing, averaged over the outing's rate. The middle
    rate has Jeffreys' prior. All sums are over a grid.

    References
    ----------
    .. [1] D. A. Williams, "The analysis of binary responses from toxicological experiments involving reproduction and
       teratogenicity", Biometrics 31 (1975) 949-952; from memory.
    """
    size = N_PART * -(-int(counts.frames.max()) // N_PART)
    kept, left, all_ = _logarithms(size)
    log_likelihood = (
        counts.above(counts.kept, size) @ kept
        + counts.above(counts.frames - counts.kept, size) @ left
        - counts.above(counts.frames, size) @ all_
    ).reshape(counts.n_outings, N_RATES, N_SAMENESS)
    best = log_likelihood.max(1, keepdims=True)
    # By outing, sameness of bursts, and middle rate with sameness of outings.
    likelihood = np.exp(log_likelihood - best).transpose(0, 2, 1)
    # One product of matrices: one for each outing costs many times more where other programs keep the threads waiting.
    by_outing = (likelihood.reshape(-1, N_RATES) @ _outing_rates()).reshape(*likelihood.shape[:2], -1)
    evidence = (np.log(np.maximum(by_outing, FEWEST)) + best.transpose(0, 2, 1)).sum(0)
    weight = np.exp(evidence - evidence.max()).reshape(N_SAMENESS, N_MIDDLES, N_OUTINGS).sum(1)
    return np.asarray(weight / weight.sum(), np.float64)


def _rates(n: int) -> Reals:
    # Even in the arcsine of the root, as Jeffreys' prior of a share is.
    return np.asarray(np.sin((np.arange(n) + 0.5) * (np.pi / 2 / n)) ** 2, np.float64)


@lru_cache(maxsize=1)
def _outing_rates() -> Reals:
    """Return how likely each rate of an outing is, shape (N_RATES, N_MIDDLES x N_OUTINGS)."""
    edges = np.sin(np.arange(N_RATES + 1) * (np.pi / 2 / N_RATES)) ** 2
    worth = ((1.0 - OUTING_SAMENESS) / OUTING_SAMENESS)[None, :]
    middle = _rates(N_MIDDLES)[:, None]
    below = betainc((middle * worth)[None], ((1.0 - middle) * worth)[None], edges[:, None, None])
    return np.asarray(np.diff(below, axis=0).reshape(N_RATES, -1), np.float64)


@lru_cache(maxsize=8)
def _logarithms(size: int) -> tuple[Reals, Reals, Reals]:
    """Return the logarithms that the beta-binomial likelihood is a sum of, each of shape (size, rates x samenesses).

    The chance of k of n frames is a product over j of (p + j g), (1 - p + j g) and 1/(1 + j g), g = rho/(1 - rho), but
    for a factor that depends on neither p nor rho (J. G. Skellam, J. R. Stat. Soc. B 10 (1948) 257-261; from memory).
    """
    rate = _rates(N_RATES)[None, :, None]
    step = np.arange(size)[:, None, None] * (SAMENESS / (1.0 - SAMENESS))[None, None, :]
    terms = (
        np.log(rate + step),
        np.log(1.0 - rate + step),
        np.log(np.broadcast_to(1.0 + step, (size, N_RATES, N_SAMENESS))),
    )
    kept, left, all_ = (term.reshape(size, -1) for term in terms)
    return kept, left, all_
