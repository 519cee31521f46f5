"""The forecast for a place from an open service, or its last copy where there is no network."""

import json
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any, Final

import httpx

from stillwing.errors import ForecastUnavailable, InputError, WriteFailed
from stillwing.sky.forecastcache import KeptAnswer, default_folder, keep, kept
from stillwing.sky.observer import Observer
from stillwing.sky.weather import HourlyWeather
from stillwing.sky.weatherjson import CODE_NAME, HOURLY_NAMES, weather_from_hourly_block, weather_from_moments

__all__ = ["MET_NORWAY", "OPEN_METEO", "Forecast", "ForecastService", "fetch_forecast"]

PLACE_DECIMALS = 2
"""A service is told the place to 0.01 degrees, 1 km: forecasts are no finer, and a breeding site stays private."""
LARGEST_ANSWER_BYTES = 8_000_000
"""Twenty times the largest that the services are known to send."""
FRESH_S = 3600.0
"""Services renew their forecasts every hour at most."""
CLOCK_PLAY_S = 300.0
PATIENCE_S = 10.0
WHOLE_IN_PATIENCES = 3
"""A whole answer may take so many times as long as any one wait: one that trickles in has an end too."""


@dataclass(frozen=True, slots=True)
class ForecastService:
    """A service that answers with JSON: its address, what to ask and how to read it."""

    key: str
    """For file names."""
    url: str
    query: Callable[[float, float], Mapping[str, str]]
    """What to ask for latitude and longitude. [deg]"""
    read: Callable[[object], HourlyWeather]
    credit: str
    """Whose data it is and under which licence; to be shown with the forecast."""
    contact: str = ""
    """Address or page of whoever runs this program, where the service asks for one."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """A forecast and how old it is."""

    weather: HourlyWeather
    fetched_at: datetime
    age_s: float
    is_copy: bool
    """Whether it is the copy kept, rather than fetched just now."""
    credit: str
    trouble: str = ""
    """Why it is an old copy, or could not be kept; empty where all went well."""

    @property
    def age_words(self) -> str:
        """How old, as in "fetched just now" or "5 h old"."""
        if self.age_s < 60:
            return "fetched just now"
        if self.age_s < 5400:
            return f"{self.age_s / 60:.0f} min old"
        return f"{self.age_s / 3600:.0f} h old" if self.age_s < 48 * 3600 else f"{self.age_s / 86400:.0f} days old"


def _ask_series(latitude_deg: float, longitude_deg: float) -> Mapping[str, str]:
    # Seconds since 1970 leave no doubt on the days when clocks change.
    return {
        "latitude": f"{latitude_deg:.{PLACE_DECIMALS}f}",
        "longitude": f"{longitude_deg:.{PLACE_DECIMALS}f}",
        "hourly": ",".join((*HOURLY_NAMES.values(), CODE_NAME)),
        "wind_speed_unit": "ms",
        "timeformat": "unixtime",
        "timezone": "UTC",
    }


def _ask_moments(latitude_deg: float, longitude_deg: float) -> Mapping[str, str]:
    return {"lat": f"{latitude_deg:.{PLACE_DECIMALS}f}", "lon": f"{longitude_deg:.{PLACE_DECIMALS}f}"}


OPEN_METEO: Final = ForecastService(
    "open-meteo",
    "https://api.open-meteo.com/v1/forecast",
    _ask_series,
    weather_from_hourly_block,
    "Weather data by Open-Meteo.com, CC BY 4.0; free of charge for non-commercial use",
)
MET_NORWAY: Final = ForecastService(
    "met-norway",
    "https://api.met.no/weatherapi/locationforecast/2.0/complete",
    _ask_moments,
    weather_from_moments,
    "Weather data by the Norwegian Meteorological Institute, CC BY 4.0 / NLOD 2.0",
)


def fetch_forecast(
    service: ForecastService,
    observer: Observer,
    folder: Path | None = None,
    fresh_s: float = FRESH_S,
    patience_s: float = PATIENCE_S,
    now: datetime | None = None,
) -> Forecast:
    """Return the forecast for a place: the copy kept while it is fresh, else a new one, else the old copy with its age.

    Parameters
    ----------
    service : ForecastService
        `OPEN_METEO`, `MET_NORWAY`, or one like them at another address.
    observer : Observer
        The place, told to the service to 0.01 degrees.
    folder : Path, optional
        For the copies, one for each service and place; in the platform's cache folder where not given.
    fresh_s : float, default 3600
        Age up to which a copy is used without asking; 0 asks always. [s]
    patience_s : float, default 10
        Longest wait for a connection or the next piece of the answer; three times that for the whole. [s]
    now : datetime, optional
        Aware; the present where not given.

    Returns
    -------
    Forecast
        ``trouble`` says in a sentence why a copy had to do.

    Raises
    ------
    ForecastUnavailable
        If nothing could be fetched or read, and no copy is kept.
    """
    present = now if now is not None else datetime.now(UTC)
    place = f"{observer.latitude_deg:.{PLACE_DECIMALS}f}_{observer.longitude_deg:.{PLACE_DECIMALS}f}"
    path = (folder if folder is not None else default_folder()) / f"{service.key}_{place}.json"
    copy = _readable(service, kept(path), present)
    if copy is not None and copy.age_s < fresh_s:
        return copy
    try:
        answer = _answer(service, observer, patience_s)
        weather = _weather(service, answer)
    except ForecastUnavailable as error:
        if copy is None:
            raise ForecastUnavailable(f"{error}; no copy is kept, so type the weather in or try later") from error
        return replace(copy, trouble=f"{error}; this is the copy kept, {copy.age_words}")
    trouble = ""
    try:
        keep(path, present, answer)
    except WriteFailed as error:
        trouble = f"the forecast was fetched but not kept for later: {error}"
    return Forecast(weather, present, 0.0, False, service.credit, trouble)


def _readable(service: ForecastService, copy: KeptAnswer | None, present: datetime) -> Forecast | None:
    if copy is None:
        return None
    try:
        weather = service.read(copy.answer)
    except InputError:
        return None
    age = (present - copy.fetched_at).total_seconds()
    # A copy from the future was kept under a clock that was wrong, so that nobody can tell its age.
    return Forecast(weather, copy.fetched_at, max(age, 0.0), True, service.credit) if age > -CLOCK_PLAY_S else None


def _weather(service: ForecastService, answer: object) -> HourlyWeather:
    try:
        return service.read(answer)
    except InputError as error:
        raise _failed(service, f"sent no forecast that can be read: {error}") from error


def _answer(service: ForecastService, observer: Observer, patience_s: float) -> Any:
    agent = f"stillwing/{version('stillwing')} {service.contact}".strip()
    query = service.query(observer.latitude_deg, observer.longitude_deg)
    try:
        with (
            httpx.Client(timeout=patience_s, headers={"User-Agent": agent, "Accept": "application/json"}) as client,
            client.stream("GET", service.url, params=dict(query)) as response,
        ):
            body = _body(service, response, time.monotonic() + WHOLE_IN_PATIENCES * patience_s)
    except httpx.TimeoutException as error:
        raise _failed(service, f"did not answer within {patience_s:g} s") from error
    except (httpx.HTTPError, httpx.InvalidURL) as error:
        why = str(error) or type(error).__name__
        raise _failed(service, f"cannot be reached ({why})") from error
    if response.status_code != httpx.codes.OK:
        reason = _reason(body)
        raise _failed(service, f"answered {response.status_code}{reason}")
    try:
        return json.loads(body)
    except (ValueError, RecursionError) as error:
        raise _failed(service, "sent something that is not JSON") from error


def _body(service: ForecastService, response: httpx.Response, deadline: float) -> bytes:
    pieces: list[bytes] = []
    size = 0
    for piece in response.iter_bytes():
        pieces.append(piece)
        size += len(piece)
        if size > LARGEST_ANSWER_BYTES:
            raise _failed(service, f"sent more than {LARGEST_ANSWER_BYTES / 1e6:g} MB")
        if time.monotonic() > deadline:
            raise _failed(service, "was too slow to finish its answer")
    return b"".join(pieces)


def _reason(body: bytes) -> str:
    with suppress(ValueError, RecursionError, TypeError, KeyError):
        return f": {str(json.loads(body)['reason'])[:200]}"
    return ""


def _failed(service: ForecastService, what: str) -> ForecastUnavailable:
    try:
        host = httpx.URL(service.url).host
    except httpx.InvalidURL:
        host = ""
    return ForecastUnavailable(f"the weather service at {host or service.url} {what}")
