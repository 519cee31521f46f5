"""The steps of a day: from dawn to dusk, by the clock of the site, with what is not known left unknown."""

from dataclasses import replace
from datetime import date

import ephem
import numpy as np
import pytest

from stillwing.errors import InputError
from stillwing.plan.moments import IN_SHADE, IN_SUN, moments_of
from stillwing.sky.observer import Observer

from .plans import DAY, FINE, question, steady


def test_the_day_runs_from_civil_dawn_to_civil_dusk():
    asked = question()
    told = moments_of(asked)
    watcher = ephem.Observer()
    watcher.lat, watcher.lon = str(asked.observer.latitude_deg), str(asked.observer.longitude_deg)
    watcher.horizon, watcher.pressure, watcher.date = "-6", 0, "2024/7/15 00:00"
    # Twilight means the sun's middle 6 degrees below the horizon (U.S. Naval Observatory's definition).
    dawn = watcher.next_rising(ephem.Sun(), use_center=True).datetime()
    dusk = watcher.next_setting(ephem.Sun(), use_center=True).datetime()
    first, last = (told.times[i].replace(tzinfo=None) - told.times[i].utcoffset() for i in (0, -1))
    assert 0 <= (first - dawn).total_seconds() <= 600
    assert 0 <= (dusk - last).total_seconds() <= 600
    assert {moment.utcoffset().total_seconds() for moment in told.times} == {3600.0}
    assert {moment.minute % 10 for moment in told.times} == {0}


def test_a_day_without_night_is_planned_whole_and_one_without_light_is_refused():
    north = Observer(75.0, 20.0)
    assert len(moments_of(question(observer=north))) == 144
    with pytest.raises(InputError, match=r"on 2024-12-20 the sun stays more than 6° below the horizon of square pond"):
        moments_of(question(observer=north, day=date(2024, 12, 20)))


@pytest.mark.parametrize(("day", "hours"), [(date(2024, 3, 31), 23), (date(2024, 10, 27), 25)])
def test_days_when_the_clocks_change_have_their_own_length(day, hours):
    told = moments_of(question(day=day, observer=Observer(75.0, 20.0), zone="Europe/Oslo", step_min=60))
    # At 75 degrees north it is dark for part of these days; the first and the last step tell the zone's change.
    assert told.times[0].date() == told.times[-1].date() == day
    assert len(told) <= hours
    whole = moments_of(question(day=day, observer=Observer(10.0, 20.0), zone="Europe/Oslo", step_min=10))
    steps = np.diff([moment.timestamp() for moment in whole.times])
    assert np.all(steps == 600)


def test_without_weather_everything_is_unknown_and_the_light_is_that_of_a_clear_sky():
    known, unknown = moments_of(question()), moments_of(replace(question(), weather=None))
    assert np.isnan(unknown.weather.wind_m_s).all() and np.isnan(unknown.weather.cloud_share).all()
    assert unknown.light.ground_lx == pytest.approx(known.light.ground_lx)
    told = {factor.name: factor.is_known.any() for factor in unknown.activity.factors}
    assert told == {
        "season": True, "hour": True, "warmth": False, "heat": False, "light": False, "wind": False, "rain": False,
    }  # fmt: skip


def test_solar_time_is_twelve_when_the_sun_is_highest():
    told = moments_of(question(step_min=2.0))
    hour = told.activity.factor("hour").felt[IN_SUN]
    assert hour[int(told.sun.altitude_deg.argmax())] == pytest.approx(12, abs=0.05)


def test_sunshine_is_what_the_cloud_leaves_while_the_sun_is_up():
    told = moments_of(question(weather=steady(DAY, **FINE | {"cloud_share": 0.3})))
    up = told.sun.apparent_altitude_deg > 0
    assert told.sunshine[up] == pytest.approx(0.7) and not told.sunshine[~up].any()


def test_the_sun_warms_who_sits_in_it():
    told = moments_of(question(weather=steady(DAY, **FINE | {"temperature_c": 11.0})))
    noon = int(told.sun.altitude_deg.argmax())
    assert told.activity.chance.likely[IN_SUN, noon] > told.activity.chance.likely[IN_SHADE, noon]
