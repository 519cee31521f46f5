"""Cautions: what matters on the day and nothing else, but for the bank, which always does."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.stands import Span
from stillwing.plan.cautions import BANK, cautions_of
from stillwing.plan.day import plan_day
from stillwing.plan.question import Stance
from stillwing.sky.observer import Observer

from .plans import DAY, FINE, question, square_pond, steady

WEST = 3


def told(weather=FINE, **more):
    day = more.get("day", DAY)
    return cautions_of(plan_day(question(weather=steady(day, **weather), step_min=30.0, **more)))


def test_the_bank_is_told_always_and_alone_on_a_mild_winter_day():
    day = date(2024, 1, 15)
    assert told(FINE | {"temperature_c": 8.0}, day=day) == (BANK,)
    assert BANK in told()


@pytest.mark.parametrize(
    ("weather", "words"),
    [
        ({"temperature_c": 29.0}, "It gets 29 °C: take water"),
        ({"temperature_c": 33.0}, "It gets 33 °C: keep it short"),
        ({"gust_m_s": 15.0}, "Gusts of up to 15 m/s"),
        ({"thunder_share": 0.2}, "Thunder is in the forecast"),
    ],
)
def test_weather_that_hurts_is_told(weather, words):
    assert any(one.startswith(words) for one in told(FINE | weather))
    assert not any(one.startswith(words) for one in told(FINE))


def test_what_is_not_known_is_no_danger_claimed():
    asked = replace(question(step_min=30.0), weather=None)
    assert not any(word in one for one in cautions_of(plan_day(asked)) for word in ("It gets", "Gusts", "Thunder"))


def test_the_sun_near_the_line_of_sight_is_told_with_stand_and_hours_first_of_all():
    site = square_pond()
    into_it = replace(site.stands[WEST], reach=(Span(60, 75),))
    plan = plan_day(question(replace(site, stands=(*site.stands[:WEST], into_it)), stance=Stance(lens_m=0.2)))
    first = cautions_of(plan)[0]
    rows = np.flatnonzero(plan.cells.is_dangerous[:, WEST])
    assert first.startswith("The sun is near every line of sight from west (")
    assert f"({plan.times[rows[0]]:%H:%M} to " in first and "optical finder" in first
    assert not any("line of sight" in one for one in told())


@pytest.mark.parametrize(
    ("day", "latitude", "ticks", "nests"),
    [
        (date(2024, 1, 15), 52.0, False, False),
        (date(2024, 3, 1), 52.0, True, True),
        (date(2024, 7, 31), 52.0, True, True),
        (date(2024, 8, 1), 52.0, True, False),
        (date(2024, 11, 1), 52.0, False, False),
        (date(2024, 1, 15), -34.0, True, True),  # as July in the north
        (date(2024, 2, 15), -34.0, True, False),  # as August
        (date(2024, 6, 15), -34.0, False, False),  # as December
    ],
)
def test_ticks_and_nests_go_with_the_season(day, latitude, ticks, nests):
    found = told(day=day, observer=Observer(latitude, 18.4), zone="UTC")
    assert any(one.startswith("Ticks") for one in found) is ticks
    assert any("breed" in one for one in found) is nests


def test_who_photographs_birds_in_the_breeding_season_is_told_of_licences():
    found = told(animal="gull", doing=Behaviour.PASS, wish=Wish(0.0, distance_m=20.0), day=date(2024, 5, 1))
    assert any("licences and local codes" in one for one in found)


def test_every_caution_is_one_sentence():
    for one in told(FINE | {"temperature_c": 33.0, "gust_m_s": 20.0}):
        assert one[0].isupper() and one.endswith(".") and ". " not in one
