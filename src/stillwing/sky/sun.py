"""Where the sun stands."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pvlib import spa

from stillwing.sky.instants import Instants, unix_seconds
from stillwing.sky.observer import DELTA_T_S, Observer

__all__ = ["HORIZON_REFRACTION_DEG", "SunPosition", "angle_between", "direction", "sun_position"]

HORIZON_REFRACTION_DEG = 0.5667
"""How far the air lifts a body on the horizon: 34' (Reda and Andreas 2004; the Nautical Almanac's figure)."""


@dataclass(frozen=True, slots=True)
class SunPosition:
    """Where the sun's centre stands, seen from the ground; arrays of the shape of the instants."""

    altitude_deg: NDArray[np.float64]
    """Above the horizon, without the air: what geometry needs."""
    apparent_altitude_deg: NDArray[np.float64]
    """Above the horizon as seen through the air; the same as ``altitude_deg`` where the sun is below it."""
    azimuth_deg: NDArray[np.float64]
    """From true north through east, 0 to 360."""
    equation_of_time_min: NDArray[np.float64]
    """Sundial less mean clock."""


def sun_position(observer: Observer, when: Instants, delta_t_s: float = DELTA_T_S) -> SunPosition:
    """Return where the sun stands.

    Parameters
    ----------
    observer : Observer
        Place and air.
    when : Instants, shape (...)
        Aware datetimes, or arrays in UTC; NaN stays NaN.
    delta_t_s : float, default 69.2
        Terrestrial less universal time. [s]

    Returns
    -------
    SunPosition
        Arrays, shape (...).

    Raises
    ------
    InputError
        If an instant says no time zone.

    Notes
    -----
    The algorithm claims 0.0003 degrees for the years -2000 to 6000 [1]_; refraction close to the horizon varies by more
    than that with the weather, by 0.1 degrees and more on some days (from memory). The horizon is level: no hills, and
    no dip of a horizon seen from above.

    References
    ----------
    .. [1] I. Reda, A. Andreas, "Solar position algorithm for solar radiation applications", Solar Energy 76 (2004) 577,
       DOI 10.1016/j.solener.2003.12.003, as implemented in pvlib.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> sun = sun_position(Observer(52.205, 0.119, 10), datetime(2024, 6, 20, 12, tzinfo=UTC))
    >>> round(float(sun.altitude_deg), 3), round(float(sun.azimuth_deg), 3)
    (61.231, 179.414)
    """
    seconds = unix_seconds(when)
    known = np.isfinite(seconds)
    _, _, apparent, altitude, azimuth, equation = spa.solar_position(
        np.where(known, seconds, 0.0).ravel(),
        observer.latitude_deg,
        observer.longitude_deg,
        observer.elevation_m,
        observer.air_pressure_hpa,
        observer.temperature_c,
        delta_t_s,
        HORIZON_REFRACTION_DEG,
    )
    return SunPosition(
        *(
            np.where(known, np.asarray(values, np.float64).reshape(seconds.shape), np.nan)
            for values in (altitude, apparent, azimuth, equation)
        )
    )


def direction(altitude_deg: ArrayLike, azimuth_deg: ArrayLike) -> NDArray[np.float64]:
    """Return unit vectors east, north, up towards a place in the sky, shape (..., 3).

    Examples
    --------
    >>> [float(x) for x in direction(0, 90).round(6)]
    [1.0, 0.0, 0.0]
    """
    altitude, azimuth = np.radians(altitude_deg), np.radians(azimuth_deg)
    level = np.cos(altitude)
    parts = np.broadcast_arrays(level * np.sin(azimuth), level * np.cos(azimuth), np.sin(altitude))
    return np.stack(parts, axis=-1)


def angle_between(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the angle between unit vectors, shape (..., 3) each: 0 to 180, shape (...). [deg]"""
    # The arctangent keeps small angles exact, where the arccosine loses half of its digits.
    across = np.linalg.norm(np.cross(first, second), axis=-1)
    return np.asarray(np.degrees(np.arctan2(across, np.sum(first * second, axis=-1))), np.float64)
