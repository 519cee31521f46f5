"""GPX: tracks and routes walked round a bank come in, stands go out as waypoints."""

from pathlib import Path

import gpxpy
from gpxpy.gpx import GPX, GPXException, GPXWaypoint

from stillwing.errors import InputError
from stillwing.place.bearings import compass_name
from stillwing.place.drawn import Drawn, Mark, outline_of_rings, refuse_without_water
from stillwing.place.position import Position, position_from
from stillwing.place.site import Site
from stillwing.place.textfile import read_text
from stillwing.place.walk import WalkRules, ring_of_walk

__all__ = ["parse_gpx", "read_gpx", "stands_gpx"]


def read_gpx(path: Path, rules: WalkRules | None = None) -> Drawn:
    """Return what a GPX file holds; see `parse_gpx`."""
    return parse_gpx(read_text(path), str(path), rules)


def parse_gpx(text: str, source: str, rules: WalkRules | None = None) -> Drawn:
    """Return the water that was walked round, and the waypoints as marks.

    Parameters
    ----------
    text : str
        GPX 1.0 or 1.1.
    source : str
        As errors name it.
    rules : WalkRules, optional

    Returns
    -------
    Drawn
        Each track is a ring, its segments one after the other; where there is none, each route. A ring within another
        is an island.

    Raises
    ------
    InputError
        If it is no GPX, holds no track or route, or one of them makes no ring.
    """
    document = _document(text, source)
    rings = tuple(
        ring_of_walk(points, f"{source}: {walk}", rules) for walk, points in _walks(document, source).items() if points
    )
    refuse_without_water(source, rings, len(document.waypoints), "record a track while walking round the bank")
    marks = tuple(
        Mark(point.name or f"waypoint {i}", _position(source, point)) for i, point in enumerate(document.waypoints, 1)
    )
    try:
        return Drawn(outline_of_rings(rings), document.name or "", marks=marks)
    except InputError as error:
        raise InputError(f"{source}: {error}") from error


def stands_gpx(site: Site) -> str:
    """Return GPX 1.1 with a waypoint for each stand, which says where it faces; for a receiver or a phone."""
    document = GPX()
    document.creator = "stillwing"
    document.name = site.name
    for stand in site.stands:
        at = stand.position
        # GPX has longitudes from -180 to just below 180.
        longitude = -180.0 if at.longitude_deg == 180.0 else at.longitude_deg
        faces = f"faces {compass_name(stand.faces_deg)}, {stand.faces_deg:.0f} deg"
        document.waypoints.append(GPXWaypoint(at.latitude_deg, longitude, name=stand.name, description=faces))
    return document.to_xml(version="1.1")


def _document(text: str, source: str) -> GPX:
    if "<!ENTITY" in text:
        raise InputError(f"{source} declares XML entities, which GPX has no use for; export it anew")
    try:
        return gpxpy.parse(text)
    except (GPXException, ValueError) as error:
        raise InputError(f"{source} is no GPX that can be read: {error}") from error


def _walks(document: GPX, source: str) -> dict[str, list[Position]]:
    walks = {
        f"track {i}": [_position(source, point) for part in track.segments for point in part.points]
        for i, track in enumerate(document.tracks, 1)
    }
    return walks or {
        f"route {i}": [_position(source, point) for point in route.points] for i, route in enumerate(document.routes, 1)
    }


def _position(source: str, point: "gpxpy.gpx.GPXTrackPoint | gpxpy.gpx.GPXRoutePoint | GPXWaypoint") -> Position:
    try:
        return position_from(float(point.longitude), float(point.latitude))
    except InputError as error:
        raise InputError(f"{source}: {error}") from error
