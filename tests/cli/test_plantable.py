"""A told plan as lines and as a table."""

from datetime import date

from rich.console import Console

from plan.plans import DAY, FINE, question, square_pond, steady
from stillwing.cli.plantable import plan_lines, plan_table
from stillwing.plan.tellday import tell_day
from stillwing.sky.observer import Observer
from stillwing.sky.toldweather import NO_WEATHER, ToldWeather


def printed(table):
    console = Console(width=400, highlight=False)
    with console.capture() as captured:
        console.print(table)
    return captured.get().splitlines()


def test_the_hour_that_comes_twice_has_two_columns():
    day = date(2024, 10, 27)
    # Far north-east of the zone's town it is light when the clocks go back.
    site = square_pond()
    told = tell_day(question(site, day=day, weather=None, observer=Observer(5.0, 150.0), step_min=30), NO_WEATHER)
    hours = next(line for line in printed(plan_table(told)) if line.startswith(" bank")).split()[1:]
    assert hours.count("01") == 2


def test_a_day_with_nothing_to_expect_says_so():
    cold = steady(DAY, **FINE | {"temperature_c": 2.0})
    told = tell_day(question(weather=cold), ToldWeather(cold, "as typed: 2 C"))
    lines = list(plan_lines(told))
    assert (lines[1], lines[3]) == ("Weather: as typed: 2 C", "Nothing is to be expected on this day")


def test_cells_hold_the_best_of_their_hour():
    weather = steady(DAY, **FINE)
    told = tell_day(question(weather=weather), ToldWeather(weather, "as typed"))
    rows = [line.split() for line in printed(plan_table(told)) if line.startswith(" south")]
    rate = told.plan.cells.keepers_h
    south = next(stretch for stretch in told.stretches if stretch.name.startswith("south"))
    noon = [i for i, when in enumerate(told.plan.times) if when.hour == 12]
    first = told.plan.times[0].hour
    assert float(rows[0][1 + 12 - first]) == round(max(rate[i, south.best[i]] for i in noon), 1)
