"""Windows: lengths, apart, within the day, sums; none where nothing flies; days with a gap or an hour more."""

from dataclasses import replace
from datetime import date
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics.answer import answer
from stillwing.optics.subject import Behaviour
from stillwing.plan.day import plan_day
from stillwing.plan.windows import (
    APART_MIN,
    LONGEST_MIN,
    MOST_WINDOWS,
    OF_PEAK,
    SHORTEST_MIN,
    is_worth_going,
    keepers_between,
    moment_end,
    peak_rate,
    runs_of,
    windows_of,
)
from stillwing.sky.observer import Observer
from stillwing.sky.suntimes import day_bounds

from .plans import DAY, FINE, question, square_pond, steady


@cache
def fine(step_min=10.0):
    return plan_day(question(step_min=step_min))


def with_rates(rates, step_min=10.0):
    """Return the plan of the square pond with rates of our own, (n_moments, 4), from 08:00 on; nothing before."""
    plan = fine(step_min)
    keepers = np.zeros_like(plan.cells.keepers_h)
    first = [f"{when:%H:%M}" for when in plan.times].index("08:00")
    keepers[first : first + len(rates)] = rates
    return replace(
        plan, cells=replace(plan.cells, keepers_low_h=keepers / 2, keepers_h=keepers, keepers_high_h=keepers)
    )


def minutes(window):
    return (window.end.timestamp() - window.start.timestamp()) / 60


def test_a_window_lasts_while_the_rate_is_high():
    rates = np.zeros((60, 4))
    rates[10:18, 1] = [0.5, 0.8, 0.9, 1.0, 1.0, 0.9, 0.69, 0.2]
    (window,) = windows_of(with_rates(rates))
    assert (f"{window.start:%H:%M}", f"{window.end:%H:%M}", window.stand) == ("09:50", "10:40", 1)
    assert window.keepers.likely == pytest.approx((0.8 + 0.9 + 1 + 1 + 0.9) / 6)
    assert window.keepers.low == pytest.approx(window.keepers.likely / 2)
    assert f"{fine().times[window.moment]:%H:%M}" == "10:10"


def test_a_long_good_time_is_cut_to_two_hours_about_its_best():
    rates = np.zeros((60, 4))
    rates[:48, 2] = 1 - 0.005 * np.abs(np.arange(48) - 24)
    first = windows_of(with_rates(rates))[0]
    assert minutes(first) == LONGEST_MIN
    assert first.start.timestamp() < fine().times[first.moment].timestamp() < first.end.timestamp()


def test_a_short_peak_is_half_an_hour():
    rates = np.zeros((30, 4))
    rates[10, 0] = 1.0
    (window,) = windows_of(with_rates(rates))
    assert minutes(window) == SHORTEST_MIN


def test_the_same_hour_at_another_stand_is_no_second_window():
    rates = np.zeros((30, 4))
    rates[5:10] = 1.0
    assert len(windows_of(with_rates(rates))) == 1


def test_a_time_far_below_the_best_is_no_window():
    rates = np.zeros((60, 4))
    rates[0:6, 0], rates[30:36, 1] = 5.0, 0.45
    assert [window.stand for window in windows_of(with_rates(rates))] == [0]
    rates[30:36, 1] = 0.55
    assert [window.stand for window in windows_of(with_rates(rates))] == [0, 1]


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([10.0, 30.0]))
def test_windows_keep_their_rules(seed, step_min):
    rng = np.random.default_rng(seed)
    smooth = np.cumsum(rng.normal(0, 0.3, (24, 4)), axis=0)
    plan = with_rates(np.clip(smooth, 0, None), step_min)
    found = windows_of(plan)
    assert len(found) <= MOST_WINDOWS
    assert bool(found) == bool(is_worth_going(plan).any())
    for window in found:
        assert plan.times[0] <= window.start < window.end
        assert SHORTEST_MIN <= minutes(window) <= LONGEST_MIN
        rows = [i for i, when in enumerate(plan.times) if window.start <= when < window.end]
        assert window.moment in rows
        assert window.keepers == keepers_between(plan, rows[0], rows[-1], window.stand)
        if minutes(window) > SHORTEST_MIN:
            rates = plan.cells.keepers_h[rows, window.stand]
            assert np.sort(rates)[1] >= OF_PEAK * 0.5 * rates.max()
    for one, other in pairwise(sorted(found, key=lambda window: window.start)):
        assert (other.start.timestamp() - one.end.timestamp()) / 60 >= APART_MIN - step_min - 1e-9
    assert [window.keepers.likely / minutes(window) for window in found] == sorted(
        (window.keepers.likely / minutes(window) for window in found), reverse=True
    )


def test_settings_are_those_of_the_solver_for_the_side_that_shows():
    plan = fine()
    window = windows_of(plan)[0]
    turned = abs(float(plan.cells.turned_deg[window.moment, window.stand]))
    # Out of the focal plane: half of front and back quarter 45 degrees, face and tail 80, flank no more than 15.
    angle = 15.0 if 70 <= turned < 110 else 45.0 if 20 <= turned < 160 else 80.0
    asked = question()
    ev = float(plan.cells.ev[window.moment, window.stand])
    assert window.settings == answer(asked.kit, asked.subject(angle), replace(asked.wish, ev100=ev)).best.words


def test_where_the_solver_has_no_setting_the_window_says_why():
    plan = fine()
    dark = replace(plan, cells=replace(plan.cells, ev=np.full_like(plan.cells.ev, -5.0)))
    with pytest.raises(InputError) as refused:
        answer(question().kit, question().subject(15.0), replace(question().wish, ev100=-5.0))
    assert windows_of(dark)[0].settings.split(";")[0][:6] == str(refused.value)[:6]


def test_out_of_season_there_is_no_window():
    day = date(2024, 1, 15)
    plan = plan_day(question(day=day))
    assert windows_of(plan) == () and peak_rate(plan) == 0.0


@pytest.mark.parametrize("day", [date(2024, 3, 31), date(2024, 10, 27)])
def test_on_days_of_23_and_25_hours_steps_end_where_the_next_begin(day):
    far = replace(question().wish, distance_m=20.0)
    plan = plan_day(question(day=day, animal="gull", doing=Behaviour.PASS, wish=far))
    ends = [moment_end(plan, at).timestamp() for at in range(len(plan.times))]
    assert ends[:-1] == [when.timestamp() for when in plan.times[1:]]
    assert all(30 <= minutes(window) <= 120 for window in windows_of(plan))


def test_a_step_never_ends_after_the_day():
    plan = plan_day(question(observer=Observer(69.6, 18.9), zone="Europe/Oslo", day=date(2024, 6, 20), step_min=50.0))
    end = day_bounds(plan.question.day, plan.times[0].tzinfo)[1]
    assert moment_end(plan, len(plan.times) - 1) == end


def test_a_night_between_two_lights_of_one_day_is_a_gap():
    # At 60 N, 25 E the June sun dips just below civil twilight about 01:20 by the clock.
    plan = plan_day(question(observer=Observer(60.0, 25.0), zone="Europe/Helsinki", day=date(2024, 6, 20)))
    runs = runs_of(plan)
    assert len(runs) == 2 and runs[0].stop == runs[1].start and runs[1].stop == len(plan.times)
    assert plan.times[runs[1].start].timestamp() - plan.times[runs[0].stop - 1].timestamp() > 600
    assert len(runs_of(fine())) == 1
    # A rate that is high on both sides of the gap makes no window across it.
    keepers = np.zeros_like(plan.cells.keepers_h)
    keepers[: runs[0].stop + 3] = 1.0
    for window in windows_of(replace(plan, cells=replace(plan.cells, keepers_h=keepers))):
        rows = [i for i, when in enumerate(plan.times) if window.start <= when < window.end]
        assert rows[-1] < runs[0].stop or rows[0] >= runs[1].start


def test_with_no_stand_in_reach_nothing_is_to_be_expected():
    site = square_pond()
    blind = tuple(replace(stand, reach=()) for stand in site.stands)
    assert windows_of(plan_day(question(replace(site, stands=blind), steady(DAY, **FINE)))) == ()
