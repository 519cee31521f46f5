"""A site as the page shows it: its map in metres, its stands, perches and horizon in words."""

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon

from stillwing.fieldbook.sites import KeptSite
from stillwing.fieldbook.toldwords import count
from stillwing.place.bearings import compass_name, towards
from stillwing.place.doubts import doubt_about_place
from stillwing.place.horizon import HorizonEntry
from stillwing.place.local import LocalPlane
from stillwing.place.outline import Outline, water_on
from stillwing.place.position import Position
from stillwing.place.site import Site
from stillwing.place.stands import Span

__all__ = [
    "Mark",
    "OutlineTold",
    "ScaleBar",
    "SiteMap",
    "SiteView",
    "area_words",
    "outline_told",
    "site_view",
    "site_words",
]

MARGIN = 0.08
"""Of the longer side, left free round the drawing."""
BAR_STEPS = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Mark:
    """A stand or a perch on the map and in words."""

    name: str
    x_m: float
    """To the right on the map, which is east."""
    y_m: float
    """Downwards on the map, which is south."""
    to_x_m: float
    """End of the stroke that shows where a stand faces; the mark itself for a perch."""
    to_y_m: float
    words: str


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A round length beside the map."""

    length_m: int
    x_m: float
    y_m: float


@dataclass(frozen=True, slots=True)
class SiteMap:
    """The water to scale, north up; lengths in metres of the ground, from the middle of the site."""

    left_m: float
    top_m: float
    width_m: float
    height_m: float
    water: str
    """All rings as the path of an SVG; islands are left out where rings lie within each other."""
    bar: ScaleBar
    unit_m: float
    """A hundredth of the longer side: marks are sized by it."""
    longitude_deg: float
    """Of the middle."""
    latitude_deg: float
    east_deg_m: float
    """Degrees of longitude to a metre east; so that a click can be told as a position."""
    north_deg_m: float


@dataclass(frozen=True, slots=True)
class SiteView:
    """Everything the page shows of one site."""

    name: str
    zone: str
    elevation_m: str
    facts: tuple[tuple[str, str], ...]
    """What there is, and how much of it."""
    doubt: str
    map: SiteMap
    stands: tuple[Mark, ...]
    perches: tuple[Mark, ...]
    horizon: tuple[tuple[str, str, str, str], ...]
    """Rows of bearing, degrees, distance and height, as they are typed."""


@dataclass(frozen=True, slots=True)
class OutlineTold:
    """What a drawing has come to: its figures, or why it is no outline yet."""

    area: str
    bank: str
    sentence: str


def site_view(kept: KeptSite) -> SiteView:
    """Return a site as the page shows it."""
    site = kept.site
    plane, water = site.plane, site.water
    unit = _unit(water)
    stands = tuple(
        _mark(plane, stand.name, stand.position, stand.faces_deg, 4 * unit, f"faces {compass_name(stand.faces_deg)}, "
              f"{stand.faces_deg:.0f}°, reaches {_degrees_in_reach(stand.reach)}°")
        for stand in site.stands
    )  # fmt: skip
    perches = tuple(
        _mark(plane, perch.name, perch.position, 0.0, 0.0, f"{perch.above_water_m:g} m above the water")
        for perch in site.perches
    )
    return SiteView(
        site.name,
        kept.zone,
        f"{kept.elevation_m:g}",
        _facts(kept, water),
        doubt_about_place(plane.middle, kept.zone),
        _map(site, water, (*stands, *perches)),
        stands,
        perches,
        tuple(_row(entry) for entry in sorted(site.horizon.entries, key=lambda entry: entry.bearing_deg % 360)),
    )


def site_words(kept: KeptSite) -> str:
    """Return a site in a few words."""
    return f"{area_words(float(kept.site.water.area))} of water, {count(len(kept.site.stands), 'stand')}"


def outline_told(outline: Outline) -> OutlineTold:
    """Return the area and the length of the bank of an outline in words."""
    water = water_on(outline.plane, outline)
    return OutlineTold(area_words(float(water.area)), _length_words(float(water.length)), "")


def area_words(area_m2: float) -> str:
    """Return an area in three digits: in hectares from one hectare up.

    Examples
    --------
    >>> area_words(6234.0), area_words(123456.0)
    ('6230 m²', '12.3 ha')
    """
    value, unit = (area_m2, "m²") if area_m2 < 10_000 else (area_m2 / 10_000, "ha")
    digits = 2 - math.floor(math.log10(max(value, 1)))
    return f"{round(value, digits):.{max(digits, 0) if unit == 'ha' else 0}f} {unit}"


def _length_words(length_m: float) -> str:
    return f"{length_m:.0f} m" if length_m < 2000 else f"{length_m / 1000:.2f} km"


def _facts(kept: KeptSite, water: MultiPolygon) -> tuple[tuple[str, str], ...]:
    n_islands = sum(len(piece.interiors) for piece in water.geoms)
    site = kept.site
    return (
        ("middle", site.plane.middle.words),
        ("water", area_words(float(water.area))),
        ("bank", _length_words(float(water.length)) + (f", with {count(n_islands, 'island')}" if n_islands else "")),
        ("stands", str(len(site.stands))),
        ("perches", str(len(site.perches))),
        ("time zone", kept.zone),
        ("above the sea", f"{kept.elevation_m:g} m"),
    )


def _degrees_in_reach(reach: tuple[Span, ...]) -> str:
    return f"{sum(span.width_deg for span in reach):.0f}"


def _mark(plane: LocalPlane, name: str, at: Position, faces_deg: float, long_m: float, words: str) -> Mark:
    (east, north), (ahead_east, ahead_north) = plane.to_metres([at])[0], towards(faces_deg) * long_m
    return Mark(
        name,
        round(float(east), 2),
        round(float(-north), 2),
        round(float(east + ahead_east), 2),
        round(float(-north - ahead_north), 2),
        words,
    )


def _unit(water: MultiPolygon) -> float:
    left, low, right, high = water.bounds
    return float(max(right - left, high - low)) / 100


def _map(site: Site, water: MultiPolygon, marks: tuple[Mark, ...]) -> SiteMap:
    left, low, right, high = water.bounds
    xs, ys = [left, right, *(mark.x_m for mark in marks)], [-low, -high, *(mark.y_m for mark in marks)]
    unit = _unit(water)
    margin = MARGIN * 100 * unit
    width, height = max(xs) - min(xs) + 2 * margin, max(ys) - min(ys) + 2 * margin
    middle = site.plane.middle
    (beside,), (above,) = site.plane.to_positions([(10.0, 0.0)]), site.plane.to_positions([(0.0, 10.0)])
    return SiteMap(
        round(min(xs) - margin, 2),
        round(min(ys) - margin, 2),
        round(width, 2),
        round(height, 2),
        _path(water),
        ScaleBar(_round_length(width / 4), round(min(xs) - margin / 2, 2), round(max(ys) + margin / 2, 2)),
        round(unit, 4),
        middle.longitude_deg,
        middle.latitude_deg,
        (beside.longitude_deg - middle.longitude_deg) / 10,
        (above.latitude_deg - middle.latitude_deg) / 10,
    )


def _path(water: MultiPolygon) -> str:
    rings = (ring for piece in water.geoms for ring in (piece.exterior, *piece.interiors))
    return "".join(
        "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in shapely.get_coordinates(ring)[:-1].tolist()) + "Z"
        for ring in rings
    )


def _round_length(longest_m: float) -> int:
    """Return the largest of 1, 2, 5, 10, 20 ... that is no longer."""
    ten = 10 ** math.floor(math.log10(max(longest_m, 1.0)))
    return int(max(step * ten for step in BAR_STEPS if step * ten <= max(longest_m, 1.0)))


def _row(entry: HorizonEntry) -> tuple[str, str, str, str]:
    bearing = f"{round(entry.bearing_deg % 360, 2):g}"
    if math.isinf(entry.distance_m):
        return bearing, f"{round(entry.altitude_deg, 3):g}", "", ""
    height = entry.distance_m * math.tan(math.radians(entry.altitude_deg))
    return bearing, "", f"{round(entry.distance_m, 2):g}", f"{round(height, 2):g}"
