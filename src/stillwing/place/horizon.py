"""The horizon of a site: how high trees, banks and hills stand at each bearing, and whether the sun is above them."""

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError
from stillwing.place.bearings import towards, turn

__all__ = ["LEVEL", "Horizon", "HorizonEntry", "Skyline", "altitude_over", "entry_by_height", "skyline", "sun_share"]

SUN_RADIUS_DEG = 0.26667
"""Half of the sun's width as the position algorithm takes it: I. Reda, A. Andreas, Solar Energy 76 (2004) 577; from
memory."""
EYE_HEIGHT_M = 1.6
"""Of somebody standing; common practice, no source."""
STEP_DEG = 1.0
FAN_DEG = 0.5
"""Between the bearings that a skyline is told at where things stand in front of others."""


def altitude_over(
    height_m: ArrayLike, distance_m: ArrayLike, eye_height_m: ArrayLike = EYE_HEIGHT_M
) -> NDArray[np.float64]:
    """Return the sun's altitude below which something hides it, shape (...): atan((height - eye) / distance). [deg]

    Parameters
    ----------
    height_m, distance_m, eye_height_m : array_like, shape (...)
        Of a tree line above the ground, of its foot from you, and of your eye above the same ground. [m]

    Raises
    ------
    InputError
        If a distance is not positive.

    Examples
    --------
    >>> round(float(altitude_over(21.6, 20.0)), 6)
    45.0
    """
    distance = np.asarray(distance_m, np.float64)
    if np.any(distance <= 0):
        raise InputError(f"distance_m is {distance[distance <= 0].flat[0]:g} m; it must be more than 0")
    return np.asarray(np.degrees(np.arctan2(np.subtract(height_m, eye_height_m), distance)), np.float64)


@dataclass(frozen=True, slots=True)
class HorizonEntry:
    """How high the horizon stands at one bearing."""

    bearing_deg: float
    altitude_deg: float
    distance_m: float = math.inf
    """Of what stands there; inf where it is far or not known, so that it looks the same from every stand."""

    def __post_init__(self) -> None:
        """Refuse what no horizon is.

        Raises
        ------
        InputError
            If a value is out of its range or not a number.
        """
        if not -360 <= self.bearing_deg <= 360:
            raise InputError(f"bearing of the horizon is {self.bearing_deg:g} deg; it must be 0 to 360, from north")
        if not -30 <= self.altitude_deg <= 89:
            raise InputError(
                f"the horizon at bearing {self.bearing_deg:g} deg is {self.altitude_deg:g} deg high; "
                "it must be -30 to 89 deg"
            )
        if not self.distance_m > 0:
            raise InputError(
                f"the horizon at bearing {self.bearing_deg:g} deg is {self.distance_m:g} m away; it must be more than 0"
            )


def entry_by_height(bearing_deg: float, distance_m: float, above_eye_m: float) -> HorizonEntry:
    """Return an entry from a distance and a height above the eye.

    Raises
    ------
    InputError
        If a value is out of its range.
    """
    if not (math.isfinite(distance_m) and distance_m > 0):
        raise InputError(
            f"the horizon at bearing {bearing_deg:g} deg is {distance_m:g} m away; with a height, "
            "the distance must be a number of metres above 0"
        )
    return HorizonEntry(bearing_deg, math.degrees(math.atan2(above_eye_m, distance_m)), distance_m)


@dataclass(frozen=True, slots=True)
class Horizon:
    """The horizon as seen from the middle of the site, in any order; without entries it is level."""

    entries: tuple[HorizonEntry, ...] = ()

    def __post_init__(self) -> None:
        """Refuse two heights at one bearing.

        Raises
        ------
        InputError
            If two entries have the same bearing.
        """
        bearings = sorted(entry.bearing_deg % 360.0 for entry in self.entries)
        for one, other in pairwise(bearings):
            if other - one < 1e-6:
                raise InputError(f"the horizon has two entries at bearing {one:g} deg; leave one")


LEVEL = Horizon()
"""Open all round."""


@dataclass(frozen=True)
class Skyline:
    """The horizon all round from one place: straight between the bearings given, round through north."""

    bearings_deg: NDArray[np.float64]
    """Rising, 0 to below 360."""
    altitudes_deg: NDArray[np.float64]

    def altitude_at(self, bearing_deg: ArrayLike) -> NDArray[np.float64]:
        """Return how high the horizon stands at bearings, shape (...). [deg]"""
        return np.asarray(
            np.interp(np.asarray(bearing_deg, np.float64) % 360.0, *self._closed),
            np.float64,
        )

    @cached_property
    def _closed(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        # One point more at either end, where the circle closes.
        b, a = self.bearings_deg, self.altitudes_deg
        return np.concatenate([[b[-1] - 360.0], b, [b[0] + 360.0]]), np.concatenate([[a[-1]], a, [a[0]]])

    def clearance(self, sun_altitude_deg: ArrayLike, sun_azimuth_deg: ArrayLike) -> NDArray[np.float64]:
        """Return how far the sun's middle stands above the horizon, shape (...); below it negative. [deg]

        Parameters
        ----------
        sun_altitude_deg, sun_azimuth_deg : array_like, shape (...)
            As seen: with refraction. NaN stays NaN. [deg]
        """
        return np.asarray(np.asarray(sun_altitude_deg, np.float64) - self.altitude_at(sun_azimuth_deg), np.float64)

    def sun_is_clear(self, sun_altitude_deg: ArrayLike, sun_azimuth_deg: ArrayLike) -> NDArray[np.bool_]:
        """Tell whether more than half of the sun is above the horizon, shape (...)."""
        with np.errstate(invalid="ignore"):
            return np.asarray(self.clearance(sun_altitude_deg, sun_azimuth_deg) > 0)


def sun_share(clearance_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the share of the sun's disc above a straight horizon, shape (...).

    Examples
    --------
    >>> [float(x) for x in sun_share([-1, 0, 1])]
    [0.0, 0.5, 1.0]
    """
    h = np.clip(np.asarray(clearance_deg, np.float64) / SUN_RADIUS_DEG, -1.0, 1.0)
    return np.asarray(0.5 + (h * np.sqrt(1 - h * h) + np.arcsin(h)) / np.pi, np.float64)


def skyline(horizon: Horizon, from_m: ArrayLike = (0.0, 0.0), higher_m: float = 0.0) -> Skyline:
    r"""Return the horizon as it looks from a stand.

    Parameters
    ----------
    horizon : Horizon
        As seen from the middle of the site.
    from_m : array_like, shape (2,)
        The stand, east and north of the middle. [m]
    higher_m : float, default 0
        By how much the eye is higher there. [m]

    Returns
    -------
    Skyline
        Straight from each degree to the next.

    Notes
    -----
    What has a distance is moved: in a frame with the middle at 0, its top lies at :math:`d(\sin b, \cos b, \tan a)`,
    and is looked at from the stand. Between entries, altitude and 1/distance run straight over the bearing. Of two
    things behind each other the higher counts; where nothing stands, the horizon is level.
    """
    east, north = (float(x) for x in np.asarray(from_m, np.float64))
    if not horizon.entries:
        return Skyline(np.array([0.0]), np.array([0.0]))
    bearings, altitudes, nearness = _sampled(horizon)
    # Everything over the distance d, so that inf needs no case of its own.
    seen = towards(bearings) - nearness[:, None] * np.array([east, north])
    level = np.hypot(seen[:, 0], seen[:, 1])
    up = np.tan(np.radians(altitudes)) - nearness * higher_m
    moved = np.degrees(np.arctan2(seen[:, 0], seen[:, 1])) % 360.0
    return _envelope(moved, np.minimum(np.degrees(np.arctan2(up, level)), 90.0))


def _sampled(horizon: Horizon) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return bearings, altitudes and 1/distance, at every degree and at every entry."""
    entries = sorted(horizon.entries, key=lambda entry: entry.bearing_deg % 360.0)
    # Rounded, so that an entry a trace off a whole degree does not stand beside it.
    own = np.array([entry.bearing_deg % 360.0 for entry in entries]).round(9)
    bearings = np.unique(np.concatenate([own, np.arange(0.0, 360.0, STEP_DEG)]))
    altitudes = np.interp(bearings, own, [entry.altitude_deg for entry in entries], period=360.0)
    nearness = np.interp(bearings, own, [1 / entry.distance_m for entry in entries], period=360.0)
    return bearings, altitudes, nearness


def _envelope(bearings: NDArray[np.float64], altitudes: NDArray[np.float64]) -> Skyline:
    """Return the upper edge of a closed line in the sky, whose points may run backwards where things hide others."""
    steps = turn(bearings, np.roll(bearings, -1))
    if np.all(steps > 0) and abs(steps.sum() - 360.0) < 1e-6:
        first = int(np.argmin(bearings))
        return Skyline(np.roll(bearings, -first), np.roll(altitudes, -first))
    # Every piece of the line is looked up at the bearings of a fixed fan that it passes.
    low, high = bearings + np.minimum(steps, 0.0), bearings + np.maximum(steps, 0.0)
    from_ray, to_ray = np.ceil(low / FAN_DEG).astype(int), np.floor(high / FAN_DEG).astype(int)
    n_passed = np.maximum(to_ray - from_ray + 1, 0)
    piece = np.repeat(np.arange(len(bearings)), n_passed)
    ray = from_ray[piece] + np.arange(len(piece)) - np.repeat(np.cumsum(n_passed) - n_passed, n_passed)
    upright = steps[piece] == 0
    along = np.where(upright, 0.0, (ray * FAN_DEG - bearings[piece]) / np.where(upright, 1.0, steps[piece]))
    ahead = altitudes[piece] + along * (np.roll(altitudes, -1) - altitudes)[piece]
    # A bearing that several pieces pass belongs to the highest of them; one that none passes is level.
    fan = np.arange(0.0, 360.0, FAN_DEG)
    highest = np.full(len(fan), -np.inf)
    np.maximum.at(highest, ray % len(fan), ahead)
    return Skyline(fan, np.where(np.isfinite(highest), highest, 0.0))
