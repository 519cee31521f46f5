"""A day told whole: fine, without weather, without reach, on days of 23 and 25 hours, where the sun does not set."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.site import with_proposed_stands
from stillwing.plan.moves import moves_of
from stillwing.plan.reasons import side_reason
from stillwing.plan.tellday import tell_day
from stillwing.plan.windows import windows_of
from stillwing.sky.observer import Observer
from stillwing.sky.toldweather import NO_WEATHER, ToldWeather
from stillwing.sky.weather import hourly_weather

from .plans import DAY, FINE, question, square_pond, steady


def told(asked, **more):
    return tell_day(asked, ToldWeather(asked.weather, "as typed", **more))


def bird(site=None):
    """Return a question with few what-ifs: of birds little is known."""
    return question(site, animal="gull", doing=Behaviour.PASS, wish=Wish(0.0, distance_m=20.0))


def test_a_fine_day_is_told_whole():
    day = told(question(with_proposed_stands(square_pond())))
    stands = len(day.plan.question.site.stands)
    assert [stand for row in day.stretches for stand in row.stands] == list(range(stands))
    assert day.windows == windows_of(day.plan) and len(day.windows) == 3
    assert day.moves == moves_of(day.plan)
    assert day.ending is not None and day.ending.when >= day.moves[-1].end
    assert len(day.what_ifs) >= 5 and day.cautions
    assert all(len(one.keepers) == len(one.keepers_before) == 3 for one in day.what_ifs)
    assert any("encounters an hour are assumed" in doubt for doubt in day.doubts)
    assert all("nan" not in phrase for window in day.windows for phrase in (*window.reasons, *window.spoils))


def test_the_weather_told_is_the_weather_planned_with():
    asked = question()
    day = tell_day(asked, NO_WEATHER)
    assert day.plan.question.weather is None
    assert any("sun alone" in doubt for doubt in day.doubts)
    assert any(phrase == "wind not known: any side may show" for phrase in day.windows[0].reasons)


def test_a_forecast_of_other_days_is_no_weather_of_this_one():
    day = told(question(weather=steady(DAY.replace(day=20), **FINE)))
    assert any(doubt.startswith("the weather covers 2024-07-19") for doubt in day.doubts)
    assert any("sun alone" in doubt for doubt in day.doubts)
    assert all("kneel" in one.what for one in day.what_ifs)


def test_weather_of_a_part_of_the_day_is_told_as_such():
    hours = [datetime(DAY.year, DAY.month, DAY.day, hour, tzinfo=UTC) for hour in range(8, 15)]
    day = told(question(weather=hourly_weather(hours, **{name: [value] * 7 for name, value in FINE.items()})))
    assert "the weather is known from 09:00 to 15:00; before and after that it is taken as not known" in day.doubts
    evening = [i for i, when in enumerate(day.plan.times) if when.hour >= 16]
    assert all(side_reason(day.plan, i, 0) == "wind not known: any side may show" for i in evening)
    assert side_reason(day.plan, day.windows[0].moment, 0).endswith("wind S 3 m/s")


def test_doubts_about_the_weather_are_handed_on_once():
    day = told(bird(), doubts=("the forecast is 9 hours old", "the forecast is 9 hours old"))
    assert day.doubts.count("the forecast is 9 hours old") == 1


def test_stands_without_reach_are_named():
    site = square_pond()
    blind = replace(site.stands[1], reach=())
    day = told(bird(replace(site, stands=(site.stands[0], blind, *site.stands[2:]))))
    assert "no bearing looks over enough water from east" in day.doubts
    assert day.windows


def test_with_no_stand_in_reach_nothing_is_promised():
    site = square_pond()
    day = told(question(replace(site, stands=tuple(replace(stand, reach=()) for stand in site.stands))))
    assert day.windows == day.moves == day.what_ifs == () and day.ending is None
    assert any(doubt.startswith("no stand looks over enough water") for doubt in day.doubts)
    assert any(doubt.startswith("nothing is to be expected on this day, 0 keepers") for doubt in day.doubts)


def test_of_birds_it_is_told_that_no_threshold_is_known():
    assert any("is not known: only its season is counted" in doubt for doubt in told(bird()).doubts)


@pytest.mark.parametrize(
    ("day", "where", "zone", "is_bird"),
    [
        (date(2024, 3, 31), (52.0, 0.1), "Europe/London", True),
        (date(2024, 10, 27), (52.0, 0.1), "Europe/London", True),
        (date(2024, 6, 20), (69.6, 18.9), "Europe/Oslo", False),
        (date(2024, 6, 20), (60.0, 25.0), "Europe/Helsinki", False),
        (date(2024, 1, 15), (-34.0, 18.4), "Africa/Johannesburg", True),
    ],
)
def test_odd_days_are_told_within_themselves(day, where, zone, is_bird):
    bird = {"animal": "gull", "doing": Behaviour.PASS, "wish": Wish(0.0, distance_m=20.0)}
    found = told(question(day=day, observer=Observer(*where), zone=zone, **(bird if is_bird else {})))
    for stay in (*found.windows, *found.moves):
        assert stay.start < stay.end
        assert stay.start.date() == day
        assert stay.end.timestamp() <= found.plan.times[-1].timestamp() + 600
    if found.ending is not None:
        assert found.ending.when in found.plan.times


def test_the_question_is_not_changed():
    asked = question()
    before = asked.weather
    tell_day(asked, NO_WEATHER)
    assert asked.weather is before and asked.day == DAY
