"""Weather by the hour, and what it is at any moment between."""

from dataclasses import dataclass, fields
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError
from stillwing.sky.instants import Instants, datetimes, unix_seconds
from stillwing.sky.wind import wind_from_vector, wind_vector

__all__ = ["LONGEST_GAP_S", "QUANTITIES", "RANGES", "Conditions", "HourlyWeather", "hourly_weather", "weather_at"]

LONGEST_GAP_S = 3 * 3600.0
"""Between known values further apart than this nothing is filled in."""
HOUR_S = 3600.0
RANGES: Final = {
    "temperature_c": (-90.0, 60.0, "deg C"),
    "wind_m_s": (0.0, 120.0, "m/s"),
    "gust_m_s": (0.0, 150.0, "m/s"),
    "wind_from_deg": (0.0, 360.0, "deg"),
    "cloud_share": (0.0, 1.0, "of the sky"),
    "rain_mm": (0.0, 500.0, "mm"),
    "thunder_share": (0.0, 1.0, "as a chance"),
}
"""What weather on earth has reached, with a little room (WMO's records, from memory)."""
QUANTITIES: Final = tuple(RANGES)
YEARS: Final = (1850, 2200)
"""Of weather that can be told; a choice, no source. A year beyond is a slip, and the calendar's ends know no zones."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """Weather at moments: arrays of one shape, NaN where not known."""

    temperature_c: NDArray[np.float64]
    """Of the air at 2 m."""
    wind_m_s: NDArray[np.float64]
    """At 10 m, mean over ten minutes."""
    gust_m_s: NDArray[np.float64]
    wind_from_deg: NDArray[np.float64]
    """0 to 360 from north through east; NaN in calm air too."""
    cloud_share: NDArray[np.float64]
    """Share of the sky that cloud covers, 0 to 1."""
    rain_mm: NDArray[np.float64]
    """Within the hour that the moment belongs to, snow as water."""
    thunder_share: NDArray[np.float64]
    """Chance of thunder, 0 to 1; 1 where a thunderstorm is forecast."""

    def spread(self, shape: tuple[int, ...]) -> "Conditions":
        """Return the same weather for moments of a shape, as where one figure stands for a whole day."""
        return Conditions(*(np.broadcast_to(getattr(self, field.name), shape) for field in fields(self)))


@dataclass(frozen=True, slots=True)
class HourlyWeather:
    """A series of weather, its times rising; arrays of shape (n,), NaN where not known."""

    times: tuple[datetime, ...]
    """Aware, UTC."""
    conditions: Conditions
    """At those times; ``rain_mm`` within the hour that ends there."""

    @property
    def known(self) -> tuple[str, ...]:
        """The quantities that have a value at any time."""
        return tuple(name for name in QUANTITIES if np.isfinite(getattr(self.conditions, name)).any())


def hourly_weather(times: Instants, **values: ArrayLike) -> HourlyWeather:
    """Return a series after checking it.

    Parameters
    ----------
    times : Instants, shape (n,)
        In rising order, none twice.
    **values : array_like, shape (n,)
        Any of `QUANTITIES`; NaN where not known, as are those left out.

    Raises
    ------
    InputError
        If the times do not rise or lie ages away, a series is of another length, or a value is not what weather can be.
    """
    seconds = unix_seconds(times)
    if seconds.ndim != 1 or not seconds.size:
        raise InputError("the weather holds no hours; it needs at least one")
    stamps = datetimes(seconds)
    for stamp in (stamps[0], stamps[-1]):
        if not YEARS[0] <= stamp.year <= YEARS[1]:
            raise InputError(f"a time of the weather is in the year {stamp.year}; it can be {YEARS[0]} to {YEARS[1]}")
    back = np.flatnonzero(np.diff(seconds) <= 0)
    if back.size:
        earlier, later = (f"{stamps[back[0] + n]:%Y-%m-%d %H:%M}" for n in (0, 1))
        raise InputError(f"the times of the weather must rise, but {later} UTC follows {earlier} UTC")
    unknown = sorted(set(values) - set(QUANTITIES))
    if unknown:
        raise InputError(f"{unknown[0]!r} is no quantity of the weather; those are {', '.join(QUANTITIES)}")
    series = {name: np.full(seconds.size, np.nan) for name in QUANTITIES}
    for name, given in values.items():
        series[name] = _series(name, given, stamps)
    for array in series.values():
        array.setflags(write=False)
    return HourlyWeather(stamps, Conditions(**series))


def weather_at(weather: HourlyWeather, when: Instants) -> Conditions:
    """Return the weather at moments, shape (...), NaN where the series does not tell.

    Parameters
    ----------
    weather : HourlyWeather
        Series of any spacing.
    when : Instants, shape (...)
        Any moments; those before the first and after the last value are unknown.

    Notes
    -----
    Temperature, cloud, gusts and thunder run straight between the two known values around, if those are no more than
    3 h apart. So does the wind, as a vector: from west to north it turns over north-west and slackens a little on the
    way. Where only its speed is known the speed runs straight. Rain is that of the hour around.
    """
    seconds, at = unix_seconds(weather.times), unix_seconds(when)
    given = weather.conditions
    wind, bearing = _wind_at(seconds, given, at)
    return Conditions(
        temperature_c=_straight(seconds, given.temperature_c, at),
        wind_m_s=wind,
        gust_m_s=_straight(seconds, given.gust_m_s, at),
        wind_from_deg=bearing,
        cloud_share=_straight(seconds, given.cloud_share, at),
        rain_mm=_rain_at(seconds, given.rain_mm, at),
        thunder_share=_straight(seconds, given.thunder_share, at),
    )


def _series(name: str, given: ArrayLike, stamps: tuple[datetime, ...]) -> NDArray[np.float64]:
    low, high, unit = RANGES[name]
    series = np.array(given, np.float64)
    if series.shape != (len(stamps),):
        raise InputError(f"{name} has {series.size} values for {len(stamps)} times; it needs one for each")
    wrong = np.flatnonzero((series < low) | (series > high))
    if wrong.size:
        value, stamp = series[wrong[0]], stamps[wrong[0]]
        raise InputError(f"{name} is {value:g} at {stamp:%Y-%m-%d %H:%M} UTC; it can be {low:g} to {high:g} {unit}")
    return series % 360 if name == "wind_from_deg" else series


def _straight(
    seconds: NDArray[np.float64], values: NDArray[np.float64], at: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Run straight between known neighbours, shape of ``at``; NaN beyond them and in gaps."""
    known = np.isfinite(values)
    if not known.any():
        return np.full(at.shape, np.nan)
    times, values = seconds[known], values[known]
    after = np.clip(np.searchsorted(times, at, side="left"), 0, times.size - 1)
    before = np.maximum(after - (times[after] != at), 0)
    bridged = (times[after] - times[before] <= LONGEST_GAP_S) & (at >= times[0]) & (at <= times[-1])
    return np.where(bridged, np.interp(at, times, values), np.nan)


def _wind_at(
    seconds: NDArray[np.float64], given: Conditions, at: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # In calm air the direction does not matter, and the vector is nothing whatever it is.
    bearings = np.where(given.wind_m_s == 0, np.nan_to_num(given.wind_from_deg), given.wind_from_deg)
    vectors = wind_vector(given.wind_m_s, bearings)
    parts = np.stack([_straight(seconds, vectors[:, axis], at) for axis in (0, 1)], axis=-1)
    speed, bearing = wind_from_vector(parts)
    return np.where(np.isfinite(speed), speed, _straight(seconds, given.wind_m_s, at)), bearing


def _rain_at(
    seconds: NDArray[np.float64], rain_mm: NDArray[np.float64], at: NDArray[np.float64]
) -> NDArray[np.float64]:
    # A figure counts for the hour that ends at its time: after its start, up to and with its end.
    end = np.minimum(np.searchsorted(seconds, at, side="left"), seconds.size - 1)
    within_hour = (at <= seconds[end]) & (at > seconds[end] - HOUR_S)
    return np.where(within_hour, rain_mm[end], np.nan)
