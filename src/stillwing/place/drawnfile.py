"""A file that draws a water: GeoJSON, GPX or points typed one a line, told apart by what is in it."""

from pathlib import Path

from stillwing.errors import InputError
from stillwing.place.drawn import Drawn
from stillwing.place.geojson import parse_geojson
from stillwing.place.gpx import parse_gpx
from stillwing.place.textfile import read_text
from stillwing.place.typed import outline_of_points, positions_of_text

__all__ = ["parse_drawn", "read_drawn"]


def read_drawn(path: Path) -> Drawn:
    """Return what a file draws; see `parse_drawn`."""
    return parse_drawn(read_text(path), str(path))


def parse_drawn(text: str, source: str) -> Drawn:
    """Return what a text draws.

    Parameters
    ----------
    text : str
        GeoJSON begins with a brace or a bracket, GPX with "<"; anything else is read as points, one a line.
    source : str
        As errors name it.

    Raises
    ------
    InputError
        If it draws no water.
    """
    match text.lstrip()[:1]:
        case "<":
            return parse_gpx(text, source)
        case "{" | "[":
            return parse_geojson(text, source)
    try:
        return Drawn(outline_of_points(positions_of_text(text)))
    except InputError as error:
        raise InputError(f"{source}: {error}") from error
