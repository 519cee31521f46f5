"""A plan as the page shows it."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.planning import PlanAsked, plan_asked
from stillwing.optics.subject import Behaviour, Range
from stillwing.plan.reasons import keepers_words
from stillwing.plan.told import DayTold
from stillwing.web.plan_view import best_cell, hour_view, plan_view

ASKED = PlanAsked("hawker", Behaviour.HOVER, day=date(2027, 7, 15), weather="19 C, wind 3 m/s from SW, cloud 20 %")


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> DayTold:
    """Return a summer's day at the example pond."""
    with open_book(tmp_path_factory.mktemp("plan") / "book.sqlite") as book:
        return plan_asked(book, ASKED)


def test_windows_are_told_in_their_order_with_their_stands(told: DayTold) -> None:
    view = plan_view(told)
    stands = told.plan.question.site.stands
    assert [shown.where for shown in view.windows] == [stands[window.stand].name for window in told.windows]
    for shown, window in zip(view.windows, told.windows, strict=True):
        assert shown.times == f"{window.start:%H:%M} to {window.end:%H:%M}"
        assert shown.reasons == window.reasons
        assert f"({window.bearing_from_deg % 360:.0f}°)" in shown.faces
        assert window.stand in told.stretches[shown.stretch].stands


def test_the_page_opens_in_the_best_window(told: DayTold) -> None:
    view = plan_view(told)
    assert (view.hour.moment, view.hour.stretch) == best_cell(told)
    assert view.hour.moment == told.windows[0].moment
    assert view.clocks[view.hour.moment] == view.hour.clock


def test_without_a_window_it_opens_where_the_rate_is_highest(told: DayTold) -> None:
    moment, stretch = best_cell(replace(told, windows=()))
    rates = told.plan.cells.keepers_h
    stand = int(np.argmax(rates[moment]))
    assert rates[moment, stand] == rates.max()
    assert stand in told.stretches[stretch].stands


def test_the_bars_are_the_factors_and_multiply_to_the_whole(told: DayTold) -> None:
    cell = hour_view(told, 40, 0).cell
    assert [bar.percent for bar in cell.bars] == pytest.approx([100 * bar.share for bar in cell.bars], abs=0.05)
    assert np.prod([bar.share for bar in cell.bars]) == pytest.approx(cell.together.share)
    weakest = [bar for bar in cell.bars if bar.is_weakest]
    assert len(weakest) == 1
    assert weakest[0].share == min(bar.share for bar in cell.bars)


def test_the_cell_is_the_best_stand_of_its_stretch(told: DayTold) -> None:
    for moment in (30, 60):
        for number, stretch in enumerate(told.stretches):
            cell = hour_view(told, moment, number).cell
            best = told.plan.question.site.stands[int(stretch.best[moment])].name
            assert cell.title == f"{told.plan.times[moment]:%H:%M} at {best}"
            # Rate and factors tell the same.
            rate = told.plan.question.encounters_an_hour * cell.together.share
            assert cell.keepers.startswith(f"{keepers_words(rate)} keeper")


def test_the_slider_goes_in_steps_of_ten_minutes(told: DayTold) -> None:
    assert plan_view(told).slider_step == 1
    with_fine_steps = replace(told, plan=replace(told.plan, question=replace(told.plan.question, step_min=5.0)))
    assert plan_view(with_fine_steps).slider_step == 2


def test_cautions_come_first_where_the_sun_is_near_the_line_of_sight_or_thunder_comes(told: DayTold) -> None:
    cells, weather = told.plan.cells, told.plan.moments.weather
    calm = replace(told.plan, cells=replace(cells, is_dangerous=np.zeros_like(cells.is_dangerous)))
    assert not plan_view(replace(told, plan=calm)).are_cautions_first
    danger = cells.is_dangerous.copy()
    danger[5, 0] = True
    assert plan_view(replace(told, plan=replace(calm, cells=replace(cells, is_dangerous=danger)))).are_cautions_first
    thunder = np.full_like(weather.wind_m_s, np.nan)
    thunder[3] = 0.3
    moments = replace(calm.moments, weather=replace(weather, thunder_share=thunder))
    assert plan_view(replace(told, plan=replace(calm, moments=moments))).are_cautions_first


@pytest.mark.parametrize(
    ("keepers", "words"),
    [
        (Range(0.4, 2.13, 14.2), "2.1 keepers (0.4 to 14.2) to expect"),
        (Range(1.0, 1.0, 1.0), "1.0 keeper to expect"),
        (Range(0.0, 0.001, 0.02), "0.001 keepers (0 to 0.02) to expect"),
    ],
)
def test_keepers_are_told_with_their_range(told: DayTold, keepers: Range, words: str) -> None:
    first = replace(told.windows[0], keepers=keepers)
    assert plan_view(replace(told, windows=(first,))).windows[0].keepers == words


def test_a_plan_without_weather_says_so(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        view = plan_view(plan_asked(book, replace(ASKED, weather="")))
    assert view.weather == "Weather: not known"
    assert any("weather" in doubt for doubt in view.doubts)
    assert not any("wind" in what_if.what for what_if in view.what_ifs)
