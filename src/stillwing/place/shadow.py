"""Your own shadow: where it falls, and whether it touches the animal or the perch."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError
from stillwing.optics.reals import not_negative, positive
from stillwing.place.bearings import towards

__all__ = ["Person", "ShadowAt", "Target", "shadow_at", "shadow_corners", "shadow_length"]


@dataclass(frozen=True, slots=True)
class Person:
    """The photographer, as wide from every side; common practice, no source."""

    height_m: float = 1.8
    """With a hat; a lens held up counts too."""
    width_m: float = 0.6

    def __post_init__(self) -> None:
        """Refuse who is nobody.

        Raises
        ------
        InputError
            If a measure is not more than 0, up to 3 m.
        """
        for name in ("height_m", "width_m"):
            if not 0 < getattr(self, name) <= 3:
                raise InputError(
                    f"{name} of the photographer is {getattr(self, name):g} m; it must be above 0, up to 3 m"
                )


@dataclass(frozen=True, slots=True)
class Target:
    """What the shadow must not touch, seen from the stand; arrays are broadcast together."""

    distance_m: ArrayLike
    """Over the ground."""
    bearing_deg: ArrayLike
    above_water_m: ArrayLike = 0.5
    """Of its middle."""
    radius_m: ArrayLike = 0.05
    """Of a ball round it: half a large dragonfly's wing span."""


@dataclass(frozen=True, slots=True)
class ShadowAt:
    """Your shadow where the animal is; arrays of one shape."""

    touches: NDArray[np.bool_]
    """The shadow falls on the animal; never where the sun is down or its place is NaN."""
    beside_m: NDArray[np.float64]
    """From the shadow's middle line to the animal, across the sunlight; right of it, looking along the light, is
    positive."""
    top_m: NDArray[np.float64]
    """Height above the water that the shadow reaches up to, where it passes nearest; NaN where it points away."""


def shadow_length(height_m: ArrayLike, sun_altitude_deg: ArrayLike, drop_m: ArrayLike = 0.0) -> NDArray[np.float64]:
    """Return how far the tip of a shadow lies from the foot, over level ground, shape (...). [m]

    Parameters
    ----------
    height_m : array_like, shape (...)
        Of what throws it. [m]
    sun_altitude_deg : array_like, shape (...)
        As seen. [deg]
    drop_m : array_like, default 0
        By how much the ground or water that it falls on lies lower than the foot. [m]

    Returns
    -------
    ndarray, shape (...)
        Inf where the sun is on the horizon, NaN where it is below.

    Raises
    ------
    OutsideModel
        If the height or the drop is negative.

    Examples
    --------
    >>> round(float(shadow_length(1.8, 45, 0.5)), 6)
    2.3
    """
    height = not_negative("height_m", height_m, "m") + not_negative("drop_m", drop_m, "m")
    altitude = np.asarray(sun_altitude_deg, np.float64)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(altitude >= 0, height / np.tan(np.radians(altitude)), np.nan), np.float64)


def shadow_at(
    target: Target,
    sun_altitude_deg: ArrayLike,
    sun_azimuth_deg: ArrayLike,
    person: Person | None = None,
    above_water_m: ArrayLike = 0.3,
) -> ShadowAt:
    r"""Return your shadow where an animal or a perch is.

    Parameters
    ----------
    target : Target
        The animal or perch.
    sun_altitude_deg, sun_azimuth_deg : array_like, shape (...)
        As seen. [deg]
    person : Person, optional
    above_water_m : array_like, default 0.3
        Height of the ground that you stand on. [m]

    Returns
    -------
    ShadowAt
        Shape of all broadcast together.

    Raises
    ------
    OutsideModel
        If a distance is not positive or a radius negative.

    Notes
    -----
    The body is taken as an upright board square to the sun. The ray from the target to the sun passes its middle at a
    distance :math:`D \sin(b + 180° - A)` to the side, after :math:`u = D \cos(b + 180° - A)` over the ground, and
    there it is :math:`u \tan a` higher than the target. A ball of radius r is touched up to r beside the shadow, and up
    to :math:`r / \cos a` above its slanting edge. Edges are taken as sharp: at 3 m the sun smears them over 3 cm.
    """
    person = person or Person()
    distance = positive("distance_m", target.distance_m, "m")
    radius = not_negative("radius_m", target.radius_m, "m")
    back = np.radians(np.asarray(target.bearing_deg, np.float64) + 180.0 - np.asarray(sun_azimuth_deg, np.float64))
    beside, along = distance * np.sin(back), distance * np.cos(back)
    altitude = np.asarray(sun_altitude_deg, np.float64)
    feet, up = np.asarray(above_water_m, np.float64), np.asarray(target.above_water_m, np.float64)
    with np.errstate(invalid="ignore"):
        fall = along * np.tan(np.radians(altitude))
        top, bottom = feet + person.height_m - fall, feet - fall
        margin = radius / np.cos(np.radians(altitude))
        lit = (altitude > 0) & (along > 0)
        touches = lit & (np.abs(beside) <= person.width_m / 2 + radius) & (up - margin <= top) & (up + margin >= bottom)
    shape = np.broadcast_shapes(touches.shape, beside.shape, top.shape)
    return ShadowAt(*(np.broadcast_to(values, shape) for values in (touches, beside, np.where(lit, top, np.nan))))


def shadow_corners(
    sun_altitude_deg: ArrayLike,
    sun_azimuth_deg: ArrayLike,
    person: Person | None = None,
    above_water_m: float = 0.3,
) -> NDArray[np.float64]:
    """Return the corners of your shadow on the level of the water, shape (..., 4, 2): east, north of your feet. [m]

    Feet left, head left, head right, feet right, looking along the shadow. NaN where the sun is not above the horizon.

    Parameters
    ----------
    sun_altitude_deg, sun_azimuth_deg : array_like, shape (...)
        As seen. [deg]
    person : Person, optional
    above_water_m : float, default 0.3
        Height of the ground that you stand on; where the bank is, the shadow lies higher and shorter. [m]
    """
    person = person or Person()
    altitude, azimuth = np.broadcast_arrays(
        np.asarray(sun_altitude_deg, np.float64), np.asarray(sun_azimuth_deg, np.float64)
    )
    risen = np.where(altitude > 0, altitude, np.nan)
    along, right = towards(azimuth + 180.0), towards(azimuth + 270.0) * person.width_m / 2
    near = shadow_length(0.0, risen, above_water_m)[..., None] * along
    far = shadow_length(person.height_m, risen, above_water_m)[..., None] * along
    return np.stack([near - right, far - right, far + right, near + right], axis=-2)
