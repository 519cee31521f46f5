"""One axis of a whole burst at once: place, speed and acceleration in every frame, from places that err."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from stillwing.flight.manoeuvre import Manoeuvre

__all__ = ["ACCELERATIONS_MM_S2", "Axis", "Observed", "gaussian", "smoothed"]

Reals = NDArray[np.float64]

ACCELERATIONS_MM_S2 = np.geomspace(50.0, 60_000.0, 11)
"""Typical accelerations that are tried, from what hardly moves to 6 g; each is as likely as the next at first."""
ERROR_FACTORS = np.array([0.5, 0.71, 1.0, 1.41, 2.0, 2.83])
"""By which the stated errors may be wrong."""
ERROR_DOUBT = 0.4
"""How far they are thought to be wrong, as a standard deviation of the factor's logarithm (a choice, no source)."""
FIRST_PLACE_ERRORS, FIRST_SPEED_MM_S = 100.0, 2e4
"""Spread of what nothing is known of before the first frame: the place in errors of that frame's own place."""
SHOCK = 4.0
"""An error so many of its own standard deviations large is gross, and counts for no more than its size."""
MOST_SHOCKS = 0.25
"""No more than this share of the frames is doubted."""
ROUNDED = (1e-10, 1e-8, 1e-6, 1e-4)
"""Share of a variance by which rounding may have spoilt a covariance."""

PLACE_ROUNDED = 1e-13
"""The same of the largest variance among the places: after some seconds a fast animal may be hundreds of metres off."""


@dataclass(frozen=True, eq=False, slots=True)
class Observed:
    """Places along one axis, shape (n,), with their errors. [mm]

    ``own_sd`` (n,) are errors of each place alone; ``step_sd`` (n - 1,) those of the steps of which the places are a
    sum, which all later ones share. ``open_mm2`` (n, n) is the covariance of what is not known at all.
    """

    places: Reals
    own_sd: Reals
    step_sd: Reals
    open_mm2: Reals

    @property
    def first_sd(self) -> float:
        """Spread of the first place about where it was observed, before anything is known. [mm]"""
        return FIRST_PLACE_ERRORS * float(self.own_sd[0])

    def causes(self) -> Reals:
        """Return what an error of 1 of each cause does to the places, shape (n, 2n - 1): own ones, then the steps."""
        n = len(self.places)
        return np.hstack([np.eye(n), np.tril(np.ones((n, n)), -1)[:, : n - 1]])


@dataclass(frozen=True, eq=False, slots=True)
class Axis:
    """Draws of what happened along one axis, each of shape (n_draws, n). [mm, mm/s, mm/s2]"""

    place: Reals
    speed: Reals
    acceleration: Reals
    typical_mm_s2: Reals
    """The typical acceleration of each draw, (n_draws,)."""
    doubted: NDArray[np.bool_]
    """Frames whose place, or whose step from the frame before, was taken for a gross error, (n,)."""


def smoothed(manoeuvre: Manoeuvre, observed: Observed, n_draws: int, rng: np.random.Generator) -> Axis:
    """Return draws of places, speeds and accelerations given all observed places together.

    Parameters
    ----------
    manoeuvre : Manoeuvre
        What the animal can do, at the n moments.
    observed : Observed
        At the same moments.
    n_draws : int
        Draws; how restless the animal is and how large errors are differs between them, as the burst leaves it open.
    rng : numpy.random.Generator
        Their source.

    Notes
    -----
    Given acceleration and errors all is Gaussian, so that the draws are exact. Gross errors are found one after another
    as the largest auxiliary residual [1]_, the cause's estimate over its own error, and widened to their own size.

    References
    ----------
    .. [1] P. de Jong and J. Penzer, "Diagnosing shocks in time series", J. Am. Stat. Assoc. 93 (1998) 796.
    """
    wide = np.concatenate([observed.own_sd, observed.step_sd]) ** 2
    causes = observed.causes()
    start = observed.places - observed.places[0]
    n = len(start)
    extra = np.zeros_like(wide)
    gross = observed.open_mm2
    logs = _evidence(manoeuvre, observed, _noise(causes, wide), gross)
    for _ in range(int(MOST_SHOCKS * n)):
        typical, factor = _best(logs)
        covariance = manoeuvre.covariance(typical, observed.first_sd, FIRST_SPEED_MM_S, places_only=True)
        whole = covariance + factor**2 * _noise(causes, wide) + gross
        pull, hold = causes.T @ np.linalg.solve(whole, start), np.sum(causes * np.linalg.solve(whole, causes), axis=0)
        size = pull / np.sqrt(np.maximum(hold, 1e-300))
        worst = int(np.argmax(np.abs(size)))
        if abs(size[worst]) <= SHOCK:
            break
        extra[worst] += (pull[worst] / hold[worst]) ** 2
        gross = observed.open_mm2 + _noise(causes, extra)
        logs = _evidence(manoeuvre, observed, _noise(causes, wide), gross)
    doubted = extra[:n] > 0
    doubted[1:] |= extra[n:] > 0
    return _drawn(manoeuvre, observed, (_noise(causes, wide), gross), logs, (n_draws, rng), doubted)


def _noise(causes: Reals, variances: Reals) -> Reals:
    return np.asarray((causes * variances) @ causes.T, np.float64)


def _evidence(manoeuvre: Manoeuvre, observed: Observed, plain: Reals, gross: Reals) -> Reals:
    """Return the log chance of the places for each acceleration and factor on the errors, prior included."""
    out = np.empty((len(ACCELERATIONS_MM_S2), len(ERROR_FACTORS)))
    start = observed.places - observed.places[0]
    for i, typical in enumerate(ACCELERATIONS_MM_S2):
        covariance = manoeuvre.covariance(float(typical), observed.first_sd, FIRST_SPEED_MM_S, places_only=True) + gross
        lower = _lower(covariance + ERROR_FACTORS[:, None, None] ** 2 * plain)
        left = np.stack([solve_triangular(one, start, lower=True, check_finite=False) for one in lower])
        out[i] = -0.5 * (left**2).sum(1) - np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(1)
    return np.asarray(out - (np.log(ERROR_FACTORS) / ERROR_DOUBT) ** 2 / 2, np.float64)


def _lower(covariances: Reals) -> Reals:
    """Return Cholesky factors of proper covariances (m, n, n), which rounding may have spoilt in long bursts."""
    try:
        return np.asarray(np.linalg.cholesky(covariances), np.float64)
    except np.linalg.LinAlgError:
        largest = np.max(np.diagonal(covariances, axis1=1, axis2=2), axis=1)
        rounded = PLACE_ROUNDED * largest[:, None, None] * np.eye(covariances.shape[1])
        return np.asarray(np.linalg.cholesky(covariances + rounded), np.float64)


def _best(logs: Reals) -> tuple[float, float]:
    i, j = np.unravel_index(int(np.argmax(logs)), logs.shape)
    return float(ACCELERATIONS_MM_S2[i]), float(ERROR_FACTORS[j])


def _drawn(
    manoeuvre: Manoeuvre,
    observed: Observed,
    errors: tuple[Reals, Reals],
    logs: Reals,
    wanted: tuple[int, np.random.Generator],
    doubted: NDArray[np.bool_],
) -> Axis:
    (plain, gross), (n_draws, rng) = errors, wanted
    n = len(observed.places)
    chances = np.exp(logs - logs.max()).ravel()
    counts = rng.multinomial(n_draws, chances / chances.sum())
    parts, typicals = [], []
    for cell in np.flatnonzero(counts):
        i, j = np.unravel_index(int(cell), logs.shape)
        typical, factor = float(ACCELERATIONS_MM_S2[i]), float(ERROR_FACTORS[j])
        prior = manoeuvre.covariance(typical, observed.first_sd, FIRST_SPEED_MM_S)
        noise = factor**2 * plain + gross
        gain = np.linalg.solve(prior[:n, :n] + noise, prior[:n]).T
        mean = gain @ (observed.places - observed.places[0])
        # Joseph's form: what is subtracted from the prior would leave more rounding than there is to know.
        left = np.eye(3 * n)
        left[:, :n] -= gain
        spread = manoeuvre.seen_through(left, typical, observed.first_sd, FIRST_SPEED_MM_S) + gain @ noise @ gain.T
        parts.append(mean + gaussian(spread, int(counts[cell]), rng))
        typicals.append(np.full(int(counts[cell]), typical))
    state = np.concatenate(parts)
    # Neighbours come from one cell: mixed, so that two axes do not go together.
    order = rng.permutation(n_draws)
    state = state[order]
    place = state[:, :n] + observed.places[0]
    return Axis(place, state[:, n : 2 * n], state[:, 2 * n :], np.concatenate(typicals)[order], doubted)


def gaussian(covariance: Reals, n_draws: int, rng: np.random.Generator) -> Reals:
    """Return draws, shape (n_draws, k), of mean nothing, from a covariance that rounding may have spoilt a little."""
    scale = np.sqrt(np.maximum(np.diag(covariance), 1e-300))
    alike = (covariance + covariance.T) / 2 / np.outer(scale, scale)
    # Cholesky with a little added, not the eigenvectors: those took a hundred times as long where cores were busy.
    for added in ROUNDED:
        try:
            lower = np.linalg.cholesky(alike + added * np.eye(len(scale)))
        except np.linalg.LinAlgError:
            continue
        return np.asarray((rng.standard_normal((n_draws, len(scale))) @ lower.T) * scale, np.float64)
    raise np.linalg.LinAlgError("a covariance of the flight is improper by more than rounding")
