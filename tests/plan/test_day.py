"""A day weighed: the sun's round of the pond, the wind's side, what is in reach, what is dangerous, what is unknown."""

from dataclasses import fields, replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.horizon import Horizon, entry_by_height
from stillwing.place.site import with_proposed_stands
from stillwing.place.stands import Span
from stillwing.plan.day import FACTORS, Cells, plan_day
from stillwing.plan.question import Stance
from stillwing.sky.observer import Observer

from .plans import DAY, FINE, question, square_pond, steady

CALM = FINE | {"wind_m_s": 0.0}
NORTH, EAST, SOUTH, WEST = range(4)
"""Places of the stands on the banks of those names."""


def at(plan, clock):
    return [f"{moment:%H:%M}" for moment in plan.times].index(clock)


def test_in_calm_the_best_stand_goes_round_with_the_sun():
    plan = plan_day(question(weather=steady(DAY, **CALM)))
    # The sun behind you: from the east bank in the morning, from the south at noon, from the west in the evening.
    for clock, stand, opposite in (("09:00", EAST, WEST), ("13:00", SOUTH, NORTH), ("18:00", WEST, EAST)):
        lit = plan.cells.lit[at(plan, clock)]
        assert lit[stand] == lit.max() > 0.95
        assert lit[opposite] < 0.75 * lit[stand]


def test_a_bearing_looks_away_from_the_sun_as_far_as_the_stand_reaches():
    plan = plan_day(question(weather=steady(DAY, **CALM)))
    noon = at(plan, "13:00")
    assert plan.cells.off_shoulder_deg[noon, SOUTH] <= 30
    assert plan.cells.off_shoulder_deg[noon, SOUTH] < plan.cells.off_shoulder_deg[noon, NORTH]
    for stand, name in enumerate(plan.question.site.stands):
        assert all(name.reaches(float(bearing)) for bearing in plan.cells.bearing_deg[:, stand])


def test_keepers_are_encounters_times_the_chain():
    plan = plan_day(question(encounters_an_hour=30.0))
    for moment, stand in ((40, 0), (60, 2), (80, 3)):
        chain = plan.cells.chain(moment, stand)
        assert chain._fields == FACTORS
        assert plan.cells.keepers_h[moment, stand] == pytest.approx(30 * np.prod(chain))
    assert np.all(plan.cells.keepers_low_h <= plan.cells.keepers_h + 1e-12)
    assert np.all(plan.cells.keepers_h <= plan.cells.keepers_high_h + 1e-12)


@pytest.mark.parametrize("more", [{"animal": "gull", "doing": Behaviour.PASS, "wish": Wish(0.0, distance_m=20.0)}, {}])
def test_every_factor_is_a_share_and_every_cell_is_told(more):
    plan = plan_day(question(**more))
    for name in ("active", "active_low", "active_high", *FACTORS):
        values = getattr(plan.cells, name)
        assert np.all((values >= 0) & (values <= 1 + 1e-9)), name
    shape = (len(plan.times), 4)
    assert {getattr(plan.cells, field.name).shape for field in fields(Cells)} == {shape}


def test_the_bearing_that_is_taken_is_the_best_of_those_in_reach():
    site = square_pond()
    whole = plan_day(question(site))
    for span in (Span(300, 330), Span(20, 60)):
        south = replace(site.stands[SOUTH], reach=(span,))
        part = plan_day(question(replace(site, stands=(*site.stands[:SOUTH], south, site.stands[WEST]))))
        assert np.all(part.cells.keepers_h[:, SOUTH] <= whole.cells.keepers_h[:, SOUTH] + 1e-12)
        assert all(bearing in span for bearing in part.cells.bearing_deg[:, SOUTH])


def test_a_stand_with_nothing_in_reach_gives_nothing():
    site = square_pond()
    blind = replace(site.stands[EAST], reach=())
    plan = plan_day(question(replace(site, stands=(site.stands[NORTH], blind))))
    assert not plan.cells.keepers_h[:, 1].any() and plan.cells.keepers_h[:, 0].any()


def test_trees_take_the_sun_from_the_stands_below_them_first():
    # 20 m of trees 60 m south of the middle: 29 m from the south bank's stand, 91 m from the north bank's.
    trees = Horizon(tuple(entry_by_height(float(b), 60.0, 20.0) for b in range(120, 241, 10)))
    plan = plan_day(question(square_pond(horizon=trees), weather=steady(DAY, **CALM), day=date(2024, 10, 15)))
    noon = at(plan, "13:00")
    altitude = plan.moments.sun.apparent_altitude_deg[noon]
    assert np.degrees(np.arctan2(20, 91)) < altitude < np.degrees(np.arctan2(20, 29))
    assert plan.cells.sun_is_clear[noon, NORTH] and not plan.cells.sun_is_clear[noon, SOUTH]
    assert plan.cells.contrast_stops[noon, SOUTH] == 0 < plan.cells.contrast_stops[noon, NORTH]


def test_the_sun_near_the_line_of_sight_is_taken_only_where_nothing_else_is_in_reach():
    site = square_pond()
    into_it = replace(site.stands[WEST], reach=(Span(60, 75),))
    low = question(replace(site, stands=(*site.stands[:WEST], into_it)), weather=steady(DAY, **CALM))
    # Looked at level, from the water's edge: from higher up the line of sight leads down, away from the sun.
    plan = plan_day(replace(low, stance=Stance(lens_m=0.2)))
    rows = np.flatnonzero(plan.cells.is_dangerous[:, WEST])
    # In mid July at 52 N the rising sun stands in the north-east; from 06:00 to 07:30 at 63 to 80 degrees.
    assert rows.size and all(5 <= plan.times[row].hour <= 8 for row in rows)
    assert not plan.cells.is_dangerous[:, :WEST].any()


def test_in_the_south_the_noon_sun_stands_in_the_north():
    site = square_pond()
    plan = plan_day(question(site, observer=Observer(-33.9, 18.4), zone="Africa/Johannesburg", day=date(2024, 1, 15)))
    best = plan.cells.lit[at(plan, "12:50")].argmax()
    assert best == NORTH


def test_without_weather_the_plan_is_made_from_the_sun():
    plan = plan_day(replace(question(), weather=None))
    assert np.isnan(plan.cells.turned_deg).all()
    assert plan.cells.keepers_h.max() > 0
    assert np.isfinite(plan.cells.keepers_h).all()


def test_stands_higher_above_the_water_look_down_more_and_see_nearer_water_behind():
    site = square_pond()
    high = replace(site.stands[SOUTH], above_water_m=1.0)
    plan = plan_day(question(replace(site, stands=(site.stands[SOUTH], replace(high, name="dam")))))
    assert np.all(plan.cells.background_lengths[:, 1] < plan.cells.background_lengths[:, 0] * 1.3)
    assert plan.cells.clean[:, 1].max() < plan.cells.clean[:, 0].max()


def test_a_distance_that_the_lens_cannot_focus_is_refused():
    with pytest.raises(InputError, match=r"focus"):
        plan_day(question(wish=Wish(0.0, distance_m=0.5)))


@settings(max_examples=10, deadline=None)
@given(st.floats(0, 359), st.integers(1, 12), st.floats(0, 10))
def test_the_order_of_the_stands_changes_nothing(wind, month, speed):
    site = with_proposed_stands(square_pond())
    turned = replace(site, stands=site.stands[::-1])
    day = date(2024, month, 15)
    weather = steady(day, **FINE | {"wind_from_deg": wind, "wind_m_s": speed})
    one, other = (plan_day(question(where, weather, day=day, step_min=60)) for where in (site, turned))
    assert other.cells.keepers_h[:, ::-1] == pytest.approx(one.cells.keepers_h)
