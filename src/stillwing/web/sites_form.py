"""The forms of the Sites page: what was typed, drawn or sent as a file, and what it makes of a site."""

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import PurePath
from typing import TypeVar

import numpy as np

from stillwing.errors import InputError
from stillwing.fieldbook.sites import KeptSite
from stillwing.place.drawn import Drawn, outline_of_rings
from stillwing.place.drawnfile import parse_drawn
from stillwing.place.horizon import Horizon, HorizonEntry, entry_by_height
from stillwing.place.local import LocalPlane
from stillwing.place.outline import Outline, Ring
from stillwing.place.position import Position
from stillwing.place.site import Perch, Site, with_proposed_stands
from stillwing.place.stands import BankRules, Stand, stand_at
from stillwing.place.typed import outline_of_points, position_of_words, positions_of_text
from stillwing.web.settings_form import FieldError

__all__ = [
    "HORIZON_COLUMNS",
    "WAYS",
    "TypedSite",
    "drawn_outline",
    "horizon_from",
    "kept_from",
    "perch_from",
    "read_number",
    "site_from",
    "spacing_from",
    "stand_from",
    "typed_site",
]

T = TypeVar("T")

WAYS = {"drawn": "draw it here", "file": "a file", "points": "points typed in"}
"""How an outline comes to the page."""
HORIZON_COLUMNS = ("bearing_deg", "altitude_deg", "distance_m", "height_m")
_NUMBER = re.compile(r"(?a)[+-]?(?:\d{1,9}(?:[.,]\d{0,9})?|[.,]\d{1,9})")
_PAIR = re.compile(r"\s*(-?\d{1,6}(?:\.\d{1,6})?)\s*,\s*(-?\d{1,6}(?:\.\d{1,6})?)\s*")


@dataclass(frozen=True, slots=True)
class TypedSite:
    """What stands in the fields that add a site."""

    name: str = ""
    zone: str = ""
    elevation_m: str = ""
    spacing_m: str = f"{BankRules().spacing_m:g}"
    way: str = "drawn"
    points: str = ""
    middle: str = ""
    width_m: str = "150"
    metres: str = ""
    """Of the drawing: one ring a line, each point east and north of the middle as "12.5,-3.0"."""


def typed_site(sent: dict[str, str]) -> TypedSite:
    """Return the fields as a form sent them."""
    known = {field.name: sent[field.name].strip() for field in fields(TypedSite) if field.name in sent}
    return replace(TypedSite(), **known)


def kept_from(typed: TypedSite, file_name: str = "", content: bytes = b"") -> KeptSite:
    """Return the site that the form describes; stands are proposed where the file brings none.

    Parameters
    ----------
    typed : TypedSite
    file_name, content : str, bytes
        Of the file that was sent, where the outline comes from one.

    Raises
    ------
    FieldError
        If a field cannot be used; the sentence says what came and what would be right.
    """
    if typed.way not in WAYS:
        raise FieldError("way", f"{typed.way!r} is no way to tell an outline; it is one of {', '.join(WAYS)}")
    drawn = {"drawn": _drawn_on_page, "points": _drawn_by_points}.get(typed.way)
    told = drawn(typed) if drawn else _drawn_in_file(file_name, content)
    name = typed.name or told.name or (PurePath(file_name).stem if typed.way == "file" else "")
    spacing = spacing_from(typed.spacing_m)
    site = _blaming("name", lambda: told.site(name))
    if not site.stands:
        site = with_proposed_stands(site, spacing)
    return site_from(site, name, typed.zone, typed.elevation_m)


def site_from(site: Site, name: str, zone: str, elevation_m: str) -> KeptSite:
    """Return a site as it is kept, under a name, with its zone and elevation; raises `FieldError`."""
    if not zone.strip():
        raise FieldError("zone", "the site has no time zone; give the one its clocks keep, such as Europe/London")
    height = read_number("elevation_m", elevation_m, "the elevation", "metres above the sea, such as 35") or 0.0
    named = _blaming("name", lambda: replace(site, name=" ".join(name.split())))
    kept = _blaming("zone", lambda: KeptSite(named, zone.strip()))
    return _blaming("elevation_m", lambda: replace(kept, elevation_m=height))


def drawn_outline(middle: str, metres: str) -> Outline:
    """Return the outline drawn on the page.

    Parameters
    ----------
    middle : str
        Latitude and longitude of the middle of the drawing, in words.
    metres : str
        One ring a line: points east and north of it. [m]

    Raises
    ------
    FieldError
        If they make no outline.
    """
    plane = LocalPlane(_middle(middle))
    rings = [ring for ring in (_ring(plane, line) for line in metres.splitlines()) if ring]
    if not rings:
        raise FieldError("metres", "nothing is drawn yet; put at least three points round the bank")
    return _blaming("metres", lambda: outline_of_rings(rings))


def spacing_from(typed: str) -> BankRules:
    """Return how far apart stands are proposed; raises `FieldError`."""
    metres = read_number("spacing_m", typed, "the distance between stands", "metres, such as 10")
    return _blaming("spacing_m", lambda: BankRules() if metres is None else BankRules(spacing_m=metres))


def perch_from(name: str, where: str, above_water_m: str) -> Perch:
    """Return a perch as typed; raises `FieldError`."""
    height = read_number("above_water_m", above_water_m, "its height above the water", "metres, such as 0.5")
    at = _blaming("where", lambda: position_of_words(where))
    name = " ".join(name.split())
    return _blaming("name", lambda: Perch(name, at) if height is None else Perch(name, at, height))


def stand_from(site: Site, name: str, where: str, above_water_m: str) -> Stand:
    """Return a stand as typed, facing the water; raises `FieldError`."""
    height = read_number("above_water_m", above_water_m, "the ground's height above the water", "metres, such as 0.3")
    at = _blaming("where", lambda: position_of_words(where))
    rules = _blaming("above_water_m", lambda: BankRules() if height is None else BankRules(above_water_m=height))
    return _blaming("name", lambda: stand_at(site.plane, site.water, at, " ".join(name.split()), rules))


def horizon_from(rows: Sequence[Sequence[str]]) -> Horizon:
    """Return the horizon of a table with the columns `HORIZON_COLUMNS`; empty rows are passed over.

    Raises
    ------
    FieldError
        If a row cannot be used; it is named by its number.
    """
    entries = []
    for number, row in enumerate(rows, 1):
        if any(cell.strip() for cell in row):
            try:
                entries.append(_entry([cell.strip() for cell in row]))
            except InputError as error:
                raise FieldError("horizon", f"row {number}: {error}") from error
    return _blaming("horizon", lambda: Horizon(tuple(entries)))


def read_number(field: str, typed: str, what: str, right: str) -> float | None:
    """Return a number that may have a sign, or ``None`` for an empty field; raises `FieldError`."""
    if not typed.strip():
        return None
    if _NUMBER.fullmatch(typed.strip()) is None:
        raise FieldError(field, f"{what} is {typed.strip()[:40]!r}; write {right}")
    return float(typed.strip().replace(",", "."))


def _entry(row: list[str]) -> HorizonEntry:
    bearing, altitude, distance, height = (
        read_number("horizon", typed, what, right)
        for typed, what, right in zip(
            row,
            ("the bearing", "the height", "the distance", "the height"),
            ("degrees from north, such as 225", "degrees, such as 15", "metres, such as 30", "metres, such as 12"),
            strict=True,
        )
    )
    if bearing is None:
        raise InputError("the bearing is missing; write degrees from north through east, such as 225")
    if (altitude is None) == (height is None):
        told = "there is no height" if altitude is None else "there are two heights"
        raise InputError(f"{told} at bearing {bearing:g}; give degrees, or metres above the eye and a distance")
    if height is not None:
        if distance is None:
            raise InputError(f"what is {height:g} m high at bearing {bearing:g} needs a distance in metres")
        return entry_by_height(bearing, distance, height)
    return HorizonEntry(bearing, float(altitude or 0.0), math.inf if distance is None else distance)


def _drawn_on_page(typed: TypedSite) -> Drawn:
    return Drawn(drawn_outline(typed.middle, typed.metres))


def _drawn_by_points(typed: TypedSite) -> Drawn:
    positions = _blaming("points", lambda: positions_of_text(typed.points))
    if not positions:
        raise FieldError("points", "no points were typed; write one a line round the bank, such as 52.2050, 0.1190")
    return Drawn(_blaming("points", lambda: outline_of_points(positions)))


def _drawn_in_file(file_name: str, content: bytes) -> Drawn:
    if not content.strip():
        said = f"{file_name} is empty" if file_name else "no file was chosen"
        raise FieldError("file", f"{said}; it takes GeoJSON, GPX, or text with one point a line")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise FieldError("file", f"{file_name} is not text in UTF-8: byte {error.start + 1} does not fit") from error
    return _blaming("file", lambda: parse_drawn(text, file_name))


def _middle(typed: str) -> Position:
    if not typed.strip():
        raise FieldError(
            "middle", "the middle of the drawing is missing; write latitude and longitude: 52.2050, 0.1190"
        )
    return _blaming("middle", lambda: position_of_words(typed))


def _ring(plane: LocalPlane, line: str) -> Ring:
    if not line.strip():
        return ()
    pairs = [_PAIR.fullmatch(point) for point in line.split(";") if point.strip()]
    if not all(pairs):
        raise FieldError("metres", "a point of the drawing is no pair of metres such as 12.5,-3.0")
    return plane.to_positions(np.array([(float(pair[1]), float(pair[2])) for pair in pairs if pair]))


def _blaming(field: str, make: Callable[[], T]) -> T:
    """Return what ``make`` makes; its refusal is that of a field."""
    try:
        return make()
    except FieldError:
        raise
    except InputError as error:
        raise FieldError(field, str(error)) from error
