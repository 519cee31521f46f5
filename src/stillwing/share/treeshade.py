"""The shade that trees, banks and hills throw on a water."""

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stillwing.place.bearings import towards
from stillwing.place.horizon import EYE_HEIGHT_M, HorizonEntry
from stillwing.place.shadow import shadow_length
from stillwing.place.site import Site

__all__ = ["tree_shade"]

STEP_DEG = 1.0
FARTHEST_M = 1e5
"""In place of a distance that is not known: so far away, a thing looks the same from all over a water."""


def tree_shade(site: Site, sun_altitude_deg: float, sun_azimuth_deg: float) -> BaseGeometry:
    """Return the part of the water that the horizon keeps the sun from, on the site's map.

    Parameters
    ----------
    site : Site
    sun_altitude_deg, sun_azimuth_deg : float
        As seen; the shade is empty where the sun is not up. [deg]

    Notes
    -----
    The horizon is taken as `stillwing.place.horizon.skyline` takes it: a curtain through its entries, with altitude and
    1/distance running straight over the bearing, told by an eye `EYE_HEIGHT_M` above the water. A curtain of height h
    throws a shadow of h / tan(altitude).
    """
    entries = sorted(site.horizon.entries, key=lambda entry: entry.bearing_deg % 360.0)
    if sun_altitude_deg <= 0 or not entries:
        return shapely.MultiPolygon()
    foot, height = _curtain(entries)
    length = shadow_length(np.maximum(height, 0.0), sun_altitude_deg)
    tip = foot + length[:, None] * towards(sun_azimuth_deg + 180.0)
    quads = np.stack([foot, np.roll(foot, -1, axis=0), np.roll(tip, -1, axis=0), tip], axis=1)
    shadow = shapely.union_all(shapely.make_valid(shapely.polygons(quads)))
    return shapely.intersection(site.water, shadow)


def _curtain(entries: list[HorizonEntry]) -> tuple[np.ndarray, np.ndarray]:
    """Return the foot of the curtain all round, (n, 2), and its height above the water, (n,). [m]"""
    own = np.array([entry.bearing_deg % 360.0 for entry in entries])
    bearings = np.unique(np.concatenate([own, np.arange(0.0, 360.0, STEP_DEG)]))
    altitudes = np.interp(bearings, own, [entry.altitude_deg for entry in entries], period=360.0)
    nearness = np.interp(bearings, own, [1.0 / min(entry.distance_m, FARTHEST_M) for entry in entries], period=360.0)
    away = 1.0 / nearness
    return away[:, None] * towards(bearings), away * np.tan(np.radians(altitudes)) + EYE_HEIGHT_M
