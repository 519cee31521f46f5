"""A bank walked round with a receiver in the hand: closed, untangled and freed from jitter."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Polygon

from stillwing.errors import InputError
from stillwing.place.local import LocalPlane, middle_of
from stillwing.place.outline import Ring
from stillwing.place.position import Position

__all__ = ["WalkRules", "ring_of_walk"]

MAIN_LOOP_SHARE = 0.9
"""Of the area that all loops enclose; with less in the largest, the walk was a figure of eight, not jitter."""
NECK_M = 0.05


@dataclass(frozen=True, slots=True)
class WalkRules:
    """How a walk becomes a ring; common practice, no source: hand-held receivers are some 5 m out."""

    gap_m: float = 25.0
    """Between its ends, up to which a walk counts as closed."""
    jitter_m: float = 2.0
    """Corners that stand out less than this are straightened."""


def ring_of_walk(positions: Sequence[Position], walk: str = "the track", rules: WalkRules | None = None) -> Ring:
    """Return the ring that a walk round the bank makes.

    Parameters
    ----------
    positions : sequence of Position
        In the order of walking.
    walk : str
        As errors name it.
    rules : WalkRules, optional

    Returns
    -------
    Ring
        What was walked beyond the start is cut off; small loops, and a second lap, are melted into the outer edge.

    Raises
    ------
    InputError
        If it has fewer than three different points, does not close (the gap is told), or makes a figure of eight.
    """
    rules = rules or WalkRules()
    points = [here for before, here in zip([None, *positions], positions, strict=False) if here != before]
    if len(set(points)) < 3:
        raise InputError(f"{walk} has {len(set(points))} different points; a walk round a water takes at least three")
    plane = LocalPlane(middle_of(points))
    path = _closed(plane.to_metres(points), walk, rules)
    edge = _untangled(path, walk, plane).simplify(rules.jitter_m)
    # Necks thinner than the receiver can tell would cross themselves after rounding; what lies behind one is cut off.
    pieces = shapely.get_parts(shapely.set_precision(edge, NECK_M))
    if not len(pieces):
        raise InputError(f"{walk} encloses no water that is wider than {NECK_M * 100:g} cm")
    corners = shapely.get_coordinates(max(pieces, key=lambda piece: float(piece.area)).exterior)[:-1]
    return plane.to_positions(corners)


def _closed(path: NDArray[np.float64], walk: str, rules: WalkRules) -> NDArray[np.float64]:
    gap = float(np.hypot(*(path[-1] - path[0])))
    if gap <= rules.gap_m:
        return path
    walked = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    from_start = np.hypot(*(path - path[0]).T)
    # Back at the start, and on: only where most of the walk lay before that, else it was left unfinished.
    back = (from_start <= rules.gap_m) & (walked > max(walked[-1] / 2, 4 * rules.gap_m))
    if not back.any():
        raise InputError(
            f"{walk} does not close: its ends lie {gap:,.0f} m apart, and up to {rules.gap_m:g} m are bridged; "
            "walk on to where it began, or draw the missing part"
        )
    return path[: int(np.argmin(np.where(back, from_start, np.inf))) + 1]


def _untangled(path: NDArray[np.float64], walk: str, plane: LocalPlane) -> Polygon:
    loops = shapely.get_parts(shapely.polygonize([shapely.node(LineString([*path, path[0]]))]))
    pieces = sorted(shapely.get_parts(shapely.union_all(loops)), key=lambda piece: -piece.area)
    if not pieces or pieces[0].area < 1.0:
        raise InputError(f"{walk} encloses no water; it runs there and back on one line, or stands still")
    if pieces[0].area < MAIN_LOOP_SHARE * sum(piece.area for piece in pieces):
        meet = shapely.get_coordinates(shapely.shortest_line(pieces[0], pieces[1]))[0]
        raise InputError(
            f"{walk} crosses itself near {plane.to_positions([meet])[0].words} and makes two loops of "
            f"{pieces[0].area:,.0f} and {pieces[1].area:,.0f} m2; walk round one water at a time"
        )
    return Polygon(pieces[0].exterior)
