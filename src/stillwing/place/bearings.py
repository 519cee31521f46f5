"""Bearings: angles from true north through east, and what people call them."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["bearing_between", "compass_name", "towards", "turn"]

COMPASS_NAMES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def turn(from_deg: ArrayLike, to_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the shorter way round from one bearing to another, shape (...): -180 to 180, to the right positive. [deg]

    Examples
    --------
    >>> float(turn(350, 10)), float(turn(10, 350)), float(turn(0, 180))
    (20.0, -20.0, 180.0)
    """
    way = np.asarray(to_deg, np.float64) - np.asarray(from_deg, np.float64)
    return np.asarray(180.0 - (180.0 - way) % 360.0, np.float64)


def towards(bearing_deg: ArrayLike) -> NDArray[np.float64]:
    """Return unit vectors east, north, shape (..., 2).

    Examples
    --------
    >>> [float(x) for x in towards(90).round(6)]
    [1.0, 0.0]
    """
    angle = np.radians(np.asarray(bearing_deg, np.float64))
    return np.stack([np.sin(angle), np.cos(angle)], axis=-1)


def bearing_between(start_m: ArrayLike, end_m: ArrayLike) -> NDArray[np.float64]:
    """Return the bearing of one point of the plane from another, shape (...): 0 to below 360. [deg]

    Parameters
    ----------
    start_m, end_m : array_like, shape (..., 2)
        East and north. [m]

    Examples
    --------
    >>> float(bearing_between((0, 0), (-5, 0)))
    270.0
    """
    way = np.asarray(end_m, np.float64) - np.asarray(start_m, np.float64)
    bearing = np.degrees(np.arctan2(way[..., 0], way[..., 1])) % 360.0
    # A trace west of north rounds up to 360 itself.
    return np.asarray(np.where(bearing >= 360.0, 0.0, bearing), np.float64)


def compass_name(bearing_deg: float) -> str:
    """Return the nearest of the eight points of the compass.

    Examples
    --------
    >>> compass_name(350), compass_name(120)
    ('north', 'south-east')
    """
    return COMPASS_NAMES[int(np.floor((bearing_deg % 360.0) / 45.0 + 0.5)) % 8]
