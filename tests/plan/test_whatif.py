"""What-ifs: nothing changed changes nothing; the wind turns the right way; only what is known is changed."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.optics.question import Wish
from stillwing.optics.subject import Behaviour
from stillwing.place.site import with_proposed_stands
from stillwing.place.stands import Span
from stillwing.plan.day import plan_day
from stillwing.plan.question import Stance
from stillwing.plan.whatif import KNEEL_GAINS, Change, changes_of, what_if, what_ifs_of
from stillwing.plan.windows import windows_of

from .plans import DAY, FINE, question, square_pond, steady

SOUTH = 2


@cache
def fine():
    asked = question()
    plan = plan_day(asked)
    return asked, plan, windows_of(plan)


@settings(max_examples=5, deadline=None)
@given(st.floats(0, 359), st.floats(0.5, 7), st.integers(6, 8))
def test_a_change_of_nothing_changes_nothing(wind, speed, month):
    day = DAY.replace(month=month)
    asked = question(weather=steady(day, **FINE | {"wind_from_deg": wind, "wind_m_s": speed}), day=day, step_min=30.0)
    plan = plan_day(asked)
    windows = windows_of(plan)
    told = what_if(plan, Change("nothing", asked), windows)
    assert told.keepers == pytest.approx(told.keepers_before)
    assert told.keepers_before == pytest.approx([window.keepers.likely for window in windows])


def test_of_many_stands_those_of_the_windows_are_always_asked():
    asked = question(with_proposed_stands(square_pond(400.0)), step_min=30.0)
    assert len(asked.site.stands) > 120
    plan = plan_day(asked)
    windows = windows_of(plan)
    told = what_if(plan, Change("nothing", asked), windows)
    assert told.keepers == pytest.approx(told.keepers_before)


def test_backing_is_anticlockwise_and_veering_clockwise():
    changes = {change.what: change.asked.weather.conditions for change in changes_of(*fine())}
    # From the south: backed to south-south-east, veered to south-south-west.
    assert np.all(changes["the wind backs 30°, to SSE"].wind_from_deg == 150.0)
    assert np.all(changes["the wind veers 30°, to SSW"].wind_from_deg == 210.0)
    assert np.all(changes["the wind blows 3 m/s stronger"].wind_m_s == 6.0)
    assert np.all(changes["cloud comes, 90 %"].cloud_share == 0.9)
    assert np.all(changes["it is 3 °C colder"].temperature_c == 18.0)
    assert len(changes) == 5


def test_each_change_leaves_all_else_as_it_was():
    asked, plan, windows = fine()
    for change in changes_of(asked, plan, windows):
        assert replace(change.asked, weather=asked.weather) == asked
        changed = [
            name
            for name in FINE
            if not np.array_equal(
                getattr(change.asked.weather.conditions, name), getattr(asked.weather.conditions, name), equal_nan=True
            )
        ]
        assert len(changed) == 1


@pytest.mark.parametrize(
    ("missing", "words"),
    [("wind_m_s", ("wind",)), ("cloud_share", ("cloud",)), ("temperature_c", ("colder",))],
)
def test_what_is_not_known_is_not_changed(missing, words):
    asked = question(weather=steady(DAY, **{name: value for name, value in FINE.items() if name != missing}))
    plan = plan_day(asked)
    told = [change.what for change in changes_of(asked, plan, windows_of(plan))]
    assert told and not any(word in what for what in told for word in words)


def test_a_wind_of_unknown_direction_can_blow_stronger_but_not_turn():
    asked = question(weather=steady(DAY, **FINE | {"wind_from_deg": np.nan}))
    plan = plan_day(asked)
    told = [change.what for change in changes_of(asked, plan, windows_of(plan))]
    assert "the wind blows 3 m/s stronger" in told and not any("30°" in what for what in told)


def test_without_weather_only_kneeling_is_left():
    asked = replace(question(), weather=None)
    plan = plan_day(asked)
    assert changes_of(asked, plan, windows_of(plan)) == ()
    assert all("kneel" in told.what for told in what_ifs_of(asked, plan, windows_of(plan)))


def test_of_birds_that_pass_nothing_is_claimed_that_is_not_known():
    asked = question(animal="gull", doing=Behaviour.PASS, wish=Wish(0.0, distance_m=20.0))
    plan = plan_day(asked)
    assert [change.what for change in changes_of(asked, plan, windows_of(plan))] == ["cloud comes, 90 %"]


def test_figures_are_those_of_the_changed_day():
    asked, plan, windows = fine()
    change = changes_of(asked, plan, windows)[0]
    then, told = plan_day(change.asked), what_if(plan, change, windows)
    for window, keepers in zip(windows, told.keepers, strict=True):
        rows = [i for i, when in enumerate(plan.times) if window.start <= when < window.end]
        assert keepers == pytest.approx(then.cells.keepers_h[rows, window.stand].sum() * plan.step_h)


def test_one_is_sent_to_the_stand_where_they_show_the_better_side():
    # Two stands that look north and east; a hover is worth most from the front quarter, little from behind.
    site = square_pond()
    north = replace(site.stands[SOUTH], name="south", reach=(Span(0, 0),))
    east = replace(site.stands[3], name="west", reach=(Span(90, 90),))
    asked = question(
        replace(site, stands=(north, east)), steady(DAY, **FINE | {"wind_from_deg": 225.0, "cloud_share": 1.0})
    )
    plan = plan_day(asked)
    windows = windows_of(plan)
    other = {"south": "west", "west": "south"}[asked.site.stands[windows[0].stand].name]
    away = 0.0 if other == "west" else 90.0
    # The tail to the stand of the window, the flank to the other one.
    weather = replace(
        asked.weather,
        conditions=replace(
            asked.weather.conditions, wind_from_deg=np.full_like(asked.weather.conditions.wind_from_deg, away)
        ),
    )
    told = what_if(plan, Change("the wind turns its tail to you", replace(asked, weather=weather)), windows)
    assert told.advice.startswith(f"move to {other} and face {'E (90°)' if other == 'west' else 'N (0°)'}: ")
    assert told.keepers[0] < 0.5 * told.keepers_before[0]


def test_another_window_is_advised_where_it_becomes_clearly_better():
    asked, plan, windows = fine()
    # A gale about the best window only.
    start, end = windows[0].start.timestamp() - 7200, windows[0].end.timestamp() + 7200
    gale = np.array([14.0 if start <= when.timestamp() <= end else 3.0 for when in asked.weather.times])
    changed = replace(asked.weather, conditions=replace(asked.weather.conditions, wind_m_s=gale))
    told = what_if(plan, Change("a gale at the best time", replace(asked, weather=changed)), windows)
    assert told.keepers[0] < 0.1 * told.keepers_before[0]
    times = [f"go from {window.start:%H:%M} to {window.end:%H:%M} instead, to " for window in windows[1:]]
    assert told.advice.startswith(tuple(times))


def test_one_stays_at_home_where_nothing_flies_any_more():
    asked, plan, windows = fine()
    storm = replace(
        asked.weather,
        conditions=replace(asked.weather.conditions, wind_m_s=np.full_like(asked.weather.conditions.wind_m_s, 20.0)),
    )
    told = what_if(plan, Change("a gale", replace(asked, weather=storm)), windows)
    assert told.advice.startswith("do not go for it: 0 keepers")


def test_kneeling_is_told_where_it_gains():
    asked, plan, windows = fine()
    told = what_ifs_of(asked, plan, windows)[-1]
    assert told.what == "you kneel, the lens 0.6 m above the ground"
    assert sum(told.keepers) >= KNEEL_GAINS * sum(told.keepers_before)
    assert told.advice.startswith("kneel at ")
    low = replace(asked, stance=Stance(lens_m=0.6), weather=None)
    plan = plan_day(low)
    assert windows_of(plan) and what_ifs_of(low, plan, windows_of(plan)) == ()


def test_without_windows_there_is_nothing_to_lose():
    asked = question(day=DAY.replace(month=1))
    assert what_ifs_of(asked, plan_day(asked), ()) == ()
