"""The day in steps: sun, light, weather and whether the animal is on the wing, in the sun and in shade."""

from dataclasses import dataclass, fields, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from stillwing.animals import conditions as met
from stillwing.animals.activity import Activity, activity
from stillwing.errors import InputError
from stillwing.plan.question import PlanQuestion
from stillwing.sky.daylight import Daylight, daylight
from stillwing.sky.instants import datetimes, unix_seconds, zone_named
from stillwing.sky.sun import SunPosition, sun_position
from stillwing.sky.suntimes import CIVIL_DEG, day_bounds
from stillwing.sky.weather import QUANTITIES, Conditions, weather_at

__all__ = ["IN_SHADE", "IN_SUN", "STATES", "Moments", "moments_of"]

Reals = NDArray[np.float64]
IN_SHADE, IN_SUN = 0, 1
"""Of trees and banks: whether the sun clears them, clouds left out."""
STATES = (IN_SHADE, IN_SUN)


@dataclass(frozen=True, slots=True)
class Moments:
    """Steps of one day from civil dawn to civil dusk; arrays of shape (n,)."""

    times: tuple[datetime, ...]
    """In the site's zone."""
    sun: SunPosition
    weather: Conditions
    """NaN where it is not known."""
    light: Daylight
    """That of the cloud; of a clear sky where the cloud is not known."""
    sunshine: Reals
    """Share of the time that no cloud is before the sun; 1 where the cloud is not known, 0 where the sun is down."""
    activity: Activity
    """Shape (2, n): in shade and in the sun."""

    def __len__(self) -> int:
        return len(self.times)


def moments_of(question: PlanQuestion) -> Moments:
    """Return the steps of the day that is asked for.

    Raises
    ------
    InputError
        If the sun does not come up to civil twilight on that day.
    """
    clock = zone_named(question.zone)
    start, end = day_bounds(question.day, clock)
    at = np.arange(start.timestamp(), end.timestamp(), 60.0 * question.step_min)
    sun = sun_position(question.observer, at)
    is_day = sun.altitude_deg > CIVIL_DEG
    if not is_day.any():
        raise InputError(
            f"on {question.day.isoformat()} the sun stays more than {-CIVIL_DEG:g}° below the horizon of "
            f"{question.site.name}; there is no light to plan with"
        )
    at, sun = at[is_day], _only(sun, is_day)
    times = datetimes(at, clock)
    weather = _weather(question, at)
    light = daylight(question.observer, at, np.nan_to_num(weather.cloud_share, nan=0.0))
    shines = np.where(sun.apparent_altitude_deg > 0, 1.0 - np.nan_to_num(weather.cloud_share, nan=0.0), 0.0)
    return Moments(times, sun, weather, light, shines, _activity(question, at, sun, weather, light))


def _only(sun: SunPosition, which: NDArray[np.bool_]) -> SunPosition:
    return replace(sun, **{field.name: getattr(sun, field.name)[which] for field in fields(sun)})


def _weather(question: PlanQuestion, at: Reals) -> Conditions:
    if question.weather is None:
        return Conditions(**{name: np.full(at.shape, np.nan) for name in QUANTITIES})
    return weather_at(question.weather, at)


def _activity(question: PlanQuestion, at: Reals, sun: SunPosition, weather: Conditions, light: Daylight) -> Activity:
    """Return how far the animal is on the wing, shape (2, n); what the weather does not tell is left unknown."""
    # True solar time: that of the meridian, and what the sun runs ahead of the clock.
    hour = (unix_seconds(at) / 3600 + question.observer.longitude_deg / 15 + sun.equation_of_time_min / 60) % 24
    cloud = weather.cloud_share
    ground = np.where(np.isnan(cloud), np.nan, light.ground_lx)
    clear = np.array([[0.0], [1.0]]) * (sun.apparent_altitude_deg > 0)
    return activity(
        question.animal,
        met.Conditions(
            air_c=weather.temperature_c,
            wind_m_s=weather.wind_m_s,
            cloud_share=cloud,
            illuminance_lx=ground,
            rain_mm_h=weather.rain_mm,
            solar_hour=hour,
            day_of_year=float(question.day.timetuple().tm_yday),
            is_in_sun=clear,
        ),
    )
