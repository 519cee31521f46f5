"""Points that a person types: one a line, latitude first, as maps show them."""

import re

from stillwing.errors import InputError
from stillwing.place.outline import Outline, Water, ring_without_repeats
from stillwing.place.position import Position, position_from

__all__ = ["outline_of_points", "position_of_words", "positions_of_text"]

_HALF = re.compile(
    r"""(?P<before>[NSEW])?\s*
    (?P<deg>[+-]?\d+(?:\.\d+)?)\s*°?\s*
    (?:(?P<min>\d+(?:\.\d+)?)\s*['′’]\s*)?
    (?:(?P<sec>\d+(?:\.\d+)?)\s*(?:["″”]|'')\s*)?
    (?P<after>[NSEW])?""",
    re.VERBOSE | re.IGNORECASE,
)
_EXAMPLE = "such as 52.2050, 0.1190 or 52°12'18\"N 0°7'8\"E"


def outline_of_points(positions: tuple[Position, ...]) -> Outline:
    """Return the outline through points typed or clicked in order round the bank.

    Raises
    ------
    InputError
        If they make none.
    """
    return Outline((Water(ring_without_repeats(positions)),))


def positions_of_text(text: str) -> tuple[Position, ...]:
    """Return the points of a text, one a line; empty lines and lines that begin with # are passed over.

    Raises
    ------
    InputError
        If a line is no point; it is named.
    """
    positions = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.strip() and not line.lstrip().startswith("#"):
            try:
                positions.append(position_of_words(line))
            except InputError as error:
                raise InputError(f"line {number}: {error}") from error
    return tuple(positions)


def position_of_words(words: str) -> Position:
    """Return the point that words tell: two numbers, latitude first, or with N, S, E and W in either order.

    Raises
    ------
    InputError
        If it is no point.

    Examples
    --------
    >>> position_of_words("0°7'12''W 52.205 N")
    Position(longitude_deg=-0.12, latitude_deg=52.205)
    """
    halves = _split(words.strip())
    letters = [letter for _, letter in halves]
    values = [value for value, _ in halves]
    if letters == ["", ""]:
        return position_from(values[1], values[0])
    if sorted(letter in "NS" for letter in letters if letter) != [False, True]:
        raise InputError(f"{words.strip()!r} is no point; one half is N or S and the other E or W, {_EXAMPLE}")
    if letters[0] in "EW":
        values.reverse()
    return position_from(values[1], values[0])


def _split(words: str) -> list[tuple[float, str]]:
    """Return the two halves as signed degrees with their letter, or without one."""
    parts = [part.strip() for part in re.split(r"[,;\t]", words) if part.strip()]
    if len(parts) != 2:
        found = list(_HALF.finditer(words))
        rest = _HALF.sub("", words).strip(" ,;\t")
        parts = [match.group().strip() for match in found] if len(found) == 2 and not rest else []
    halves = [match for part in parts if (match := _HALF.fullmatch(part))]
    if len(halves) != 2:
        raise InputError(f"{words!r} is no point; it is a latitude and a longitude in degrees, {_EXAMPLE}")
    return [_degrees(match, words) for match in halves]


def _degrees(match: re.Match[str], words: str) -> tuple[float, str]:
    letter = (match["before"] or match["after"] or "").upper()
    minutes, seconds = float(match["min"] or 0), float(match["sec"] or 0)
    if minutes >= 60 or seconds >= 60:
        raise InputError(f"{words!r} is no point; minutes and seconds are below 60")
    if letter and match["deg"].startswith("-"):
        raise InputError(f"{words!r} is no point; a half with a letter has no minus sign")
    size = abs(float(match["deg"])) + minutes / 60 + seconds / 3600
    is_negative = match["deg"].startswith("-") or letter in ("S", "W")
    return (-size if is_negative else size), letter
