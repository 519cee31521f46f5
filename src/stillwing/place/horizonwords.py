"""A horizon in words: "225, 15 deg; 270, 30 m, 12 m", one thing an entry."""

import re

from stillwing.errors import InputError
from stillwing.place.horizon import Horizon, HorizonEntry, entry_by_height
from stillwing.sky.wind import compass_words

__all__ = ["HORIZON_EXAMPLE", "horizon_of_words"]

HORIZON_EXAMPLE = "225, 15 deg; W, 30 m, 12 m"
_FIGURE = r"(-?\d+(?:\.\d+)?)"
_ANGLE = re.compile(rf"{_FIGURE} ?(?:deg|degrees|°)")
_METRES = re.compile(rf"{_FIGURE} ?m")


def horizon_of_words(words: str) -> Horizon:
    """Return the horizon of words.

    Parameters
    ----------
    words : str
        Entries parted by semicolons or line ends: a bearing in degrees or letters and, after commas, a height as an
        angle, or a distance and a height above the eye in metres. "level" alone is a horizon without entries.

    Raises
    ------
    InputError
        If an entry cannot be read, or two have one bearing; it is named by its number.

    Examples
    --------
    >>> entries = horizon_of_words("225, 15 deg; W, 30 m, 12 m").entries
    >>> [(entry.bearing_deg, round(entry.altitude_deg, 1), entry.distance_m) for entry in entries]
    [(225.0, 15.0, inf), (270.0, 21.8, 30.0)]
    """
    if words.strip().casefold() == "level":
        return Horizon()
    entries = []
    for number, entry in enumerate((one for one in re.split(r"[;\n]", words) if one.strip()), 1):
        try:
            entries.append(_entry([part.strip() for part in entry.split(",")]))
        except InputError as error:
            raise InputError(f"entry {number} of the horizon: {error}") from error
    if not entries:
        raise InputError(f'the horizon is empty; write it like "{HORIZON_EXAMPLE}", or "level"')
    return Horizon(tuple(entries))


def _entry(parts: list[str]) -> HorizonEntry:
    if len(parts) == 2 and (angle := _ANGLE.fullmatch(parts[1])):
        return HorizonEntry(compass_words(parts[0]), float(angle[1]))
    if len(parts) == 3:
        distance, height = (_METRES.fullmatch(part) for part in parts[1:])
        if distance and height:
            return entry_by_height(compass_words(parts[0]), float(distance[1]), float(height[1]))
    raise InputError(f'"{", ".join(parts)}" is not understood; write it like "{HORIZON_EXAMPLE}"')
