"""Draws from a distribution that is nearly Gaussian, from draws of the Gaussian."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

__all__ = ["sliced"]

Reals = NDArray[np.float64]

SWEEPS = 24
MOST_CUTS = 25
WIDER = 1.3
"""The Gaussian is taken this much wider than its bend says, so that no tail is missed."""


def sliced(
    energy: Callable[[Reals], Reals], middle: Reals, bend: Reals, n_draws: int, rng: np.random.Generator
) -> Reals:
    """Return draws, shape (n_draws, k), of density exp(-energy), each at the end of a chain of its own.

    Parameters
    ----------
    energy : callable
        Of points (m, k), shape (m,).
    middle, bend : ndarray, shape (k,) and (k, k)
        Of the Gaussian that it is like: its middle, and the inverse of its covariance.
    n_draws : int
        Draws.
    rng : numpy.random.Generator
        Their source.

    References
    ----------
    .. [1] R. Nishihara, I. Murray and R. P. Adams, "Parallel MCMC with generalized elliptical slice sampling", J. Mach.
       Learn. Res. 15 (2014) 2087.
    """
    # Columns that turn standard normal values into steps about the middle.
    half = np.linalg.inv(np.linalg.cholesky(bend)) * WIDER

    def height(steps: Reals) -> Reals:
        return np.asarray((steps**2).sum(1) / 2 - energy(middle + steps @ half), np.float64)

    here = rng.standard_normal((n_draws, len(middle))) / WIDER
    level = height(here)
    for _ in range(SWEEPS):
        other = rng.standard_normal(here.shape)
        floor = level + np.log(rng.uniform(size=n_draws))
        angle = rng.uniform(0, 2 * np.pi, n_draws)
        low, high = angle - 2 * np.pi, angle.copy()
        open_ = np.arange(n_draws)
        ahead, reached = here.copy(), level.copy()
        for _ in range(MOST_CUTS):
            a = angle[open_, None]
            tried = here[open_] * np.cos(a) + other[open_] * np.sin(a)
            there = height(tried)
            fits = there > floor[open_]
            ahead[open_[fits]], reached[open_[fits]] = tried[fits], there[fits]
            open_ = open_[~fits]
            if not len(open_):
                break
            below = angle[open_] < 0
            low[open_[below]], high[open_[~below]] = angle[open_[below]], angle[open_[~below]]
            angle[open_] = rng.uniform(low[open_], high[open_])
        here, level = ahead, reached
    return np.asarray(middle + here @ half, np.float64)
