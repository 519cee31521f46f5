"""Endings: what ends the day is what the weather, the trees or the light take away."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stillwing.place.horizon import Horizon, entry_by_height
from stillwing.plan.day import plan_day
from stillwing.plan.ending import OF_PEAK, ending_of
from stillwing.sky.weather import hourly_weather

from .plans import DAY, FINE, question, square_pond, steady


def turning(**after):
    """Return a fine day that turns between 13:00 and 14:00 UTC, 15:00 by the clock."""
    times = [datetime(DAY.year, DAY.month, DAY.day, tzinfo=UTC) + timedelta(hours=h) for h in range(-2, 26)]
    late = np.array([when.hour >= 14 or when.day > DAY.day for when in times])
    late &= np.array([when.day >= DAY.day for when in times])
    return hourly_weather(
        times, **{name: np.where(late, after.get(name, value), value) for name, value in FINE.items()}
    )


@pytest.mark.parametrize(
    ("after", "words"),
    [
        ({"wind_m_s": 15.0}, "too windy: {:.0f} m/s is more than"),
        ({"temperature_c": 4.0}, "too cold: {:.0f} °C is less than"),
        ({"temperature_c": 39.0}, "too hot: {:.0f} °C is more than"),
        ({"rain_mm": 6.0}, "rain: {:.1f} mm an hour is more than"),
    ],
)
def test_what_turns_ends_the_day(after, words):
    plan = plan_day(question(weather=turning(**after)))
    ending = ending_of(plan)
    assert 14 <= ending.when.hour <= 15
    # From 14:00 by the clock to 15:00 it turns in a straight line; rain is that of the hour.
    ((name, value),) = after.items()
    share = 1.0 if name == "rain_mm" or ending.when.hour == 15 else ending.when.minute / 60
    assert ending.why.startswith(words.format(FINE[name] + share * (value - FINE[name])))
    best = plan.cells.keepers_h.max(axis=1)
    rows = [when >= ending.when for when in plan.times]
    assert best[rows].max() < OF_PEAK * best.max()
    assert best[int(np.argmax(rows)) - 1] >= OF_PEAK * best.max()


def test_a_fine_day_ends_in_the_evening_by_hour_or_light():
    ending = ending_of(plan_day(question()))
    assert ending.when.hour >= 18
    assert ending.why.startswith(("late in the day", "too dark", "the light no longer pays"))


def test_trees_in_the_west_end_a_cool_day_by_taking_the_sun():
    trees = Horizon(tuple(entry_by_height(float(b), 60.0, 60.0) for b in range(200, 341, 10)))
    # At 10 degrees the hawker flies only where the sun has warmed it.
    weather = steady(DAY, **FINE | {"temperature_c": 10.0})
    open_day, plan = (plan_day(question(square_pond(horizon=horizon), weather)) for horizon in (None, trees))
    ending = ending_of(plan)
    assert ending.why.startswith("the sun is behind trees or bank at ")
    assert ending.when < ending_of(open_day).when
    row = plan.times.index(ending.when)
    assert not plan.cells.sun_is_clear[row].all()


def test_nothing_begun_is_nothing_ended():
    plan = plan_day(question(weather=turning(), day=DAY.replace(month=1)))
    assert ending_of(plan) is None
