"""How an animal turns in the wind: hovering and perched ones face it, so wind and bearing decide which side shows."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr

from stillwing.optics.reals import within
from stillwing.place.bearings import turn

__all__ = ["Facing", "Shown", "across_share", "facing_wind", "share_shown", "shown"]

STEADIEST_DEG = 0.01
"""A spread below this is none, and would divide by nothing."""


class Shown(StrEnum):
    """What an animal shows of itself, from head on to tail on."""

    FACE = "face"
    FRONT_QUARTER = "front quarter"
    FLANK = "flank"
    BACK_QUARTER = "back quarter"
    TAIL = "tail"


BOUNDS_DEG = {
    Shown.FACE: (0.0, 20.0),
    Shown.FRONT_QUARTER: (20.0, 70.0),
    Shown.FLANK: (70.0, 110.0),
    Shown.BACK_QUARTER: (110.0, 160.0),
    Shown.TAIL: (160.0, 180.0),
}
"""How far the head may be turned from you for each; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Facing:
    """An animal that faces the wind, against your line of sight; arrays of one shape, NaN where an angle is."""

    heading_deg: NDArray[np.float64]
    """Where its head points, 0 to below 360: where the wind comes from."""
    turned_deg: NDArray[np.float64]
    """How far the head is turned from you, -180 to 180: 0 looks at you, 180 away; positive shows you its left side."""


def facing_wind(wind_from_deg: ArrayLike, bearing_deg: ArrayLike) -> Facing:
    """Return how an animal that faces the wind stands to your line of sight.

    Parameters
    ----------
    wind_from_deg : array_like, shape (...)
        Where the wind comes from, as weather reports have it. [deg]
    bearing_deg : array_like, shape (...)
        From you to the animal. [deg]

    Returns
    -------
    Facing
        Shape of both broadcast together.

    Examples
    --------
    >>> float(facing_wind(180, 0).turned_deg)      # you look north, the wind is at your back
    0.0
    """
    wind, bearing = np.broadcast_arrays(np.asarray(wind_from_deg, np.float64), np.asarray(bearing_deg, np.float64))
    return Facing(wind % 360.0, turn(bearing + 180.0, wind))


def shown(turned_deg: float) -> Shown:
    """Return what an animal shows whose head is turned so far from you, -180 to 180.

    Raises
    ------
    OutsideModel
        If the angle is beyond half a turn.

    Examples
    --------
    >>> str(shown(-45))
    'front quarter'
    """
    away = float(abs(within("turned_deg", turned_deg, -180.0, 180.0, "deg")))
    return next(side for side, (_, upper) in BOUNDS_DEG.items() if away < upper or side is Shown.TAIL)


def share_shown(turned_deg: ArrayLike, spread_deg: ArrayLike, side: Shown) -> NDArray[np.float64]:
    """Return the share of the time that an animal shows a side, as wind and animal swing about, shape (...).

    Parameters
    ----------
    turned_deg : array_like, shape (...)
        Its mean, as in `Facing`. [deg]
    spread_deg : array_like, shape (...)
        Standard deviation about it: small for a hover in a steady wind, 90 and more where no wind turns it. [deg]
    side : Shown

    Returns
    -------
    ndarray, shape (...)
        0 to 1; NaN where an angle is. Over all sides it adds up to 1.

    Raises
    ------
    OutsideModel
        If the spread is not 0 to 720.

    Notes
    -----
    A normal distribution wrapped round the circle; three turns to either side hold all of it.
    """
    mean = np.asarray(turned_deg, np.float64)
    spread = np.maximum(within("spread_deg", spread_deg, 0.0, 720.0, "deg"), STEADIEST_DEG)
    low, high = BOUNDS_DEG[side]
    share = np.zeros(np.broadcast_shapes(mean.shape, spread.shape))
    for whole_turn in range(-7, 8):
        for start, end in ((low, high), (-high, -low)):
            at = 360.0 * whole_turn - mean
            share = share + ndtr((end + at) / spread) - ndtr((start + at) / spread)
    return np.asarray(np.clip(share, 0.0, 1.0), np.float64)


def across_share(turned_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the share of the animal's speed, flying where it faces, that goes across your line of sight, shape (...).

    Take-offs from a perch go into the wind; one that goes across stays in the focal plane.

    Examples
    --------
    >>> float(across_share(90)), round(float(across_share(0)), 6)
    (1.0, 0.0)
    """
    return np.asarray(np.abs(np.sin(np.radians(np.asarray(turned_deg, np.float64)))), np.float64)
