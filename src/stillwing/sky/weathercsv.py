"""Weather as a table in CSV: one row an hour, under the names of our own quantities."""

import csv
import io
import math
from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo

from stillwing.errors import InputError
from stillwing.sky.weather import QUANTITIES, RANGES, HourlyWeather, hourly_weather
from stillwing.sky.wind import compass_words

__all__ = ["CSV_COLUMNS", "weather_from_csv"]

CSV_COLUMNS = ("time", *QUANTITIES)
MOST_ROWS = 100_000
"""More than eleven years of hours."""


def weather_from_csv(text: str, zone: tzinfo | None = None, name: str = "weather table") -> HourlyWeather:
    r"""Return the weather of a table.

    Parameters
    ----------
    text : str
        A head line with ``time`` and any of the quantities in any order, then one line an hour. Times are ISO 8601; a
        field may be empty. ``wind_from_deg`` takes points of the compass too, such as SW. ``rain_mm`` is that of the
        hour before; ``thunder_share`` the chance of thunder, 0 to 1.
    zone : tzinfo, optional
        Of times that say no zone; without it they are refused.
    name : str, default "weather table"
        What an error calls the table, as its file's name.

    Raises
    ------
    InputError
        If a column is not known or missing, or a field cannot be read; the message names the line.

    Examples
    --------
    >>> weather = weather_from_csv("time,wind_from_deg\n2024-06-20T12:00Z,SW\n")
    >>> float(weather.conditions.wind_from_deg[0])
    225.0
    """
    lines = _lines(text.removeprefix("\ufeff"), name)
    number, head = next(lines, (1, []))
    columns = [column.strip() for column in head]
    _check_columns(columns, f"{name}, line {number}")
    times: list[datetime] = []
    values: dict[str, list[float]] = {column: [] for column in columns if column != "time"}
    for number, row in lines:
        where = f"{name}, line {number}"
        if len(row) != len(columns):
            raise InputError(f"{where}: {len(row)} fields under {len(columns)} columns; there must be one for each")
        if len(times) == MOST_ROWS:
            raise InputError(f"{where}: more than {MOST_ROWS} hours; leave out what lies far from the days to plan")
        for column, field in zip(columns, (field.strip() for field in row), strict=True):
            if column == "time":
                times.append(_time(field, zone, where))
                _check_order(times, where)
            else:
                values[column].append(_value(column, field, where))
    if not times:
        raise InputError(f"{name} holds no hours; it needs at least one line below the head")
    return hourly_weather(times, **values)


def _lines(text: str, name: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text), strict=True)
    try:
        for row in reader:
            if any(field.strip() for field in row):
                yield reader.line_num, row
    except csv.Error as error:
        raise InputError(f"{name}, line {reader.line_num}: not a line of CSV ({error})") from error


def _check_columns(columns: list[str], where: str) -> None:
    unknown = [column for column in columns if column not in CSV_COLUMNS]
    if unknown or len(set(columns)) < len(columns) or "time" not in columns:
        what = f"column {unknown[0]!r} is not known" if unknown else "a column comes twice or 'time' is missing"
        raise InputError(f"{where}: {what}; columns are {', '.join(CSV_COLUMNS)}, parted by commas")


def _time(field: str, zone: tzinfo | None, where: str) -> datetime:
    try:
        when = datetime.fromisoformat(field)
    except ValueError as error:
        raise InputError(f"{where}: time {field!r} cannot be read; write it like 2024-06-20T12:00+01:00") from error
    if when.tzinfo is None:
        if zone is None:
            raise InputError(f"{where}: time {field!r} says no zone; add one, as in {field}+01:00 or {field}Z")
        when = when.replace(tzinfo=zone)
    try:
        return when.astimezone(UTC)
    except OverflowError as error:
        raise InputError(f"{where}: time {field!r} is at the end of the calendar; check its year") from error


def _check_order(times: list[datetime], where: str) -> None:
    if len(times) > 1 and times[-1] <= times[-2]:
        raise InputError(f"{where}: {times[-1]:%Y-%m-%d %H:%M} UTC comes after {times[-2]:%H:%M} UTC; times must rise")


def _value(column: str, field: str, where: str) -> float:
    if not field:
        return math.nan
    low, high, unit = RANGES[column]
    try:
        value = compass_words(field) if column == "wind_from_deg" and not field[0].isdigit() else float(field)
    except ValueError as error:
        raise InputError(f"{where}: {column} is {field!r}; it must be a number or empty") from error
    except InputError as error:
        raise InputError(f"{where}: {error}") from error
    if not low <= value <= high:
        raise InputError(f"{where}: {column} is {value:g}; it can be {low:g} to {high:g} {unit}")
    return value
