"""Wind: directions and vectors, how it slackens towards the ground, and its force."""

import re
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError
from stillwing.optics.reals import not_negative, within

__all__ = [
    "BEAUFORT_FROM_M_S",
    "BEAUFORT_NAMES",
    "GRASS_ROUGHNESS_M",
    "beaufort",
    "compass_words",
    "wind_at",
    "wind_from_vector",
    "wind_vector",
]

COMPASS: Final = ["N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"]
COMPASS_LONG: Final = {"north": "N", "east": "E", "south": "S", "west": "W"}
BEAUFORT_FROM_M_S: Final = (0.0, 0.3, 1.6, 3.4, 5.5, 8.0, 10.8, 13.9, 17.2, 20.8, 24.5, 28.5, 32.7)
"""Lowest speed of each force at 10 m, as tables in m/s have it (read in one; WMO's limits). Tables in other units
differ by one of them."""
BEAUFORT_NAMES: Final = (
    "calm",
    "light air",
    "light breeze",
    "gentle breeze",
    "moderate breeze",
    "fresh breeze",
    "strong breeze",
    "near gale",
    "gale",
    "strong gale",
    "storm",
    "violent storm",
    "hurricane",
)
FORECAST_HEIGHT_M = 10.0
"""Height that forecasts and stations give wind for (WMO's standard)."""
GRASS_ROUGHNESS_M = 0.03
"""Of short grass; open water 0.0002, low crops 0.1, bushes and reeds 0.25 (Davenport's classes as J. Wieringa, J. Wind
Eng. Ind. Aerodyn. 41 (1992) 357 has them; from memory)."""
LEAST_HEIGHT_IN_ROUGHNESS = 10.0
"""The profile holds well above what makes the ground rough; ours, no source."""


def wind_vector(speed_m_s: ArrayLike, from_deg: ArrayLike) -> NDArray[np.float64]:
    """Return where the air goes, as speed towards east and north, shape (..., 2). [m/s]

    Parameters
    ----------
    speed_m_s, from_deg : array_like, shape (...)
        Speed, and the bearing that the wind comes from.

    Examples
    --------
    >>> [float(x) for x in wind_vector(3, 270).round(6)]      # a west wind blows to the east
    [3.0, 0.0]
    """
    speed, bearing = not_negative("speed_m_s", speed_m_s, "m/s"), np.radians(np.asarray(from_deg, np.float64))
    return np.stack(np.broadcast_arrays(-speed * np.sin(bearing), -speed * np.cos(bearing)), axis=-1)


def wind_from_vector(vector_m_s: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return speed [m/s] and the bearing that the wind comes from, 0 to 360 [deg], of vectors east and north.

    Calm air comes from nowhere: NaN.

    Examples
    --------
    >>> speed, bearing = wind_from_vector(np.array([3.0, 0.0]))
    >>> float(speed), float(bearing)
    (3.0, 270.0)
    """
    east, north = vector_m_s[..., 0], vector_m_s[..., 1]
    speed = np.hypot(east, north)
    bearing = np.degrees(np.arctan2(-east, -north)) % 360
    return np.asarray(speed, np.float64), np.where(speed > 1e-9, bearing, np.nan)


def wind_at(
    height_m: ArrayLike, speed_10m_m_s: ArrayLike, roughness_m: ArrayLike = GRASS_ROUGHNESS_M
) -> NDArray[np.float64]:
    r"""Return the wind at the height of lens or animal from that at 10 m, shape (...). [m/s]

    Parameters
    ----------
    height_m : array_like, shape (...)
        Above ground or water, 0.1 to 100 and at least ten times the roughness.
    speed_10m_m_s : array_like, shape (...)
        As forecasts give it.
    roughness_m : array_like, default 0.03
        Roughness length of what the wind came over, 0.0001 to 1; short grass where not given.

    Raises
    ------
    OutsideModel
        If a value is beyond its range.

    Notes
    -----
    The logarithmic profile of neutral air, :math:`u(z) = u_{10} \ln(z/z_0) / \ln(10/z_0)`. In the lee of trees, reeds
    and banks there is far less wind than that, and the profile of a sunny calm day is flatter.

    Examples
    --------
    >>> round(float(wind_at(1.0, 1.0)), 3)
    0.604
    """
    rough = within("roughness_m", roughness_m, 1e-4, 1.0, "m")
    height = within("height_m", height_m, 0.1, 100.0, "m")
    least = float(np.max(rough, initial=0.0)) * LEAST_HEIGHT_IN_ROUGHNESS
    within("height_m", height, least, 100.0, "m")
    speed = not_negative("speed_10m_m_s", speed_10m_m_s, "m/s")
    return np.asarray(speed * np.log(height / rough) / np.log(FORECAST_HEIGHT_M / rough), np.float64)


def beaufort(speed_m_s: ArrayLike) -> NDArray[np.float64]:
    """Return the Beaufort force of a wind at 10 m, shape (...): 0 to 12, NaN where it is not known.

    Examples
    --------
    >>> float(beaufort(3.4)), BEAUFORT_NAMES[3]
    (3.0, 'gentle breeze')
    """
    # Tables print one decimal: 0.25 m/s is in force 1, as 0.3 rounded.
    speed = np.round(not_negative("speed_m_s", speed_m_s, "m/s") + 1e-9, 1)
    force = np.searchsorted(np.array(BEAUFORT_FROM_M_S) - 1e-6, speed, side="right") - 1.0
    return np.where(np.isnan(speed), np.nan, force)


def compass_words(words: str) -> float:
    """Return the bearing of "SW", "south-west", "225" or "225 deg": 0 to 360, 360 excluded. [deg]

    Raises
    ------
    InputError
        If it is none of these.

    Examples
    --------
    >>> compass_words("SW"), compass_words("north north-east"), compass_words("360")
    (225.0, 22.5, 0.0)
    """
    figure = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:deg|degrees|°)?\s*", words)
    if figure and float(figure[1]) <= 360:
        return float(figure[1]) % 360
    letters = re.sub("|".join(COMPASS_LONG), lambda name: COMPASS_LONG[name[0]], words.casefold())
    point = re.sub(r"[\s-]", "", letters).upper()
    if point not in COMPASS:
        raise InputError(f"direction {words.strip()!r} is not known; write one like 'SW', 'south-west' or '225'")
    return COMPASS.index(point) * 22.5
