"""Names on a drawn water, each where there is room."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from stillwing.share.svgparts import Tones, label, text_width
from stillwing.share.watermargin import SIZE, Frame

__all__ = ["Named", "names_on"]

FARTHER = (0.0, 12.0, 24.0, 36.0)
"""How much farther from its point a name may stand, where there is no room beside it; in thin lines."""
ABOVE, BELOW = 0.8, 0.25
"""Of its size, how far a line of words reaches up and down."""


@dataclass(frozen=True, slots=True)
class Named:
    """A point that wants its name beside it."""

    name: str
    x: float
    y: float
    """In the picture, y down. [m]"""
    clear: float
    """Room that its own mark takes to each side, in thin lines."""
    is_needed: bool = False
    """Is written over others where there is no room at all."""


def names_on(frame: Frame, wanted: Sequence[Named], taken: Iterable[BaseGeometry], tones: Tones) -> Iterator[str]:
    """Yield names, the first the most important; one without room is left out unless it is needed.

    Parameters
    ----------
    frame : Frame
    wanted : sequence of Named
    taken : iterable of geometry
        What no name may stand on. [m]
    tones : Tones
    """
    rooms, u = list(taken), frame.unit
    for one in wanted:
        spot = _spot(frame, one, rooms) or (_spot(frame, one, []) if one.is_needed else None)
        if spot is None:
            continue
        rooms.append(_room(one.name, *spot, u))
        yield label(
            one.name,
            *spot,
            SIZE * u,
            class_="name",
            stroke=tones.ground,
            stroke_width=3 * u,
            paint_order="stroke",
            stroke_linejoin="round",
        )


def _room(words: str, left: float, base: float, u: float) -> Polygon:
    high = SIZE * u
    return box(left, base - ABOVE * high, left + text_width(words, high), base + BELOW * high)


def _spot(frame: Frame, one: Named, rooms: Sequence[BaseGeometry]) -> tuple[float, float] | None:
    """Return where the name begins, as near to its point as there is room."""
    u = frame.unit
    for left, base in _spots(one, u):
        room = _room(one.name, left, base, u)
        if frame.room.contains(room) and not any(room.intersects(other) for other in rooms):
            return left, base
    return None


def _spots(one: Named, u: float) -> Iterator[tuple[float, float]]:
    wide, high = text_width(one.name, SIZE * u), SIZE * u
    for farther in FARTHER:
        away = (one.clear + farther) * u
        level, over, under = one.y + 0.35 * high, one.y - away, one.y + away + 0.75 * high
        yield one.x + away, level
        yield one.x - away - wide, level
        for base in (over, under):
            yield one.x - wide / 2, base
            yield one.x, base
            yield one.x - wide, base
