"""What would spoil a window: turns reckoned by hand, thresholds of the table, shade in time."""

from dataclasses import replace

import numpy as np

from stillwing.animals.thresholds import thresholds_of
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.horizon import Horizon, HorizonEntry, entry_by_height
from stillwing.place.stands import Span
from stillwing.plan.day import plan_day
from stillwing.plan.spoils import spoils_of

from .plans import DAY, FINE, question, square_pond, steady

SOUTH = 2


def spoils(bearing_deg=0.0, horizon=None, **more):
    site = square_pond(horizon=horizon)
    stand = replace(site.stands[SOUTH], reach=(Span(bearing_deg, bearing_deg),))
    weather = {name: more.pop(name) for name in FINE if name in more}
    plan = plan_day(question(replace(site, stands=(stand,)), steady(DAY, **FINE | weather), **more))
    noon = int(plan.moments.sun.apparent_altitude_deg.argmax())
    return spoils_of(plan, noon, noon, 0)


def test_the_wind_turning_their_backs_to_you_is_told_with_its_way():
    # Looking north, a west wind shows the left flank; veering towards north turns the tail to you.
    (told,) = [one for one in spoils(wind_from_deg=270.0, wind_m_s=6.0) if one.startswith("the wind ")]
    assert told.startswith("the wind veering ") and "back quarter" in told
    # In an east wind it is the other way round.
    (told,) = [one for one in spoils(wind_from_deg=90.0, wind_m_s=6.0) if one.startswith("the wind ")]
    assert told.startswith("the wind backing ") and "back quarter" in told


def test_a_light_wind_turns_all_the_time():
    assert "a wind so light turns all the time, and they with it" in spoils(wind_m_s=0.6)
    assert not any("wind" in one for one in spoils(wind_m_s=np.nan))


def test_the_wind_that_they_bear_is_that_of_the_table():
    limits = thresholds_of(question().animal)
    full, none = limits["wind_full_m_s"].likely, limits["wind_none_m_s"].likely
    assert f"wind above {full:g} m/s: fewer of them fly, and none above {none:g} m/s" in spoils()


def test_cloud_costs_the_light_and_on_a_cool_day_the_flight():
    assert "cloud before the sun: the light goes flat" in spoils()
    assert "cloud before the sun: too cold then for most to fly" in spoils(temperature_c=10.0)
    trees = Horizon(tuple(entry_by_height(float(b), 40.0, 300.0) for b in range(0, 360, 30)))
    assert not any(one.startswith("cloud") for one in spoils(horizon=trees))
    assert not any(one.startswith("cloud") for one in spoils(cloud_share=0.9))


def test_trees_that_take_the_sun_within_the_hour_are_told_with_the_time():
    # A wall far off from 190 degrees on. The sun is highest at 13:06; 59 degrees high it goes on by 15 cos 21 / cos 59
    # degrees an hour, so that it takes 22 minutes for 10 degrees; the next step of the plan is 13:30.
    wall = Horizon(tuple(HorizonEntry(b, a) for b, a in ((0.0, 0.0), (189.0, 0.0), (190.0, 80.0), (350.0, 80.0))))
    (told,) = [one for one in spoils(horizon=wall) if one.startswith("staying on")]
    assert told.startswith("staying on: the sun is behind trees or bank from 13:30")


def test_of_birds_that_pass_neither_wind_nor_rain_is_told():
    told = spoils(animal="gull", doing=Behaviour.PASS, wish=Wish(0.0, distance_m=20.0))
    assert told == ("cloud before the sun: the light goes flat",)
