"""GeoJSON: outlines come in from whatever draws them, and a whole site goes out and comes back."""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn, ParamSpec, TypeVar

from stillwing.errors import InputError
from stillwing.place.drawn import Drawn, Mark, outline_of_rings, refuse_without_water
from stillwing.place.features import horizon_of, perch_of, stand_of
from stillwing.place.horizon import LEVEL, Horizon
from stillwing.place.outline import Outline, Ring, Water, ring_without_repeats
from stillwing.place.position import Position, position_from
from stillwing.place.site import Perch
from stillwing.place.stands import Stand
from stillwing.place.textfile import read_text
from stillwing.place.walk import ring_of_walk

__all__ = ["parse_geojson", "read_geojson"]

P = ParamSpec("P")
T = TypeVar("T")

DEEPEST = 20
"""Collections within collections."""


def read_geojson(path: Path) -> Drawn:
    """Return what a GeoJSON file holds; see `parse_geojson`."""
    return parse_geojson(read_text(path), str(path))


def parse_geojson(text: str, source: str) -> Drawn:
    """Return the water that GeoJSON (RFC 7946) draws, and what `site_geojson` added.

    Parameters
    ----------
    text : str
        A geometry, a feature or a collection.
    source : str
        As errors name it.

    Returns
    -------
    Drawn
        Polygons are waters with their islands, lines that close are rings, points are stands and perches where their
        properties say so, else marks.

    Raises
    ------
    InputError
        If it is no GeoJSON, holds no water, or a feature cannot be used; it is named by its number.
    """
    try:
        document = json.loads(text, parse_constant=_refuse_constant)
    except json.JSONDecodeError as error:
        raise InputError(f"{source} is not JSON: line {error.lineno}, column {error.colno}: {error.msg}") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{source} is not JSON that can be read: {error}") from error
    found = _Found(source)
    try:
        found.refuse_other_datum(document)
        found.add(document, "", {}, 0)
        n_points = len(found.stands) + len(found.perches) + len(found.marks)
        refuse_without_water(source, [*found.waters, *found.rings], n_points, "draw the outline as a polygon")
        rings = outline_of_rings(found.rings).waters if found.rings else ()
        outline = Outline((*found.waters, *rings))
    except InputError as error:
        raise error if str(error).startswith(source) else InputError(f"{source}: {error}") from error
    return Drawn(outline, found.name, tuple(found.stands), tuple(found.perches), found.horizon, tuple(found.marks))


def _refuse_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")


@dataclass(slots=True)
class _Found:
    """What has been met so far on the way through a document."""

    source: str
    name: str = ""
    waters: list[Water] = field(default_factory=list)
    rings: list[Ring] = field(default_factory=list)
    stands: list[Stand] = field(default_factory=list)
    perches: list[Perch] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    horizon: Horizon = LEVEL

    def refuse_other_datum(self, document: object) -> None:
        """Refuse coordinates that are not longitude and latitude; the present standard has no others."""
        crs = document.get("crs") if isinstance(document, dict) else None
        named = json.dumps(crs) if crs is not None else ""
        if named and "CRS84" not in named and "4326" not in named:
            raise InputError(f"its coordinates are in {named}; they must be longitude and latitude on WGS 84")

    def add(self, thing: object, where: str, properties: dict[str, object], depth: int) -> None:
        """Take in a document, a feature or a geometry."""
        if not isinstance(thing, dict) or not isinstance(thing.get("type"), str):
            self._refuse(where, "there is no type here, such as Polygon or FeatureCollection")
        if depth > DEEPEST:
            self._refuse(where, f"collections are nested more than {DEEPEST} deep")
        kind = thing["type"]
        if kind == "FeatureCollection":
            self._name_from(thing)
            for number, feature in enumerate(self._list(thing, "features", where), 1):
                self.add(feature, f"feature {number}", {}, depth + 1)
        elif kind == "Feature":
            self._feature(thing, where, depth)
        elif kind == "GeometryCollection":
            for part in self._list(thing, "geometries", where):
                self.add(part, where, properties, depth + 1)
        else:
            self._geometry(kind, thing, where, properties)

    def _name_from(self, thing: dict[str, object]) -> None:
        name = thing.get("name")
        if isinstance(name, str):
            self.name = name

    def _feature(self, thing: dict[str, object], where: str, depth: int) -> None:
        properties = thing.get("properties") or {}
        if not isinstance(properties, dict):
            self._refuse(where, "its properties are no object")
        if properties.get("kind") == "horizon":
            self.horizon = self._told(where, horizon_of, properties)
        elif thing.get("geometry") is not None:
            self.add(thing["geometry"], where, properties, depth + 1)

    def _geometry(self, kind: str, thing: dict[str, object], where: str, properties: dict[str, object]) -> None:
        coordinates = self._list(thing, "coordinates", where)
        if kind == "Polygon":
            self._polygon(coordinates, where)
        elif kind == "MultiPolygon":
            for polygon in coordinates:
                self._polygon(polygon, where)
        elif kind in ("LineString", "MultiLineString"):
            for line in [coordinates] if kind == "LineString" else coordinates:
                self._line(line, where)
        elif kind in ("Point", "MultiPoint"):
            for point in [coordinates] if kind == "Point" else coordinates:
                self._point(self._position(point, where), where, properties)
        else:
            self._refuse(where, f"{kind} is no geometry of GeoJSON")

    def _polygon(self, coordinates: object, where: str) -> None:
        if not isinstance(coordinates, list) or not coordinates:
            self._refuse(where, "a polygon is a list of rings, the rim first")
        rim, *islands = (ring_without_repeats(self._positions(ring, where)) for ring in coordinates)
        water = Water(rim, tuple(islands))
        self._told(where, Outline, (water,))  # a mistake is told with the number of its feature
        self.waters.append(water)

    def _line(self, line: object, where: str) -> None:
        name = f"{self.source}: {where or 'the line'}"
        self.rings.append(ring_of_walk(self._positions(line, where), name))

    def _point(self, at: Position, where: str, properties: dict[str, object]) -> None:
        name = str(properties.get("name") or f"point {len(self.marks) + 1}")
        if properties.get("kind") == "stand":
            self.stands.append(self._told(where, stand_of, at, properties))
        elif properties.get("kind") == "perch":
            self.perches.append(self._told(where, perch_of, at, properties))
        else:
            self.marks.append(Mark(name, at))

    def _positions(self, coordinates: object, where: str) -> list[Position]:
        if not isinstance(coordinates, list):
            self._refuse(where, "a line is a list of points")
        return [self._position(point, where, number) for number, point in enumerate(coordinates, 1)]

    def _position(self, point: object, where: str, number: int = 1) -> Position:
        here = ", ".join(part for part in (where, f"point {number}") if part)
        if not isinstance(point, list) or len(point) < 2 or not all(_is_number(x) for x in point[:2]):
            self._refuse(here, f"{json.dumps(point)[:60]} is no point; it is [longitude, latitude] in degrees")
        return self._told(here, position_from, float(point[0]), float(point[1]))

    def _list(self, thing: dict[str, object], key: str, where: str) -> list[object]:
        held = thing.get(key)
        if not isinstance(held, list):
            self._refuse(where, f"{thing['type']} has no list of {key}")
        return held

    def _told(self, where: str, make: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
        """Return what ``make`` makes, its refusal told with the place in the document."""
        try:
            return make(*args, **kwargs)
        except InputError as error:
            self._refuse(where, str(error), error)

    def _refuse(self, where: str, wrong: str, cause: Exception | None = None) -> NoReturn:
        raise InputError(": ".join(part for part in (self.source, where, wrong) if part)) from cause


def _is_number(value: object) -> bool:
    # No coordinate is so large, and an integer of hundreds of digits would not fit a float.
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e9
