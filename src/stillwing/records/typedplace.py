"""A place typed into one field: coordinates, or a grid reference, with how far the writing alone leaves it open."""

import math
import re
from dataclasses import dataclass

from stillwing.errors import InputError
from stillwing.place.typed import position_of_words
from stillwing.records.grid import Grid, GridSquare, read_square, square_at

__all__ = ["TypedPlace", "coordinates_words", "distance_words", "read_place"]

GRID_NAMES = {Grid.BRITISH: "the National Grid of Great Britain", Grid.IRISH: "the Irish grid", Grid.MGRS: "MGRS"}
EXAMPLES = "52.2053, 0.1218, or a grid reference such as TL 455 581, O 159 346 or 31U CT 059 878"
METRES_A_DEGREE = 111_700.0
"""Of latitude at the poles, where it is largest. [m]"""
SHOWN_SIDE_M = 100
"""Of the square that coordinates are told to lie in, for a look at the map. [m]"""
HEMISPHERES = ({"N", "S"}, {"E", "W"})
PARTS = ((re.compile(r"(?:\.(\d+))?\s*(?:[\"″”]|'')"), 3600.0), (re.compile(r"(?:\.(\d+))?\s*['′’]"), 60.0))
"""How seconds and minutes end, and how many of them make a degree."""
DECIMALS = re.compile(r"\d+(?:\.(\d+))?")


@dataclass(frozen=True, slots=True)
class TypedPlace:
    """A place as it was understood.

    Attributes
    ----------
    latitude, longitude : float
        WGS 84; of a square its middle. [deg]
    least_uncertainty_m : float
        The place may be off by so much for the way it is written alone. [m]
    square : GridSquare or None
        Where a grid reference was written.
    told : str
        How it was understood, in words without a full stop.
    """

    latitude: float
    longitude: float
    least_uncertainty_m: float
    square: GridSquare | None
    told: str

    @property
    def uncertainty_m(self) -> float | None:
        """How far the place may be off where nothing else is told: of a square; coordinates do not tell. [m]"""
        return None if self.square is None else self.least_uncertainty_m


def read_place(text: str) -> TypedPlace:
    """Return the place that a text tells: latitude and longitude, or a reference of a national grid or of MGRS.

    Raises
    ------
    InputError
        If it is neither.

    Examples
    --------
    >>> place = read_place("TL 45 58")
    >>> round(place.latitude, 4), round(place.longitude, 4), place.uncertainty_m
    (52.2055, 0.1278, 713.0)
    >>> place = read_place("52.2053 N, 0.1218 W")
    >>> place.longitude, place.uncertainty_m, place.least_uncertainty_m
    (-0.1218, None, 6.6)
    """
    if not re.search(r"\d", text) and not _is_square_of_letters(text):
        raise InputError(
            f"{text.strip()!r} is no place that can be read; write latitude and longitude such as {EXAMPLES}"
        )
    if _is_reference(text):
        return _in_square(read_square(text))
    return _at(text)


def coordinates_words(latitude: float, longitude: float) -> str:
    """Return coordinates in words, to about a metre.

    Examples
    --------
    >>> coordinates_words(-52.2053, 0.1218)
    '52.20530 S, 0.12180 E'
    """
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):.5f} {north}, {abs(longitude):.5f} {east}"


def distance_words(metres: float) -> str:
    """Return a distance in three digits.

    Examples
    --------
    >>> distance_words(6.56), distance_words(713.4), distance_words(7072.0)
    ('6.6 m', '713 m', '7.07 km')
    """
    if metres >= 1000:
        return f"{metres / 1000:.3g} km"
    return f"{metres:.0f} m" if metres >= 10 else f"{metres:.2g} m"


def _is_square_of_letters(text: str) -> bool:
    """Tell whether a text may name a square of 100 km, which has letters alone."""
    return re.fullmatch(r"[A-Za-z]{2}|[A-Za-z]", text.strip()) is not None


def _is_reference(text: str) -> bool:
    """Tell whether a text is written as a grid reference: with letters that are no two points of the compass."""
    groups = re.findall(r"[A-Z]+", text.upper())
    if not groups or re.search(r"[.°'′’\"″”]", text):
        return False
    is_compass = len(groups) == 2 and any(
        {groups[0]} <= one and {groups[1]} <= other for one, other in (HEMISPHERES, HEMISPHERES[::-1])
    )
    return not is_compass


def _in_square(square: GridSquare) -> TypedPlace:
    least_m = _rounded_up(square.uncertainty_m)
    side = distance_words(square.side_m)
    told = (
        f"understood as the {side} square {square.spaced} of {GRID_NAMES[square.grid]}: its middle, "
        f"{coordinates_words(square.latitude, square.longitude)}, from which no place in it is farther than "
        f"{distance_words(least_m)}"
    )
    return TypedPlace(square.latitude, square.longitude, least_m, square, told)


def _at(text: str) -> TypedPlace:
    position = position_of_words(text)
    latitude, longitude = position.latitude_deg, position.longitude_deg
    step = _step_deg(text)
    off_m = step / 2 * METRES_A_DEGREE * math.hypot(1, math.cos(math.radians(latitude)))
    told = f"understood as {coordinates_words(latitude, longitude)} (WGS 84){_square_words(latitude, longitude)}"
    return TypedPlace(latitude, longitude, _rounded_up(off_m), None, told)


def _square_words(latitude: float, longitude: float) -> str:
    try:
        square = square_at(latitude, longitude, SHOWN_SIDE_M)
    except InputError:
        return ""  # beyond the zones of MGRS, near a pole, no square is written
    return f", in the square {square.spaced} of {GRID_NAMES[square.grid]}"


def _step_deg(text: str) -> float:
    """Return what the last digit that was written stands for. [deg]"""
    for pattern, parts in PARTS:
        found = [len(match[1] or "") for match in pattern.finditer(text)]
        if found:
            return 10.0 ** -min(found) / parts
    return 10.0 ** -min(len(match[1] or "") for match in DECIMALS.finditer(text))


def _rounded_up(metres: float) -> float:
    return float(math.ceil(metres)) if metres >= 10 else math.ceil(metres * 10) / 10
