"""The weather of a day as it was told: typed, from a table, or from a forecast service, with what is doubtful in it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np

from stillwing.errors import ForecastUnavailable, InputError, UnknownThing
from stillwing.sky.forecast import MET_NORWAY, OPEN_METEO, ForecastService, fetch_forecast
from stillwing.sky.observer import Observer
from stillwing.sky.weather import QUANTITIES, HourlyWeather, hourly_weather, weather_at
from stillwing.sky.weathercsv import weather_from_csv
from stillwing.sky.weatherjson import weather_from_hourly_block, weather_from_moments
from stillwing.sky.weatherwords import weather_from_words

__all__ = [
    "NO_WEATHER",
    "SERVICES",
    "ToldWeather",
    "coverage_doubts",
    "forecast_weather",
    "service_named",
    "table_weather",
    "typed_weather",
]

SERVICES: Final[Mapping[str, ForecastService]] = {service.key: service for service in (OPEN_METEO, MET_NORWAY)}
"""Services that can be asked, by key."""
LARGEST_BYTES = 8_000_000
"""Of a table or a saved answer."""
MISSED: Final = {
    "temperature_c": "the air temperature is not known: whether it is warm enough for them is not counted",
    "wind_m_s": "the wind is not known: which way they turn, and whether it is too windy, is not counted",
    "wind_from_deg": "where the wind comes from is not known: any side of them may show",
    "cloud_share": "the cloud is not known: the light is that of a clear sky",
    "rain_mm": "rain is not known and not counted",
}
"""What a quantity that is missing throughout means for a plan."""
UNWARNED: Final = {"gust_m_s": "gusts", "thunder_share": "thunder"}
"""Quantities that a plan warns of and does not count."""


@dataclass(frozen=True, slots=True)
class ToldWeather:
    """Weather with where it comes from."""

    weather: HourlyWeather | None
    """``None`` where nothing is known."""
    source: str
    """For people, as "as typed" or "forecast by open-meteo, 35 min old"."""
    credit: str = ""
    """The line to show with the data."""
    doubts: tuple[str, ...] = ()
    """One sentence each."""


NO_WEATHER: Final = ToldWeather(None, "not told")


def service_named(key: str) -> ForecastService:
    """Return the forecast service of that key.

    Raises
    ------
    UnknownThing
        If there is none.
    """
    try:
        return SERVICES[key.strip().casefold()]
    except KeyError as error:
        raise UnknownThing(
            f'no forecast service is called "{key.strip()}"; there are {" and ".join(SERVICES)}'
        ) from error


def typed_weather(words: str, start: datetime, end: datetime) -> ToldWeather:
    """Return weather in words, the same at every hour from ``start`` to ``end``; raises as `weather_from_words`."""
    typed = weather_from_words(words)
    first, hours = start.astimezone(UTC), (end - start) / timedelta(hours=1)
    times = [first + timedelta(hours=hour) for hour in range(int(np.ceil(hours)) + 1)]
    values = {name: np.full(len(times), float(getattr(typed, name))) for name in QUANTITIES}
    return ToldWeather(hourly_weather(times, **values), f"as typed: {words.strip()}")


def table_weather(path: Path, zone: tzinfo) -> ToldWeather:
    """Return the weather of a file: a table in CSV, or an answer of a service that was saved as JSON.

    Parameters
    ----------
    path : Path
        Told apart by what is in it, not by its name.
    zone : tzinfo
        Of times in the table that say none.

    Raises
    ------
    InputError
        If it cannot be read, or is neither.
    """
    text = _text(path)
    if not text.lstrip().startswith(("{", "[")):
        return ToldWeather(weather_from_csv(text, zone, str(path)), f"table {path.name}")
    try:
        answer = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path} begins like JSON, but cannot be read as such: {error}") from error
    if not isinstance(answer, Mapping) or not {"hourly", "properties"} & set(answer):
        raise InputError(
            f"{path} is JSON, but no forecast: it needs 'hourly' series or 'properties' with a time series"
        )
    read = weather_from_hourly_block if "hourly" in answer else weather_from_moments
    try:
        return ToldWeather(read(answer), f"saved forecast {path.name}")
    except InputError as error:
        raise InputError(f"{path}: {error}") from error


def forecast_weather(
    service: ForecastService, observer: Observer, folder: Path | None = None, now: datetime | None = None
) -> ToldWeather:
    """Return what a service says of a place; where it cannot be had, no weather and the reason among the doubts.

    Parameters
    ----------
    service, observer, folder, now
        As `stillwing.sky.forecast.fetch_forecast` takes them.
    """
    try:
        got = fetch_forecast(service, observer, folder, now=now)
    except ForecastUnavailable as error:
        return ToldWeather(None, "not known", doubts=(str(error),))
    return ToldWeather(
        got.weather, f"forecast by {service.key}, {got.age_words}", got.credit, (got.trouble,) if got.trouble else ()
    )


def coverage_doubts(weather: HourlyWeather | None, start: datetime, end: datetime, zone: tzinfo) -> tuple[str, ...]:
    """Return what the weather does not tell of the time from ``start`` to ``end``, one sentence each.

    Parameters
    ----------
    weather : HourlyWeather or None
        ``None`` where nothing is known.
    start, end : datetime
        Aware.
    zone : tzinfo
        In which times are told.
    """
    if weather is None or not weather.known:
        return ("nothing is known of the weather",)
    spans = _known_spans(weather, start, end)
    if not spans:
        first, last = weather.times[0], weather.times[-1]
        return (
            f"the weather covers {_moment(first, zone)} to {_moment(last, zone)}, nothing of this day: it is taken as "
            "not known",
        )
    return (*_partly(spans, start, end, zone), *_missing(weather, start, end))


def _telling(weather: HourlyWeather, start: datetime, end: datetime) -> list[datetime]:
    """Return moments of a day, rising, between which nothing becomes known or unknown but at one of them."""
    times = weather.times
    between = (earlier + (later - earlier) / 2 for earlier, later in pairwise(times))
    return sorted({start.astimezone(UTC), end.astimezone(UTC), *(t for t in (*times, *between) if start < t < end)})


def _known_spans(weather: HourlyWeather, start: datetime, end: datetime) -> list[tuple[datetime, datetime]]:
    """Return the spans of a day in which anything is known; a moment that stands alone is a span without length."""
    moments = _telling(weather, start, end)
    at = weather_at(weather, moments)
    known = np.any([np.isfinite(getattr(at, name)) for name in QUANTITIES], axis=0)
    edges = np.diff(np.concatenate([[0], known.astype(np.intp), [0]]))
    firsts, lasts = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    # What begins at midnight belongs to the day that follows.
    return [(moments[first], moments[last]) for first, last in zip(firsts, lasts, strict=True) if moments[first] < end]


def _partly(spans: list[tuple[datetime, datetime]], start: datetime, end: datetime, zone: tzinfo) -> tuple[str, ...]:
    begins_late = spans[0][0] > start
    # A table of 24 hours ends at 23:00, and tells the whole day.
    ends_early = spans[-1][1] < end - timedelta(hours=1)
    if len(spans) == 1 and not (begins_late or ends_early):
        return ()
    told = [_span_words(span, start, end, zone) for span in spans]
    listed = " and ".join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)
    beyond = " and ".join(["before"] * begins_late + ["after"] * ends_early) + " that"
    rest = beyond if len(spans) == 1 else "at other times"
    return (f"the weather is known {listed}; {rest} it is taken as not known",)


def _span_words(span: tuple[datetime, datetime], start: datetime, end: datetime, zone: tzinfo) -> str:
    begins, ends = (f"{when.astimezone(zone):%H:%M}" for when in span)
    if span[0] == span[1]:
        return f"at {begins}"
    if span[0] == start.astimezone(UTC):
        return f"up to {ends}"
    return f"from {begins} on" if span[1] >= end - timedelta(hours=1) else f"from {begins} to {ends}"


def _missing(weather: HourlyWeather, start: datetime, end: datetime) -> tuple[str, ...]:
    at = weather_at(weather, _telling(weather, start, end))
    missing = {name for name in QUANTITIES if not np.isfinite(getattr(at, name)).any()}
    # Without wind, or in still air, nobody asks where it comes from.
    if not (at.wind_m_s > 0).any():
        missing.discard("wind_from_deg")
    unwarned = [word for name, word in UNWARNED.items() if name in missing]
    verb, them = ("is", "it") if unwarned == ["thunder"] else ("are", "them")
    told = f"{' and '.join(unwarned)} {verb} not known: no warning of {them} can be given"
    return (*(sentence for name, sentence in MISSED.items() if name in missing), *([told] if unwarned else ()))


def _moment(when: datetime, zone: tzinfo) -> str:
    return f"{when.astimezone(zone):%Y-%m-%d %H:%M}"


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}") from error
    if len(content) > LARGEST_BYTES:
        raise InputError(f"{path} is larger than {LARGEST_BYTES // 1_000_000} MB; a weather table is far smaller")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is no text in UTF-8; write the weather as a CSV table or as JSON") from error
