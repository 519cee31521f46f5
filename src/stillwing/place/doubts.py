"""Doubts about where a site lies: a latitude typed for a longitude, or a sign left out."""

import re
import zoneinfo
from functools import cache
from importlib import resources
from pathlib import Path

from stillwing.place.local import WGS84
from stillwing.place.position import Position

__all__ = ["doubt_about_place", "town_of_zone"]

FAR_KM, NEAR_KM = 3000.0, 1500.0
"""A site so far from the town that its time zone is named after is doubted, if a usual mistake would bring it so near;
common practice, no source."""
_TABLE = "zone1970.tab"
_COORDINATES = re.compile(r"([+-])(\d{2})(\d{2})(\d{2})?([+-])(\d{3})(\d{2})(\d{2})?")


def doubt_about_place(position: Position, zone: str) -> str:
    """Return one sentence of doubt where a site lies far from its time zone's town and a usual mistake explains it.

    Parameters
    ----------
    position : Position
        The middle of the site.
    zone : str
        Time zone that the photographer keeps, such as Europe/London.

    Returns
    -------
    str
        Empty where there is nothing to doubt, and where the table of zones names no town for the zone.

    Examples
    --------
    >>> doubt_about_place(Position(52.2, 0.1), "Europe/London")
    '0.10000 N, 52.20000 E lies 7,503 km from London; were longitude and latitude swapped?'
    """
    town = town_of_zone(zone)
    if town is None or _km(position, town) <= FAR_KM:
        return ""
    east, north = position.longitude_deg, position.latitude_deg
    mistakes = {
        "does its latitude lack a minus sign, or have one too many?": (east, -north),
        "does its longitude lack a minus sign, or have one too many?": (-east, north),
        "do both its figures lack a minus sign, or have one too many?": (-east, -north),
    }
    if abs(east) <= 90:
        mistakes = {"were longitude and latitude swapped?": (north, east)} | mistakes
    for question, (longitude, latitude) in mistakes.items():
        if _km(Position(longitude, latitude), town) <= NEAR_KM:
            name = zone.rsplit("/", 1)[-1].replace("_", " ")
            return f"{position.words} lies {_km(position, town):,.0f} km from {name}; {question}"
    return ""


def town_of_zone(zone: str) -> Position | None:
    """Return the place of the town that a time zone is named after, as the table of zones has it; None without one."""
    return _towns().get(zone)


def _km(one: Position, other: Position) -> float:
    *_, metres = WGS84.inv(one.longitude_deg, one.latitude_deg, other.longitude_deg, other.latitude_deg)
    return float(metres) / 1000


@cache
def _towns() -> dict[str, Position]:
    towns = {}
    for line in _table().splitlines():
        columns = line.split("\t")
        if not line.startswith("#") and len(columns) >= 3 and (match := _COORDINATES.fullmatch(columns[1])):
            towns[columns[2]] = Position(_degrees(*match.groups()[4:]), _degrees(*match.groups()[:4]))
    return towns


def _degrees(sign: str, degrees: str, minutes: str, seconds: str | None) -> float:
    size = int(degrees) + int(minutes) / 60 + int(seconds or 0) / 3600
    return -size if sign == "-" else size


def _table() -> str:
    """Return the table of zones from where Python finds the zones themselves: the system's, or the tzdata package."""
    for folder in zoneinfo.TZPATH:
        table = Path(folder) / _TABLE
        if table.is_file():
            return table.read_text(encoding="utf-8")
    return (resources.files("tzdata") / "zoneinfo" / _TABLE).read_text(encoding="utf-8")
