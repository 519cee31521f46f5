"""Metres round a site: a flat map on which bearings and distances can be reckoned with."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pyproj import Geod

from stillwing.errors import InputError
from stillwing.place.position import Position

__all__ = ["WGS84", "LocalPlane", "middle_of"]

WGS84 = Geod(ellps="WGS84")


@dataclass(frozen=True, slots=True)
class LocalPlane:
    """The azimuthal equidistant map about a position: x to the east, y to the north, in metres.

    Distances and bearings from the middle are those on the ellipsoid. Between other points r metres away distances are
    too long by up to r^2 / (6 R^2): 1 in 10^7 at 5 km, 3 in 10^6 at 25 km. North is that of the middle; at other points
    `convergence_deg` tells how far their own lies off it. Sun and wind reckoned for the middle fit the map as a whole.
    """

    middle: Position

    def to_metres(self, positions: Iterable[Position]) -> NDArray[np.float64]:
        """Return east and north of the middle, shape (n, 2). [m]"""
        lonlat = np.array([(p.longitude_deg, p.latitude_deg) for p in positions], np.float64).reshape(-1, 2)
        start = np.broadcast_to((self.middle.longitude_deg, self.middle.latitude_deg), lonlat.shape)
        azimuth, _, distance = WGS84.inv(start[:, 0], start[:, 1], lonlat[:, 0], lonlat[:, 1])
        angle = np.radians(azimuth)
        return np.stack([distance * np.sin(angle), distance * np.cos(angle)], axis=-1)

    def to_positions(self, metres: ArrayLike) -> tuple[Position, ...]:
        """Return the positions of points east and north of the middle, shape (n, 2). [m]"""
        xy = np.asarray(metres, np.float64).reshape(-1, 2)
        start = np.broadcast_to((self.middle.longitude_deg, self.middle.latitude_deg), xy.shape)
        azimuth = np.degrees(np.arctan2(xy[:, 0], xy[:, 1]))
        longitude, latitude, _ = WGS84.fwd(start[:, 0], start[:, 1], azimuth, np.hypot(xy[:, 0], xy[:, 1]))
        return tuple(Position(float(x), float(y)) for x, y in zip(longitude, latitude, strict=True))

    def convergence_deg(self, metres: ArrayLike) -> NDArray[np.float64]:
        """Return the bearing, on this map, of true north at points of shape (n, 2); positive is to the right. [deg]

        At the middle it is 0; 1 km east of it 0.01 degrees at 50 degrees north, 0.05 at 80.
        """
        xy = np.asarray(metres, np.float64).reshape(-1, 2)
        here = np.array([(p.longitude_deg, p.latitude_deg) for p in self.to_positions(xy)]).reshape(-1, 2)
        start = np.broadcast_to((self.middle.longitude_deg, self.middle.latitude_deg), here.shape)
        there, back, _ = WGS84.inv(start[:, 0], start[:, 1], here[:, 0], here[:, 1])
        # On the map, the way to the middle has the bearing ``there`` + 180; on the ground it is ``back``.
        off = 180.0 - (180.0 - (there + 180.0 - back)) % 360.0
        return np.where(np.hypot(xy[:, 0], xy[:, 1]) < 1e-6, 0.0, off)


def middle_of(positions: Iterable[Position]) -> Position:
    """Return the middle of positions, wherever they lie: across the antimeridian and round a pole too.

    Raises
    ------
    InputError
        If there is none, or they lie all round the earth.
    """
    given = tuple(positions)
    if not given:
        raise InputError("no points were given; a site needs at least one")
    longitude = np.radians([p.longitude_deg for p in given])
    latitude = np.radians([p.latitude_deg for p in given])
    mean = np.mean(
        [np.cos(latitude) * np.cos(longitude), np.cos(latitude) * np.sin(longitude), np.sin(latitude)], axis=1
    )
    if np.linalg.norm(mean) < 0.1:
        raise InputError(f"the {len(given)} points lie all round the earth; a site is one water")
    return Position(
        float(np.degrees(np.arctan2(mean[1], mean[0]))), float(np.degrees(np.arctan2(mean[2], np.hypot(*mean[:2]))))
    )
