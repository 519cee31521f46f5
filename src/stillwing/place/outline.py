"""The outline of a water: its rim and its islands, checked."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from stillwing.errors import InputError
from stillwing.place.local import WGS84, LocalPlane, middle_of
from stillwing.place.position import Position

__all__ = ["LARGEST_KM", "Outline", "Ring", "Water", "ring_without_repeats", "water_on"]

LARGEST_KM = 50.0
"""What is larger is not walked round in a day, and a flat map of it grows wrong; common practice, no source."""
MOST_POINTS = 20_000
"""As many as a walk of 20 km gives at one a metre; more is a coastline, and slow to look across."""
LEAST_AREA_M2 = 1.0
CLOSE_M = 1e-3
"""Points nearer to each other than a millimetre are one."""

Ring = tuple[Position, ...]
"""A closed line; the last point is joined to the first and does not repeat it."""


@dataclass(frozen=True, slots=True)
class Water:
    """One piece of water."""

    rim: Ring
    islands: tuple[Ring, ...] = ()


@dataclass(frozen=True, slots=True)
class Outline:
    """The outline of a site's water: one piece or several."""

    waters: tuple[Water, ...]

    def __post_init__(self) -> None:
        """Refuse what is no outline.

        Raises
        ------
        InputError
            If it is empty, has too few points or too many, crosses itself, or is larger than a site.
        """
        if not self.waters:
            raise InputError("the outline is empty; it needs at least one piece of water with three points")
        for number, water in enumerate(self.waters, 1):
            for ring in (water.rim, *water.islands):
                if len(set(ring)) < 3:
                    raise InputError(
                        f"{self._name(number)} has {len(set(ring))} different points in a ring; it takes at least three"
                    )
        n_points = sum(1 for _ in self.positions)
        if n_points > MOST_POINTS:
            raise InputError(f"the outline has {n_points} points; up to {MOST_POINTS} are taken: simplify it")
        self._refuse_far()
        plane = self.plane
        for number, water in enumerate(self.waters, 1):
            _refuse_crossing(self._name(number), water, plane)

    @property
    def positions(self) -> Iterable[Position]:
        """All points of all rings."""
        return (p for water in self.waters for ring in (water.rim, *water.islands) for p in ring)

    @property
    def plane(self) -> LocalPlane:
        """The flat map about the middle of the rims."""
        return LocalPlane(middle_of(p for water in self.waters for p in water.rim))

    def _name(self, number: int) -> str:
        return "the outline" if len(self.waters) == 1 else f"water {number} of the outline"

    def _refuse_far(self) -> None:
        positions = list(self.positions)
        middle = middle_of(positions)
        _, _, away = WGS84.inv(
            np.full(len(positions), middle.longitude_deg),
            np.full(len(positions), middle.latitude_deg),
            np.array([p.longitude_deg for p in positions]),
            np.array([p.latitude_deg for p in positions]),
        )
        farthest = int(np.argmax(away))
        if away[farthest] > LARGEST_KM * 500:
            raise InputError(
                f"the outline reaches {away[farthest] / 1000:,.0f} km from its middle, to {positions[farthest].words}; "
                f"a site is up to {LARGEST_KM:g} km across: is a point wrong, or longitude and latitude swapped in one?"
            )


def water_on(plane: LocalPlane, outline: Outline) -> MultiPolygon:
    """Return the water in metres on a flat map; pieces that touch or overlap become one.

    Islands become holes. Rims run counter-clockwise and islands clockwise, so that water lies on the left.
    """
    merged = shapely.union_all([_polygon(plane, water) for water in outline.waters], grid_size=CLOSE_M)
    pieces = [piece for piece in shapely.get_parts(merged) if isinstance(piece, Polygon) and not piece.is_empty]
    # shapely's normal form would turn them clockwise.
    return MultiPolygon([shapely.geometry.polygon.orient(piece) for piece in pieces])


def _polygon(plane: LocalPlane, water: Water) -> Polygon:
    return Polygon(plane.to_metres(water.rim), [plane.to_metres(island) for island in water.islands])


def _refuse_crossing(name: str, water: Water, plane: LocalPlane) -> None:
    for ring in (water.rim, *water.islands):
        _refuse_crossing_ring(name, plane.to_metres(ring), plane)
    rim = Polygon(plane.to_metres(water.rim))
    if rim.area < LEAST_AREA_M2:
        raise InputError(f"{name} holds {rim.area:.2g} m2 of water; its points lie on one line or in one place")
    islands = [Polygon(plane.to_metres(island)) for island in water.islands]
    for island in islands:
        if not rim.covers(island):
            raise InputError(f"{name} has an island that is not within its rim, near {_where(plane, island)}")
    for i, one in enumerate(islands):
        for other in islands[i + 1 :]:
            if one.intersection(other).area > CLOSE_M:
                raise InputError(f"{name} has two islands that overlap, near {_where(plane, one.intersection(other))}")


def _where(plane: LocalPlane, shape: shapely.Geometry) -> str:
    point = shape.representative_point()
    return plane.to_positions([(point.x, point.y)])[0].words


def _refuse_crossing_ring(name: str, ring: NDArray[np.float64], plane: LocalPlane) -> None:
    crossing = _first_crossing(ring)
    if crossing is None:
        return
    one, other, at = crossing
    n = len(ring)
    raise InputError(
        f"{name} crosses itself near {plane.to_positions([at])[0].words}, where the line from point {one + 1} to "
        f"{(one + 1) % n + 1} meets that from point {other + 1} to {(other + 1) % n + 1}; "
        "points go round the bank in order"
    )


def _first_crossing(ring: NDArray[np.float64]) -> tuple[int, int, tuple[float, float]] | None:
    """Return the first two sides that meet where they should not, and where; sides share ends with their neighbours."""
    if Polygon(ring).is_valid:
        return None
    n = len(ring)
    ends = np.stack([ring, np.roll(ring, -1, axis=0)], axis=1)
    sides = shapely.linestrings(ends)
    first, second = shapely.STRtree(sides).query(sides, predicate="intersects")
    for one, other in sorted(zip(first.tolist(), second.tolist(), strict=True)):
        if other <= one:
            continue
        meeting = shapely.intersection(sides[one], sides[other])
        neighbours = other - one in (1, n - 1)
        if neighbours and meeting.length == 0:
            continue
        point = meeting.interpolate(0.5, normalized=True) if meeting.length else meeting.representative_point()
        return one, other, (float(point.x), float(point.y))
    return None


def ring_without_repeats(positions: Sequence[Position]) -> Ring:
    """Return a ring without points that repeat the one before, and without the first repeated at its end."""
    kept = [positions[0], *(b for a, b in pairwise(positions) if a != b)] if positions else []
    while len(kept) > 1 and kept[-1] == kept[0]:
        kept.pop()
    return tuple(kept)
