"""Which side the sun lights: how far it stands off your shoulder, and how near your line of sight."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.place.bearings import turn
from stillwing.sky.sun import angle_between, direction

__all__ = ["LightSide", "SunSide", "light_side", "sun_side"]

FRONT_BELOW_DEG, BACK_ABOVE_DEG = 60.0, 120.0
"""Front, side and back light share the half turn evenly; common practice, no source."""
DANGER_WITHIN_DEG = 20.0
"""Of the line of sight: a lens that follows a bird swings so far in a moment; common practice, no source."""
RISEN_ABOVE_DEG = -0.27
"""Of the sun's middle, as seen: then its upper edge shows."""


class LightSide(StrEnum):
    """From where the sun lights what you look at."""

    FRONT = "front"
    SIDE = "side"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class SunSide:
    """The sun against a line of sight; arrays of one shape, NaN where the sun's place is."""

    off_shoulder_deg: NDArray[np.float64]
    """Between the sun's bearing and straight behind you: 0 from behind, 180 in your face; its height left out."""
    on_your_right: NDArray[np.bool_]
    """The sun stands to the right of where you look."""
    light_angle_deg: NDArray[np.float64]
    """Between the sun and you, seen from the animal: 0 front light, 90 side light, 180 back light."""
    to_sun_deg: NDArray[np.float64]
    """Between the line of sight and the sun."""
    is_dangerous: NDArray[np.bool_]
    """The sun is up and so near the line of sight that eyes and sensor are at risk."""


def sun_side(
    sun_altitude_deg: ArrayLike, sun_azimuth_deg: ArrayLike, bearing_deg: ArrayLike, elevation_deg: ArrayLike = 0.0
) -> SunSide:
    """Return how the sun stands to a line of sight.

    Parameters
    ----------
    sun_altitude_deg, sun_azimuth_deg : array_like, shape (...)
        As seen: with refraction. [deg]
    bearing_deg, elevation_deg : array_like, shape (...)
        Where you look; up is positive. [deg]

    Returns
    -------
    SunSide
        Shape of all broadcast together.
    """
    altitude, azimuth, bearing, elevation = np.broadcast_arrays(
        *(np.asarray(a, np.float64) for a in (sun_altitude_deg, sun_azimuth_deg, bearing_deg, elevation_deg))
    )
    across = turn(bearing, azimuth)
    to_sun = angle_between(direction(altitude, azimuth), direction(elevation, bearing))
    with np.errstate(invalid="ignore"):
        return SunSide(
            180.0 - np.abs(across),
            np.asarray(across > 0),
            180.0 - to_sun,
            to_sun,
            np.asarray((to_sun < DANGER_WITHIN_DEG) & (altitude > RISEN_ABOVE_DEG)),
        )


def light_side(light_angle_deg: float) -> LightSide:
    """Return the name of an angle between sun and camera, seen from the animal: front below 60, back above 120.

    Examples
    --------
    >>> [str(light_side(angle)) for angle in (20, 90, 170)]
    ['front', 'side', 'back']
    """
    if light_angle_deg < FRONT_BELOW_DEG:
        return LightSide.FRONT
    return LightSide.BACK if light_angle_deg > BACK_ABOVE_DEG else LightSide.SIDE
