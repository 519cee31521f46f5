"""How far it is on foot from stand to stand: straight over land, else round the bank."""

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Point, Polygon

from stillwing.place.site import Site

__all__ = ["walks_m"]

Reals = NDArray[np.float64]
EDGE_M = 0.5
"""A straight line may cut so far into the drawn edge and still be walked on land (a choice, no source)."""
ROUND_A_WATER = math.pi / 2
"""Round a convex water it is at most this many times as far as across."""


def walks_m(site: Site, stands: NDArray[np.intp]) -> Reals:
    """Return how far it is on foot between stands, (n, n); inf to and from an island. [m]

    Parameters
    ----------
    site : Site
    stands : ndarray, shape (n,)
        Places in the site's stands.

    Notes
    -----
    The straight line where it keeps to land. Where it crosses the water that both stand at: along its rim, the shorter
    way round, with the steps to the rim at either end. Between two waters: the straight line times pi/2.
    """
    at = site.plane.to_metres([site.stands[i].position for i in stands])
    straight = np.hypot(*(at[:, None, :] - at[None, :, :]).transpose(2, 0, 1))
    water = site.water
    wet = _crosses(water, at)
    rims = [ring for piece in water.geoms for ring in (piece.exterior, *piece.interiors)]
    is_island = np.array([i > 0 for piece in water.geoms for i in range(1 + len(piece.interiors))])
    points = shapely.points(at)
    off = np.stack([shapely.distance(rim, points) for rim in rims])
    nearest = off.argmin(axis=0)
    along = np.array([rims[rim].project(Point(*foot)) for rim, foot in zip(nearest, at, strict=True)])
    lengths = np.array([rims[rim].length for rim in nearest])
    ahead = np.abs(along[:, None] - along[None, :])
    to_rim = off[nearest, np.arange(len(at))]
    around = np.minimum(ahead, lengths[:, None] - ahead) + to_rim[:, None] + to_rim[None, :]
    same = nearest[:, None] == nearest[None, :]
    by_boat = ~same & (is_island[nearest][:, None] | is_island[nearest][None, :])
    walked = np.where(same, np.maximum(around, straight), straight * ROUND_A_WATER)
    return np.where(wet, np.where(by_boat, np.inf, walked), straight)


def _crosses(water: MultiPolygon, at: Reals) -> NDArray[np.bool_]:
    """Return whether the straight line between two points crosses the water, (n, n)."""
    n = len(at)
    one, other = np.triu_indices(n, 1)
    lines = shapely.linestrings(np.stack([at[one], at[other]], axis=1))
    deep: Polygon | MultiPolygon = water.buffer(-EDGE_M)
    shapely.prepare(deep)
    wet = np.zeros((n, n), np.bool_)
    wet[one, other] = shapely.intersects(deep, lines)
    return wet | wet.T
