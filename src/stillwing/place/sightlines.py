"""Lines of sight over the water: where each one meets it, and where it leaves it again."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import MultiPolygon

from stillwing.place.bearings import towards

__all__ = ["Sightlines", "sightlines"]

CHUNK = 4_000_000
"""Pairs of a line and a side that are looked at together: some 200 MB at most."""

GRAZED_M = 1e-3
"""A stretch of water shorter than this is none."""


@dataclass(frozen=True, slots=True)
class Sightlines:
    """First stretch of water along lines of sight; arrays of one shape, NaN where a line meets no water."""

    enters_m: NDArray[np.float64]
    """Distance at which the line comes over water; 0 where it starts over water."""
    leaves_m: NDArray[np.float64]
    """Distance at which it leaves it, at the far bank or an island: where the background is, or nearer than it."""

    @property
    def over_water_m(self) -> NDArray[np.float64]:
        """Length over water; 0 where there is none."""
        return np.nan_to_num(self.leaves_m - self.enters_m, nan=0.0)


def sightlines(water: MultiPolygon, points_m: ArrayLike, bearings_deg: ArrayLike) -> Sightlines:
    """Return the first stretch of water along each line of sight.

    Parameters
    ----------
    water : MultiPolygon
        On the flat map, from `water_on`.
    points_m : array_like, shape (..., 2)
        Where the lines start, east and north. [m]
    bearings_deg : array_like, shape (...)
        Where they go; broadcast with the points. [deg]

    Returns
    -------
    Sightlines
        Arrays, shape (...).

    Notes
    -----
    Every line is held against every side of the outline. A side counts where its ends lie on different sides of the
    line, an end on the line itself counting as left of it: so a line through a corner crosses the outline once.
    """
    start = np.asarray(points_m, np.float64)
    ways = towards(bearings_deg)
    shape = np.broadcast_shapes(start.shape, ways.shape)
    start, ways = (np.broadcast_to(a, shape).reshape(-1, 2) for a in (start, ways))
    first, second = _sides(water)
    enters, leaves = np.full(len(start), np.nan), np.full(len(start), np.nan)
    step = max(1, CHUNK // max(1, len(first)))
    for begin in range(0, len(start), step):
        part = slice(begin, begin + step)
        enters[part], leaves[part] = _stretch(_distances(start[part], ways[part], first, second))
    return Sightlines(enters.reshape(shape[:-1]), leaves.reshape(shape[:-1]))


def _sides(water: MultiPolygon) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return both ends of all sides of all rings, shape (n, 2) each."""
    rings = [shapely.get_coordinates(ring) for piece in water.geoms for ring in (piece.exterior, *piece.interiors)]
    if not rings:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate([ring[:-1] for ring in rings]), np.concatenate([ring[1:] for ring in rings])


def _distances(
    start: NDArray[np.float64], ways: NDArray[np.float64], first: NDArray[np.float64], second: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return how far along each line each side is crossed, shape (n lines, n sides); inf where it is not."""
    # In a frame that looks along the line, a corner is ``ahead`` of the start and ``right`` of the line.
    across = np.stack([ways[:, 1], -ways[:, 0]], axis=-1)
    right_1 = across @ first.T - np.sum(across * start, axis=-1)[:, None]
    right_2 = across @ second.T - np.sum(across * start, axis=-1)[:, None]
    crossed = (right_1 > 0) != (right_2 > 0)
    line, side = np.nonzero(crossed)
    at_1, at_2 = right_1[line, side], right_2[line, side]
    corner_1, corner_2 = first[side] - start[line], second[side] - start[line]
    ahead_1, ahead_2 = np.sum(corner_1 * ways[line], axis=-1), np.sum(corner_2 * ways[line], axis=-1)
    ahead = ahead_1 + (ahead_2 - ahead_1) * at_1 / (at_1 - at_2)
    found = np.full(right_1.shape, np.inf)
    found[line, side] = np.where(ahead >= 0, ahead, np.inf)
    return found


def _stretch(distances: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the first way in and the way out after it; a line with an odd number of crossings starts over water."""
    if distances.shape[1] < 3:
        none = np.full(len(distances), np.nan)
        return none, none
    starts_wet = np.isfinite(distances).sum(axis=1) % 2 == 1
    where = np.concatenate([np.where(starts_wet, 0.0, np.inf)[:, None], distances], axis=1)
    nearest = np.sort(np.partition(where, 3, axis=1)[:, :4], axis=1)
    # A stretch of no length is a corner that the line grazes, or an edge that it starts on: the next one counts.
    with np.errstate(invalid="ignore"):
        grazed = nearest[:, 1] - nearest[:, 0] < GRAZED_M
    enters = np.where(grazed, nearest[:, 2], nearest[:, 0])
    leaves = np.where(grazed, nearest[:, 3], nearest[:, 1])
    none = ~np.isfinite(leaves)
    return np.where(none, np.nan, enters), np.where(none, np.nan, leaves)
