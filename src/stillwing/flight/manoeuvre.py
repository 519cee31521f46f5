"""What a flying animal can do between frames: its acceleration comes and goes, as a Gaussian process over time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["ACCELERATION_LASTS_S", "Manoeuvre", "manoeuvre_at"]

Reals = NDArray[np.float64]

ACCELERATION_LASTS_S = 0.15
"""How long an acceleration lasts, as the time in which its correlation falls to 1/e: a launch accelerates for some
tenths of a second, a hover corrects itself two or three times a second (a choice, no source)."""
QUADRATURE = 32
"""Nodes of Gauss and Legendre's rule for what comes in over a gap: within 1e-9 of a matrix exponential up to two
seconds (tests hold it)."""


@dataclass(frozen=True, eq=False, slots=True)
class Manoeuvre:
    """Prior of places, speeds and accelerations along one axis at n moments, for a typical acceleration of 1.

    ``unit`` (3n, 3n) is their covariance, places first, for one that starts at rest at nothing; ``free`` (3n, 2) what a
    first place and a first speed of 1 give. Any unit of length.
    """

    times_s: Reals
    unit: Reals
    free: Reals

    def covariance(self, acceleration: float, place_sd: float, speed_sd: float, *, places_only: bool = False) -> Reals:
        """Return the covariance for a typical acceleration and spreads of the first place and speed.

        Its shape is (3n, 3n), or (n, n) of the places alone.
        """
        wanted = len(self) if places_only else 3 * len(self)
        drifting = self.free[:wanted] * np.array([place_sd, speed_sd])
        return np.asarray(acceleration**2 * self.unit[:wanted, :wanted] + drifting @ drifting.T, np.float64)

    def seen_through(self, sums: Reals, acceleration: float, place_sd: float, speed_sd: float) -> Reals:
        """Return the covariance of sums (k, 3n) of places, speeds and accelerations, shape (k, k).

        Where the sums take most of the first place and speed out again, this keeps more digits than ``covariance``.
        """
        drifting = sums @ self.free * np.array([place_sd, speed_sd])
        return np.asarray(acceleration**2 * (sums @ self.unit @ sums.T) + drifting @ drifting.T, np.float64)

    def __len__(self) -> int:
        return len(self.times_s)


def manoeuvre_at(times_s: Reals, lasts_s: float = ACCELERATION_LASTS_S) -> Manoeuvre:
    r"""Return the prior at moments in rising order, shape (n,).

    Parameters
    ----------
    times_s : ndarray, shape (n,)
        Moments, no two alike. [s]
    lasts_s : float
        Time in which the acceleration's correlation falls to 1/e. [s]

    Notes
    -----
    The acceleration has a typical size and decays,
    :math:`\mathrm{E}[a(t) a(t + \Delta)] = \sigma^2 e^{-\Delta/\tau}` [1]_; what a step adds to the covariance is an
    integral over the moments at which an acceleration sets in.

    References
    ----------
    .. [1] R. A. Singer, "Estimating optimal tracking filter performance for manned maneuvering targets", IEEE Trans.
       Aerosp. Electron. Syst. 6 (1970) 473.
    """
    n = len(times_s)
    spread = np.zeros((n, 3, 3))
    spread[0, 2, 2] = 1.0
    gaps = np.diff(times_s)
    for k, (step, noise) in enumerate(zip(_carried(gaps, lasts_s), _added(gaps, lasts_s), strict=True), start=1):
        spread[k] = step @ spread[k - 1] @ step.T + noise
    lag = times_s[None, :] - times_s[:, None]
    # Of a later state with an earlier one: what the earlier one carries on.
    later = spread[:, None] @ np.swapaxes(_carried(np.maximum(lag, 0.0), lasts_s), -1, -2)
    blocks = np.where((lag >= 0)[..., None, None], later, np.swapaxes(np.swapaxes(later, 0, 1), -1, -2))
    since = times_s - times_s[0]
    free = np.zeros((3 * n, 2))
    free[:n, 0], free[:n, 1], free[n : 2 * n, 1] = 1.0, since, 1.0
    return Manoeuvre(times_s, _flat(blocks), free)


def _flat(blocks: Reals) -> Reals:
    """Return blocks (n, n, 3, 3) as one matrix (3n, 3n), places first, then speeds, then accelerations."""
    n = len(blocks)
    return np.asarray(blocks.transpose(2, 0, 3, 1).reshape(3 * n, 3 * n), np.float64)


def _carried(gap: Reals, lasts_s: float) -> Reals:
    """Return how place, speed and acceleration go on over gaps of any shape (...), shape (..., 3, 3)."""
    out = np.zeros((*gap.shape, 3, 3))
    kept = np.exp(-gap / lasts_s)
    out[..., 0, 0] = out[..., 1, 1] = 1.0
    out[..., 0, 1] = gap
    out[..., 0, 2] = lasts_s * (gap + lasts_s * np.expm1(-gap / lasts_s))
    out[..., 1, 2] = lasts_s * (1 - kept)
    out[..., 2, 2] = kept
    return out


def _added(gaps: Reals, lasts_s: float) -> Reals:
    """Return the covariance that new accelerations of a typical size of 1 add over gaps (k,), shape (k, 3, 3)."""
    nodes, weights = np.polynomial.legendre.leggauss(QUADRATURE)
    since = gaps[:, None] * (1 + nodes) / 2
    pushed = _carried(since, lasts_s)[..., 2] * np.sqrt(2 / lasts_s)
    return np.asarray(np.einsum("kq,kqi,kqj->kij", gaps[:, None] * weights / 2, pushed, pushed), np.float64)
