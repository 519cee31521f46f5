"""Weather typed by hand: "18 C, wind 3 m/s from SW, gusts 6 m/s, cloud 40 %, rain 0.2 mm"."""

import re
from typing import Final

import numpy as np

from stillwing.errors import InputError
from stillwing.sky.weather import QUANTITIES, RANGES, Conditions
from stillwing.sky.weatherunits import in_our_unit
from stillwing.sky.wind import BEAUFORT_FROM_M_S, compass_words

__all__ = ["weather_from_words"]

EXAMPLE: Final = "18 C, wind 3 m/s from SW, gusts 6 m/s, cloud 40 %, rain 0.2 mm"
FIGURE: Final = r"(-?\d+(?:[.,]\d+)?)"
TEMPERATURE: Final = re.compile(rf"(?:temperature )?{FIGURE} ?(?:°|degrees? )?(c|f|celsius|fahrenheit)")
WIND: Final = re.compile(rf"wind(?: {FIGURE} ?([a-z/]+))?(?: from (?:the )?(.+?))?(?: gusts? {FIGURE} ?([a-z/]+))?")
GUST: Final = re.compile(rf"gusts? {FIGURE} ?([a-z/]+)")
CLOUD: Final = re.compile(rf"clouds? {FIGURE} ?(%|percent|/ ?8)")
RAIN: Final = re.compile(rf"rain {FIGURE} ?(mm|inch|in)")
THUNDER: Final = re.compile(rf"thunder {FIGURE} ?(%|percent)")
WHOLE: Final = {
    "calm": {"wind_m_s": 0.0},
    "clear": {"cloud_share": 0.0},
    "overcast": {"cloud_share": 1.0},
    "dry": {"rain_mm": 0.0},
    "thunder": {"thunder_share": 1.0},
    "no thunder": {"thunder_share": 0.0},
}


def weather_from_words(words: str) -> Conditions:
    """Return weather typed by hand, arrays of shape (); what is not said is NaN.

    Parameters
    ----------
    words : str
        Parts after commas or semicolons, in any order: a temperature with C or F; "wind" with a speed in m/s, km/h,
        mph, kn or bft and "from" a direction, both or either; "gusts"; "cloud" in % or eighths (3/8); "rain" in mm an
        hour; "thunder" in %; or calm, clear, overcast, dry, thunder, no thunder.

    Raises
    ------
    InputError
        If a part is not understood, is said twice, or is not what weather can be.

    Examples
    --------
    >>> weather = weather_from_words("18 C, wind 3 m/s from SW, cloud 40 %")
    >>> float(weather.temperature_c), float(weather.wind_from_deg), float(weather.cloud_share)
    (18.0, 225.0, 0.4)
    """
    said: dict[str, float] = {}
    # A comma between digits is a decimal one.
    for part in re.split(r";|,(?!\d)", words):
        plain = " ".join(part.casefold().split())
        if not plain:
            continue
        for quantity, value in _part(plain, part.strip()).items():
            if quantity in said:
                raise InputError(f"{part.strip()!r} says again what was said before; say each once, as in '{EXAMPLE}'")
            said[quantity] = _checked(quantity, value, part.strip())
    if not said:
        raise InputError(f"the weather is empty; write it like '{EXAMPLE}'")
    return Conditions(**{name: np.asarray(said.get(name, np.nan), np.float64) for name in QUANTITIES})


def _part(plain: str, part: str) -> dict[str, float]:
    if plain in WHOLE:
        return WHOLE[plain]
    if found := TEMPERATURE.fullmatch(plain):
        return {"temperature_c": _converted("temperature_c", found[1], found[2])}
    if found := GUST.fullmatch(plain):
        return {"gust_m_s": _speed("gust_m_s", found[1], found[2])}
    if found := CLOUD.fullmatch(plain):
        eighths = found[2].startswith("/")
        return {"cloud_share": _number(found[1]) / 8 if eighths else _converted("cloud_share", found[1], found[2])}
    if found := RAIN.fullmatch(plain):
        return {"rain_mm": _converted("rain_mm", found[1], found[2])}
    if found := THUNDER.fullmatch(plain):
        return {"thunder_share": _converted("thunder_share", found[1], found[2])}
    if (found := WIND.fullmatch(plain)) and any(found.groups()):
        speed, unit, point, gust, gust_unit = found.groups()
        wind = {"wind_m_s": _speed("wind_m_s", speed, unit)} if speed else {}
        wind |= {"wind_from_deg": compass_words(point)} if point else {}
        return wind | ({"gust_m_s": _speed("gust_m_s", gust, gust_unit)} if gust else {})
    raise InputError(f"{part!r} is not understood; write the weather like '{EXAMPLE}'")


def _speed(quantity: str, figure: str, unit: str) -> float:
    if unit not in ("bft", "beaufort"):
        return _converted(quantity, figure, unit)
    force = _number(figure)
    if force not in range(len(BEAUFORT_FROM_M_S) - 1):
        raise InputError(f"wind of {figure} {unit} is not one of the whole forces 0 to {len(BEAUFORT_FROM_M_S) - 2}")
    return float(np.mean(BEAUFORT_FROM_M_S[int(force) : int(force) + 2]))


def _converted(quantity: str, figure: str, unit: str) -> float:
    return float(in_our_unit(quantity, _number(figure), unit))


def _number(figure: str) -> float:
    return float(figure.replace(",", "."))


def _checked(quantity: str, value: float, part: str) -> float:
    low, high, unit = RANGES[quantity]
    if not low <= value <= high:
        raise InputError(f"{part!r} makes {quantity} {value:g}; it can be {low:g} to {high:g} {unit}")
    return value
