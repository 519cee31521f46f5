"""Point spreads as covariances: what blurs a picture adds up as variances, and one figure comes out."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "MOSAIC_VARIANCE",
    "PIXEL_VARIANCE",
    "Ellipse",
    "axes",
    "blur_of",
    "disc_variance",
    "line_covariance",
    "path_covariance",
]

PIXEL_VARIANCE = 1 / 12
"""Of a square pixel along either axis. [px^2]"""
MOSAIC_VARIANCE = 0.04
"""What interpolating a colour mosaic adds per axis; measured on slanted edges (tests/scene/test_blurtruth). [px^2]"""


class Ellipse(NamedTuple):
    """Axes of a spread as standard deviations, and the direction of the major one, 0 to 180 from x towards +y. [deg]"""

    minor: float
    major: float
    direction_deg: float


def disc_variance(diameter: ArrayLike) -> NDArray[np.float64]:
    """Return the variance along either axis of a uniform disc: (c/4)^2.

    Examples
    --------
    >>> float(disc_variance(4.0))
    1.0
    """
    return np.asarray(np.asarray(diameter, np.float64) ** 2 / 16, np.float64)


def line_covariance(dx: float, dy: float) -> NDArray[np.float64]:
    """Return the covariance of a point that moves evenly along (dx, dy): L^2 / 12 along the line, nothing across."""
    step = np.array([dx, dy], np.float64)
    return np.asarray(np.outer(step, step) / 12, np.float64)


def path_covariance(path: ArrayLike) -> NDArray[np.float64]:
    """Return the covariance, shape (2, 2), of a point on ``path``, shape (n, 2), n >= 2, each step taking as long.

    Each step counts as a straight line, so that two points give `line_covariance`.
    """
    points = np.asarray(path, np.float64)
    steps = np.diff(points, axis=0)
    middles = (points[1:] + points[:-1]) / 2
    away = middles - middles.mean(0)
    return np.asarray((away.T @ away + steps.T @ steps / 12) / len(steps), np.float64)


def axes(covariance: ArrayLike) -> Ellipse:
    """Return minor and major standard deviation and direction of a covariance, shape (2, 2).

    Examples
    --------
    >>> axes([[1.0, 0.0], [0.0, 4.0]])
    Ellipse(minor=1.0, major=2.0, direction_deg=90.0)
    """
    values, vectors = np.linalg.eigh(np.asarray(covariance, np.float64))
    minor, major = (float(np.sqrt(max(value, 0.0))) for value in values)
    along = vectors[:, 1]
    return Ellipse(minor, major, float(np.degrees(np.arctan2(along[1], along[0])) % 180.0))


def blur_of(covariance: ArrayLike) -> float:
    """Return the standard deviation of the round Gaussian of the same variance: sqrt((minor^2 + major^2) / 2)."""
    return float(np.sqrt(np.trace(np.asarray(covariance, np.float64)) / 2))
