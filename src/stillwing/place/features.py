"""A site as GeoJSON features, and stands, perches and horizon read back from their properties."""

import json
import math
from collections.abc import Mapping

from stillwing.errors import InputError
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.outline import Ring
from stillwing.place.position import Position
from stillwing.place.site import Perch, Site
from stillwing.place.stands import Span, Stand

__all__ = ["horizon_of", "perch_of", "site_geojson", "stand_of"]

DIGITS = 9
"""Of a degree, a tenth of a millimetre: rounding to centimetres could make the two sides of a narrow neck cross."""


def site_geojson(site: Site) -> str:
    """Return a site as a GeoJSON feature collection (RFC 7946), with everything that `parse_geojson` takes back.

    The properties tell the kind of each feature: water, stand, perch or horizon.
    """
    features = [
        _feature("Polygon", [_line(ring) for ring in (water.rim, *water.islands)], {"kind": "water"})
        for water in site.outline.waters
    ]
    features += [_feature("Point", _point(stand.position), _stand_properties(stand)) for stand in site.stands]
    for perch in site.perches:
        told = {"kind": "perch", "name": perch.name, "above_water_m": perch.above_water_m}
        features.append(_feature("Point", _point(perch.position), told))
    if site.horizon.entries:
        features.append(_feature("Point", _point(site.plane.middle), _horizon_properties(site.horizon)))
    document = {"type": "FeatureCollection", "name": site.name, "features": features}
    return json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def stand_of(position: Position, properties: Mapping[str, object]) -> Stand:
    """Return a stand from what its feature says.

    Raises
    ------
    InputError
        If a property is missing or cannot be used.
    """
    reach = properties.get("reach_deg", [])
    if not isinstance(reach, list) or not all(isinstance(span, list) and len(span) == 2 for span in reach):
        raise InputError("reach_deg of a stand is a list of pairs of bearings, left and right")
    spans = tuple(Span(_number("reach_deg", span[0]), _number("reach_deg", span[1])) for span in reach)
    faces = _number("faces_deg", properties.get("faces_deg"))
    return Stand(str(properties.get("name") or ""), position, faces, spans, _above_water(properties, 0.3))


def perch_of(position: Position, properties: Mapping[str, object]) -> Perch:
    """Return a perch from what its feature says; raises `InputError` as `stand_of` does."""
    return Perch(str(properties.get("name") or ""), position, _above_water(properties, 0.5))


def horizon_of(properties: Mapping[str, object]) -> Horizon:
    """Return the horizon from what its feature says; raises `InputError` as `stand_of` does."""
    entries = properties.get("entries")
    if not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        raise InputError("entries of the horizon are a list of objects with bearing_deg and altitude_deg")
    return Horizon(tuple(_entry(entry) for entry in entries))


def _entry(entry: Mapping[str, object]) -> HorizonEntry:
    distance = entry.get("distance_m")
    return HorizonEntry(
        _number("bearing_deg", entry.get("bearing_deg")),
        _number("altitude_deg", entry.get("altitude_deg")),
        math.inf if distance is None else _number("distance_m", distance),
    )


def _above_water(properties: Mapping[str, object], usual: float) -> float:
    return _number("above_water_m", properties.get("above_water_m", usual))


def _number(name: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        told = "missing" if value is None else json.dumps(value)[:40]
        raise InputError(f"{name} is {told}; it must be a number")
    return float(value)


def _feature(kind: str, coordinates: object, properties: Mapping[str, object]) -> dict[str, object]:
    return {"type": "Feature", "geometry": {"type": kind, "coordinates": coordinates}, "properties": properties}


def _point(position: Position) -> list[float]:
    return [round(position.longitude_deg, DIGITS), round(position.latitude_deg, DIGITS)]


def _line(ring: Ring) -> list[list[float]]:
    return [_point(position) for position in (*ring, ring[0])]


def _stand_properties(stand: Stand) -> dict[str, object]:
    return {
        "kind": "stand",
        "name": stand.name,
        "faces_deg": stand.faces_deg,
        "reach_deg": [[span.left_deg, span.right_deg] for span in stand.reach],
        "above_water_m": stand.above_water_m,
    }


def _horizon_properties(horizon: Horizon) -> dict[str, object]:
    entries = [
        {"bearing_deg": entry.bearing_deg, "altitude_deg": entry.altitude_deg}
        | ({"distance_m": entry.distance_m} if math.isfinite(entry.distance_m) else {})
        for entry in horizon.entries
    ]
    return {"kind": "horizon", "entries": entries}
