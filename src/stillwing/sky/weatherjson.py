"""Weather as open forecast services send it: hourly blocks of series, and time series of moments.

Both are read to their documented shapes; what a service leaves out is unknown, what has another type is refused.
"""

import math
import sys
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Any, Final

import numpy as np

from stillwing.errors import InputError
from stillwing.sky.weather import HourlyWeather, hourly_weather
from stillwing.sky.weatherunits import in_our_unit

__all__ = ["CODE_NAME", "HOURLY_NAMES", "weather_from_hourly_block", "weather_from_moments"]

HOURLY_NAMES: Final = {
    "temperature_c": "temperature_2m",
    "wind_m_s": "wind_speed_10m",
    "gust_m_s": "wind_gusts_10m",
    "wind_from_deg": "wind_direction_10m",
    "cloud_share": "cloud_cover",
    "rain_mm": "precipitation",
}
"""Names of the series in an hourly block, as Open-Meteo documents them."""
MOMENT_NAMES: Final = {
    "temperature_c": ("air_temperature", "celsius"),
    "wind_m_s": ("wind_speed", "m/s"),
    "gust_m_s": ("wind_speed_of_gust", "m/s"),
    "wind_from_deg": ("wind_from_direction", "degrees"),
    "cloud_share": ("cloud_area_fraction", "%"),
}
"""Names and usual units of the details of a moment, as the Norwegian Meteorological Institute documents them."""
RAIN_NAME: Final = "precipitation_amount"
THUNDER_NAME: Final = "probability_of_thunder"
CODE_NAME: Final = "weather_code"
THUNDERSTORMS: Final = frozenset({17, *range(95, 100)})
"""Codes of thunderstorms at the time of observation (17: a dry one) in WMO code table 4677 (Manual on Codes, WMO-No.
306, volume I.1); Open-Meteo documents 95, 96 and 99 of them."""
MOST_HOURS = 20_000


def weather_from_hourly_block(answer: object) -> HourlyWeather:
    """Return the weather of an answer with an ``hourly`` block of series, as Open-Meteo sends it.

    Parameters
    ----------
    answer : object
        The JSON as read. Units are taken from ``hourly_units``. Times without a zone are local, ``utc_offset_seconds``
        ahead of UTC; with the unit "unixtime" they are seconds. Rain is that of the hour before.

    Raises
    ------
    InputError
        If a part is missing, of another type or of another length; the message names it.
    """
    answer = _mapping(answer, "the answer")
    if answer.get("error"):
        raise InputError(f"the weather service refused: {str(answer.get('reason', 'without a reason'))[:200]}")
    block = _mapping(answer.get("hourly"), "'hourly'")
    units = _mapping(answer.get("hourly_units"), "'hourly_units'")
    raw = _sequence(block.get("time"), "'hourly.time'")
    if units.get("time") == "unixtime":
        times = [_stamp(_number(item, "'hourly.time'")) for item in raw]
    else:
        offset = _number(answer.get("utc_offset_seconds"), "'utc_offset_seconds'")
        if not abs(offset) < 86400:
            raise InputError(f"'utc_offset_seconds' of the forecast is {offset:g}; it must be less than a day")
        times = [_instant(item, timezone(timedelta(seconds=offset))) for item in raw]
    values = {}
    for quantity, name in HOURLY_NAMES.items():
        if block.get(name) is not None:
            series = [_value(item, f"'hourly.{name}'") for item in _sequence(block[name], f"'hourly.{name}'")]
            values[quantity] = in_our_unit(quantity, series, str(units.get(name, "")))
    if block.get(CODE_NAME) is not None:
        codes = [_value(item, f"'hourly.{CODE_NAME}'") for item in _sequence(block[CODE_NAME], f"'hourly.{CODE_NAME}'")]
        values["thunder_share"] = np.array([_thunder_of_code(code) for code in codes], np.float64)
    if not values:
        raise InputError(f"the forecast's 'hourly' block holds none of {', '.join(HOURLY_NAMES.values())}")
    return hourly_weather(times, **values)


def weather_from_moments(answer: object) -> HourlyWeather:
    """Return the weather of an answer with a series of moments, as the Norwegian Meteorological Institute sends it.

    Parameters
    ----------
    answer : object
        The JSON as read, with ``properties.timeseries``. Units are taken from ``properties.meta.units`` where they
        stand. Rain is given there for the hour that follows; it is kept under that hour's end, where the series has
        one. Amounts for six hours are not used.

    Raises
    ------
    InputError
        If a part is missing or of another type; the message names it.
    """
    properties = _mapping(_mapping(answer, "the answer").get("properties"), "'properties'")
    units = _mapping(
        _mapping(properties.get("meta", {}), "'properties.meta'").get("units", {}), "'properties.meta.units'"
    )
    steps = [
        _mapping(step, "a step of the time series") for step in _sequence(properties.get("timeseries"), "'timeseries'")
    ]
    times = [_instant(step.get("time"), UTC) for step in steps]
    parts = [_mapping(step.get("data"), "'data' of a step") for step in steps]
    details = [_details(part.get("instant"), "'instant' of a step") for part in parts]
    values = {}
    for quantity, (name, unit) in MOMENT_NAMES.items():
        series = [_value(detail.get(name), f"'{name}'") for detail in details]
        values[quantity] = in_our_unit(quantity, series, str(units.get(name, unit)))
    following = [
        math.nan
        if "next_1_hours" not in part
        else _value(_details(part["next_1_hours"], "'next_1_hours'").get(RAIN_NAME), RAIN_NAME)
        for part in parts
    ]
    rain = in_our_unit("rain_mm", following, str(units.get(RAIN_NAME, "mm")))
    ends = {time + timedelta(hours=1): amount for time, amount in zip(times, rain, strict=True)}
    values["rain_mm"] = np.array([ends.get(time, math.nan) for time in times], np.float64)
    thunder_unit = str(units.get(THUNDER_NAME, "%"))
    values["thunder_share"] = np.array([_thunder_of_step(part, thunder_unit) for part in parts], np.float64)
    return hourly_weather(times, **values)


def _thunder_of_code(code: float) -> float:
    return math.nan if math.isnan(code) else float(code in THUNDERSTORMS)


def _thunder_of_step(part: Mapping[str, Any], unit: str) -> float:
    """Return the chance of thunder in the hour that follows: as told, else by the symbol; NaN without either."""
    if "next_1_hours" not in part:
        return math.nan
    following = _mapping(part["next_1_hours"], "'next_1_hours'")
    told = _value(_details(following, "'next_1_hours'").get(THUNDER_NAME), f"'{THUNDER_NAME}'")
    if not math.isnan(told):
        return float(in_our_unit("thunder_share", told, unit))
    symbol = _mapping(following.get("summary", {}), "'summary' of 'next_1_hours'").get("symbol_code")
    if symbol is not None and not isinstance(symbol, str):
        raise InputError(f"'symbol_code' of the forecast is {_kind(symbol)}; it must be text")
    return math.nan if symbol is None else float("thunder" in symbol)


def _details(part: object, what: str) -> Mapping[str, Any]:
    return _mapping(_mapping(part, what).get("details", {}), f"details of {what}")


def _mapping(part: object, what: str) -> Mapping[str, Any]:
    if not isinstance(part, Mapping):
        raise InputError(f"{what} of the forecast is {_kind(part)}; it must be a JSON object")
    return part


def _sequence(part: object, what: str) -> Sequence[Any]:
    if not isinstance(part, list) or not part:
        raise InputError(f"{what} of the forecast is {_kind(part)}; it must be a JSON array with something in it")
    if len(part) > MOST_HOURS:
        raise InputError(f"{what} of the forecast has {len(part)} values; {MOST_HOURS} are allowed")
    return part


def _number(part: object, what: str) -> float:
    # JSON has whole numbers of any length, and no float holds those beyond 1e308.
    if isinstance(part, bool) or not isinstance(part, int | float) or not abs(part) <= sys.float_info.max:
        raise InputError(f"{what} of the forecast holds {_kind(part)} where a number must stand")
    return float(part)


def _value(part: object, what: str) -> float:
    return math.nan if part is None else _number(part, what)


def _stamp(seconds: float) -> datetime:
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError) as error:
        raise InputError(f"a time of the forecast is {seconds:g} s after 1970, which is no date") from error


def _instant(part: object, zone: timezone) -> datetime:
    try:
        when = datetime.fromisoformat(str(part))
        return (when if when.tzinfo else when.replace(tzinfo=zone)).astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise InputError(f"a time of the forecast is {str(part)[:40]!r}; it must be like 2024-06-20T12:00") from error


def _kind(part: object) -> str:
    names = {dict: "an object", list: "an array", str: "text", bool: "true or false", type(None): "missing"}
    if isinstance(part, list) and not part:
        return "empty"
    return names.get(type(part), f"{str(part)[:40]}")
