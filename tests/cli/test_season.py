"""``stillwing season`` and ``stillwing light-year`` as a person uses them."""

import json
from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from place.waters import outline, rectangle, ring_at
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import KeptSite, add_site
from stillwing.place.horizon import Horizon, HorizonEntry
from stillwing.place.position import Position
from stillwing.place.site import Site
from stillwing.place.stands import stand_at
from stillwing.sky.sun import sun_position
from stillwing.sky.suntimes import day_bounds


@pytest.fixture
def light(stillwing_here, book):
    """Give a function that runs the command on a field book of its own."""
    return lambda *words: stillwing_here("light-year", *words, "--book", book)


def store(book, name, zone="Europe/London", middle=None, horizon=None):
    """Store a square pond with a stand in the middle of its south and its north bank."""
    where = {} if middle is None else {"middle": middle}
    bare = Site(name, outline(rectangle(60, 60), **where))
    stands = tuple(
        stand_at(bare.plane, bare.water, ring_at([(0, north)], **where)[0], called)
        for called, north in (("south", -31), ("north", 31))
    )
    site = Site(name, bare.outline, stands, *([horizon] if horizon else []))
    with open_book(book) as opened:
        return add_site(opened, KeptSite(site, zone, 10.0))


def test_the_season_tells_all_groups_and_what_it_does_not_know(stillwing_here):
    run = stillwing_here("season")
    assert run.returncode == 0, run.stderr
    lines = run.stdout.splitlines()
    assert [line.split(":")[0] for line in lines[:3]] == ["Dragonflies", "Damselflies", "Birds"]
    assert "none from December to April, when there are at least" in lines[0]
    assert any(line.split() == ["Robin", *["██"] * 12] for line in lines)
    assert "Months hold for the British Isles" in run.stderr
    assert "from memory" in run.stderr


def test_one_group_or_two_are_told_alone(stillwing_here):
    one = stillwing_here("season", "--group", "damselfly").stdout
    assert "Azure Damselfly" in one
    assert "Robin" not in one
    two = stillwing_here("season", "--group", "damselfly", "--group", "bird").stdout
    assert "Robin" in two
    assert "Emperor Dragonfly" not in two


def test_a_month_tells_what_is_about_in_it(stillwing_here):
    january, june = (stillwing_here("season", "--month", month).stdout for month in ("1", "6"))
    assert january.startswith("January: no dragonfly or damselfly is on the wing; ")
    assert "Brent Goose" in january
    assert "Common Swift" not in january
    assert "Common Swift" in june
    assert "Brent Goose" not in june
    quiet = stillwing_here("season", "--month", "2", "--group", "dragonfly")
    assert (quiet.returncode, quiet.stdout) == (0, "February: no dragonfly is on the wing\n")


def test_the_season_as_json_is_one_object(stillwing_here):
    told = json.loads(stillwing_here("season", "--json", "--group", "bird", "--month", "12").stdout)
    assert told["month"] == 12
    assert {one["group"] for one in told["animals"]} == {"bird"}
    assert told["kinds_about"]["bird"][11] == sum(one["is_counted"] for one in told["animals"])


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--month", "13"), "stillwing: the month is 13; it must be 1 to 12\n"),
        (("--month", "0", "--json"), "stillwing: the month is 0; it must be 1 to 12\n"),
    ],
)
def test_a_month_that_is_none_is_refused_in_a_sentence(stillwing_here, words, message):
    run = stillwing_here("season", *words)
    assert (run.returncode, run.stdout, run.stderr) == (2, "", message)


def test_the_best_days_of_a_kept_site_are_told_by_its_clock(light, book):
    kept = store(book, "square pond")
    run = light("--year", "2024", "--json")
    assert run.returncode == 0, run.stderr
    told = json.loads(run.stdout)
    assert (told["site"], told["year"], len(told["days"]), len(told["best_days"])) == ("square pond", 2024, 366, 10)
    best = told["best_days"][0]
    # At 52 degrees north, at midsummer, with the sun behind all day: on the south bank, facing north.
    assert best["stand"] == "south"
    assert 5 <= date.fromisoformat(best["day"]).month <= 7
    start, _ = day_bounds(date.fromisoformat(best["day"]), ZoneInfo("Europe/London"))
    sun = sun_position(kept.observer, start.timestamp() + 300 + 600 * np.arange(144))
    hours_up = np.sum(sun.apparent_altitude_deg > 0) / 6
    assert 12 < best["light_h"] < hours_up
    # That day's clock is an hour ahead of Greenwich's.
    assert best["from"].endswith("+01:00")
    assert sum(one > 0 for one in told["stands"][1]["light_h"]) > 300


def test_the_table_tells_as_many_days_as_asked_and_the_months(light, book):
    store(book, "square pond")
    run = light("square POND", "--year", "2026", "--days", "3")
    assert run.returncode == 0, run.stderr
    lines = run.stdout.splitlines()
    assert lines[0] == "square pond, 2026: days with most good light (Europe/London)"
    assert sum(line.startswith(" 2026-") for line in lines) == 3
    assert [line.split()[0] for line in lines if line.startswith((" January", " December"))] == ["January", "December"]
    assert "clouds, wind and animals are left out" in run.stderr
    assert "no horizon is told of this site" in run.stderr
    assert run.stdout != light("--year", "2027", "--days", "3").stdout


def test_trees_all_round_take_light_away_and_are_not_remarked_on(light, book):
    store(book, "open")
    store(book, "wood", horizon=Horizon((HorizonEntry(0.0, 30.0),)))
    best = {
        name: json.loads(light(name, "--json", "--year", "2026").stdout)["best_days"][0] for name in ("open", "wood")
    }
    assert best["wood"]["light_h"] < best["open"]["light_h"] - 3
    assert "no horizon is told" not in light("wood", "--days", "1").stderr


def test_a_southern_water_has_its_best_days_at_new_year(light, book):
    store(book, "southern", "Australia/Sydney", Position(151.0, -33.0))
    best = json.loads(light("--year", "2026", "--json").stdout)["best_days"]
    assert {date.fromisoformat(one["day"]).month for one in best[:4]} <= {11, 12, 1, 2}
    assert {one["stand"] for one in best[:4]} == {"north"}


def test_without_a_site_the_example_answers_and_says_so(light):
    run = light("--days", "1", "--year", "2026")
    assert run.returncode == 0, run.stderr
    assert "the field book holds no site, so this is for the example site, mill pond; add one with:" in run.stderr
    assert run.stdout.startswith("mill pond, 2026: ")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("nowhere",), "stillwing: the field book holds no site called 'nowhere'"),
        (("--year", "12"), "stillwing: the year is 12; it must be 1900 to 2100"),
        (("--days", "0"), "stillwing: the number of days is 0; it must be 1 or more"),
    ],
)
def test_what_cannot_be_asked_is_said_in_a_sentence(light, words, message):
    run = light(*words)
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr.startswith(message)
    assert run.stderr.count("\n") == 1


def test_a_site_without_stands_asks_for_some(light, book):
    with open_book(book) as opened:
        add_site(opened, KeptSite(Site("bare", outline(rectangle(60, 60))), "Europe/London"))
    run = light()
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr == "stillwing: bare has no stands; let them be proposed, or add one by its position\n"
