"""What a file or a person draws of a site, before it has a name."""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon

from stillwing.errors import InputError
from stillwing.place.horizon import LEVEL, Horizon
from stillwing.place.local import LocalPlane, middle_of
from stillwing.place.outline import Outline, Ring, Water
from stillwing.place.position import Position
from stillwing.place.site import Perch, Site
from stillwing.place.stands import Stand

__all__ = ["Drawn", "Mark", "outline_of_rings", "refuse_without_water"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A point with a name of which nothing says what it is."""

    name: str
    position: Position


@dataclass(frozen=True, slots=True)
class Drawn:
    """A water, and what else was drawn with it."""

    outline: Outline
    name: str = ""
    """Of the site; empty where the drawing has none."""
    stands: tuple[Stand, ...] = ()
    perches: tuple[Perch, ...] = ()
    horizon: Horizon = LEVEL
    marks: tuple[Mark, ...] = ()

    def site(self, name: str = "") -> Site:
        """Return the site, under a name of your own or the drawing's.

        Raises
        ------
        InputError
            If neither is there, or what was drawn does not belong to one site.
        """
        return Site(name or self.name, self.outline, self.stands, self.horizon, self.perches)


def outline_of_rings(rings: Sequence[Ring]) -> Outline:
    """Return the outline of rings drawn one by one: a ring within another is an island, one within that a water again.

    Raises
    ------
    InputError
        If there is none, or they make no outline.
    """
    if not rings:
        return Outline(())
    for ring in rings:
        Outline((Water(ring),))  # tells what is wrong with a ring before any of them is held against another
    plane = LocalPlane(middle_of(p for ring in rings for p in ring))
    shapes = [Polygon(plane.to_metres(ring)) for ring in rings]
    around = [
        [j for j, other in enumerate(shapes) if j != i and _encloses(other, shape)] for i, shape in enumerate(shapes)
    ]
    islands: dict[int, list[Ring]] = {i: [] for i, outer in enumerate(around) if len(outer) % 2 == 0}
    for i, outer in enumerate(around):
        if len(outer) % 2 == 1:
            islands[min(outer, key=lambda j: float(shapes[j].area))].append(rings[i])
    return Outline(tuple(Water(rings[i], tuple(held)) for i, held in islands.items()))


def _encloses(outer: Polygon, inner: Polygon) -> bool:
    return bool(outer.area > inner.area and shapely.contains_properly(outer, inner))


def refuse_without_water(source: str, rings: Sequence[object], n_points: int, wanted: str) -> None:
    """Refuse a drawing that holds points at best."""
    if not rings:
        held = f"{n_points} point{'' if n_points == 1 else 's'} but " if n_points else ""
        raise InputError(f"{source} holds {held}no water; {wanted}")
