"""Reasons of a cell, against what can be reckoned by hand: one stand that looks north, the sun due south at noon."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown
from stillwing.place.horizon import Horizon, entry_by_height
from stillwing.place.stands import Span
from stillwing.plan.day import FACTORS, plan_day
from stillwing.plan.question import Stance
from stillwing.plan.reasons import (
    activity_reason,
    background_reason,
    cell_reasons,
    clock_words,
    compass_point,
    keepers_words,
    light_reason,
    setting_reason,
    side_at,
    side_reason,
    sun_reason,
    weakest_reason,
    wind_words,
)

from .plans import DAY, FINE, question, square_pond, steady

SOUTH = 2


@cache
def looking(bearing_deg, horizon=None, **more):
    """Return the plan of the south bank's stand alone, which looks in one direction; weather as in `FINE` but for..."""
    site = square_pond(horizon=horizon)
    stand = replace(site.stands[SOUTH], reach=(Span(bearing_deg, bearing_deg),), above_water_m=0.3)
    weather = {name: more.pop(name) for name in FINE if name in more}
    asked = question(replace(site, stands=(stand,)), steady(DAY, **FINE | weather), **more)
    return plan_day(asked)


def noon(plan):
    """Return the moment at which the sun stands highest."""
    return int(plan.moments.sun.apparent_altitude_deg.argmax())


def moment(plan, clock):
    return [clock_words(when) for when in plan.times].index(clock)


def test_at_noon_the_sun_is_straight_behind_who_looks_north():
    plan = looking(0)
    # 90 - 52.0 latitude + 21.4 declination in mid July.
    assert sun_reason(plan, noon(plan), 0) == "sun straight behind you, 59° high"


@pytest.mark.parametrize(
    ("bearing_deg", "clock", "words"),
    [
        # In the afternoon the sun goes to the west: on the left of who looks north, behind who looks east.
        (0, "15:00", "sun over your left shoulder"),
        (0, "11:00", "sun over your right shoulder"),
        (0, "17:30", "sun from your left"),
        (320, "17:30", "sun before you to the left"),
        (15, "09:30", "sun from your right"),
    ],
)
def test_the_sun_stands_over_the_shoulder_that_it_shines_on(bearing_deg, clock, words):
    plan = looking(bearing_deg)
    assert sun_reason(plan, moment(plan, clock), 0).startswith(words)


def test_before_sunrise_and_behind_trees_no_sun_is_claimed():
    trees = Horizon(tuple(entry_by_height(float(b), 40.0, 300.0) for b in range(0, 360, 30)))
    plan = looking(0, trees)
    assert sun_reason(plan, 0, 0) == "the sun is below the horizon"
    told = sun_reason(plan, noon(plan), 0)
    assert told == "the sun is behind trees or bank; it would be straight behind you, 59° high"


def test_under_full_cloud_the_sun_is_said_to_be_behind_it():
    plan = looking(0, cloud_share=1.0)
    assert sun_reason(plan, noon(plan), 0).startswith("the sun is behind cloud")
    assert light_reason(plan, noon(plan), 0).endswith(", flat under cloud")


def test_the_sun_near_the_line_of_sight_is_told_with_its_distance():
    plan = looking(70, stance=Stance(lens_m=0.2))
    danger = int(np.flatnonzero(plan.cells.is_dangerous[:, 0])[-1])
    told = sun_reason(plan, danger, 0)
    assert "° from where you look: never" in told
    assert int(told.split()[1].removesuffix("°")) < 20


def test_your_own_shadow_is_told():
    # From 1.8 m on ground 0.3 m above the water to 0.5 m above it, 3 m off: the sun 28 degrees high, straight behind.
    plan = looking(275)
    (shaded,) = np.nonzero(plan.cells.own_shadow[:, 0])
    altitude = plan.moments.sun.apparent_altitude_deg[shaded]
    assert shaded.size and np.all(np.abs(altitude - np.degrees(np.arctan2(1.6, 3))) < 14)
    assert sun_reason(plan, int(shaded[0]), 0).endswith("high; your shadow falls on the animal")


@pytest.mark.parametrize(
    ("wind_from_deg", "words"),
    [
        (180.0, "face towards you"),  # it heads south, towards who looks north
        (0.0, "tail towards you"),
        (270.0, "left flank towards you"),  # it heads west; its left side is the southern one
        (90.0, "right flank towards you"),
        (225.0, "left front quarter towards you"),
        (315.0, "left back quarter towards you"),
    ],
)
def test_what_hovers_heads_into_the_wind(wind_from_deg, words):
    plan = looking(0, wind_from_deg=wind_from_deg)
    told = side_reason(plan, noon(plan), 0)
    assert told.startswith(words) and told.endswith(f"wind {compass_point(wind_from_deg)} 3 m/s")
    assert words.endswith(f"{side_at(plan, noon(plan), 0)} towards you")


@pytest.mark.parametrize(
    ("weather", "words"),
    [
        ({"wind_m_s": np.nan}, "wind not known: any side may show"),
        ({"wind_m_s": 0.1}, "calm: any side may show"),
        ({"wind_from_deg": np.nan}, "wind 3 m/s, its direction not known: any side may show"),
    ],
)
def test_no_side_is_claimed_without_a_wind(weather, words):
    plan = looking(0, **weather)
    assert side_reason(plan, noon(plan), 0) == words
    # Of all that may show, the side that is worth most is what one waits for.
    assert side_at(plan, noon(plan), 0) in (Shown.FRONT_QUARTER, Shown.FACE, Shown.TAIL)


def test_what_passes_comes_from_any_side():
    plan = looking(0, doing=Behaviour.PASS)
    assert side_reason(plan, noon(plan), 0) == "they pass from any side, whatever the wind"
    assert side_at(plan, noon(plan), 0) is Shown.FRONT_QUARTER


def test_the_side_that_is_wanted_is_the_one_that_is_told():
    plan = looking(0, wind_from_deg=180.0, wanted=Shown.TAIL)
    assert side_at(plan, noon(plan), 0) is Shown.TAIL
    assert side_reason(plan, noon(plan), 0).startswith("tail towards you hardly ever")


def test_from_low_down_the_far_bank_is_behind_and_from_high_up_the_water():
    # Lens and animal both 0.5 m above the water: level, over 61 m to the far bank, 3 of them before the animal.
    low = looking(0, stance=Stance(lens_m=0.2, animal_above_water_m=0.5))
    assert background_reason(low, noon(low), 0).startswith("far bank 58 m behind, blurred over ")
    # 1.8 m above the water and 1.3 m above the animal: sin e = 1.3/3, the line meets the water at 1.8/tan e = 3.74 m.
    high = looking(0, stance=Stance(lens_m=1.5, animal_above_water_m=0.5))
    told = background_reason(high, noon(high), 0)
    assert told.startswith("water 0.7 m behind, blurred over ") and told.endswith(": busy")
    lengths = high.cells.background_lengths[noon(high), 0]
    assert f"{lengths:.2g} of its length" in told


def test_against_the_sky_there_is_sky_behind():
    plan = looking(0, stance=Stance(lens_m=0.2, animal_above_water_m=2.0))
    assert background_reason(plan, noon(plan), 0).startswith("sky behind, blurred over")


def test_light_is_told_with_if_where_the_cloud_is_not_known():
    plan = looking(0, cloud_share=np.nan)
    assert light_reason(plan, noon(plan), 0) == f"light EV {plan.cells.ev[noon(plan), 0]:.1f} if no cloud comes"
    assert setting_reason(plan, noon(plan), 0).startswith("about f/")


def test_what_keeps_them_from_flying_comes_first():
    assert activity_reason(*cell(looking(0, temperature_c=8.0))).startswith("8 °C")
    assert "too windy" in activity_reason(*cell(looking(0, wind_m_s=14.0)))
    assert "warm enough" in activity_reason(*cell(looking(0)))
    assert activity_reason(*cell(looking(0, temperature_c=np.nan))) == (
        "air temperature not known: taken as warm enough"
    )
    gull = looking(0, animal="gull", doing=Behaviour.PASS, wish=replace(question().wish, distance_m=20.0))
    assert "not known" in activity_reason(*cell(gull))


def cell(plan):
    return plan, noon(plan), 0


def test_the_weakest_factor_is_the_smallest_of_the_chain():
    plan = looking(0)
    for at in range(0, len(plan.times), 10):
        chain = plan.cells.chain(at, 0)
        assert f"{min(chain):.2f} of 1" in weakest_reason(plan, at, 0)
        assert len(cell_reasons(plan, at, 0)) == 6
        assert all(cell_reasons(plan, at, 0))
    assert set(FACTORS) == set(plan.cells.chain(0, 0)._fields)


def test_where_nothing_exposes_no_setting_is_made_up():
    plan = looking(0)
    dark = replace(plan, cells=replace(plan.cells, f_number=np.full(plan.cells.f_number.shape, np.nan)))
    assert setting_reason(dark, 0, 0) == "no setting of this kit exposes right"


def test_words_of_points_and_numbers():
    assert [compass_point(bearing) for bearing in (0, 359, 11, 12, 225, -90)] == ["N", "N", "N", "NNE", "SW", "W"]
    assert [keepers_words(number) for number in (0.0, 0.04, 0.996, 3.21)] == ["0", "0.04", "1.0", "3.2"]
    assert wind_words(looking(0, wind_m_s=4.4), 0) == "wind S 4 m/s"
