"""Tables of seasons and of a year's light, drawn from figures known beforehand."""

import io
import json
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
from rich.console import Console

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.cli.seasontable import (
    light_json,
    light_months_table,
    light_table,
    month_table,
    season_json,
    season_table,
)
from stillwing.place.position import Position
from stillwing.place.stands import Stand
from stillwing.plan.lightyear import ClockSpan, LightDay, LightMonth, LightYear
from stillwing.plan.onthewing import on_the_wing

CATALOGUE = read_catalogue()
LONDON = ZoneInfo("Europe/London")
STANDS = (Stand("old [post]", Position(0, 52), 0.0), Stand("reeds", Position(0, 52), 90.0))


def drawn(table):
    """Return the lines of a table without blank ends."""
    console = Console(width=200, file=io.StringIO())
    console.print(table)
    return [line.rstrip() for line in console.file.getvalue().splitlines()]


def wing_of(*names):
    return on_the_wing([animal_named(CATALOGUE, name) for name in names], 2026)


def test_a_row_shades_both_halves_of_each_month():
    lines = drawn(season_table(wing_of("common swift", "brent goose", "robin", "emperor")))
    rows = {line[:24].strip(): line[24:].split() for line in lines}
    assert rows["Robin"] == ["██"] * 12
    assert rows["Common Swift"] == ["··"] * 4 + ["░▓", "██", "██", "▓░"] + ["··"] * 4
    assert rows["Brent Goose"] == ["██", "██", "██", "▓░"] + ["··"] * 5 + ["░▓", "██", "██"]
    assert rows["bird: kinds about"] == ["2", "2", "2", "2", "2", "2", "2", "2", "1", "2", "2", "2"]
    assert rows["month"] == [str(month) for month in range(1, 13)]
    assert lines.index(next(line for line in lines if "Emperor" in line)) < lines.index(
        next(line for line in lines if "Robin" in line)
    )


def test_classes_have_no_row_beside_their_species():
    lines = "\n".join(drawn(season_table(on_the_wing(CATALOGUE.animals, 2026))))
    assert "Barn Swallow" in lines
    assert "swallow or martin" not in lines
    assert "swallow or martin" in "\n".join(drawn(season_table(wing_of("swallow", "robin"))))


def test_a_month_tells_the_chance_of_either_half_as_the_model_gives_it():
    wing = wing_of("common swift", "robin", "brent goose")
    lines = drawn(month_table(wing, 8))
    (swift,) = (line for line in lines if "Common Swift" in line)
    row = next(row for row in wing.rows if row.animal.name == "Common Swift")
    first, second = (
        f"{100 * row.chance.likely[n]:.0f} ({100 * row.chance.low[n]:.0f} to {100 * row.chance.high[n]:.0f})"
        for n in (14, 15)
    )
    assert first in swift
    assert second in swift
    assert swift.endswith("June to July")
    assert not any("Brent" in line for line in lines)
    (robin,) = (line for line in lines if "Robin" in line)
    assert robin.split()[-2:] == ["100", "100"]


def test_the_json_of_seasons_holds_sources_and_half_months():
    wing = on_the_wing(CATALOGUE.animals, 2026)
    told = json.loads(season_json(wing))
    assert (told["year"], told["month"], len(told["columns"])) == (2026, None, 24)
    assert len(told["animals"]) == len(CATALOGUE.animals)
    swift = next(one for one in told["animals"] if one["key"] == "common-swift")
    assert swift["flight_months"] == [5, 6, 7, 8]
    assert swift["best_months"] == [6, 7]
    assert swift["months_mark"] == "memory"
    assert len(swift["chance"]["low"]) == 24
    assert max(swift["chance"]["low"]) == 1.0
    january = json.loads(season_json(wing, 1))
    assert january["words"][0].startswith("January: no dragonfly or damselfly")
    assert {one["group"] for one in january["animals"]} == {"bird"}


def light_day(span):
    return LightDay(date(2026, 7, 3), 9.26, STANDS[0], span, 0.25)


def test_a_day_of_light_is_told_with_its_clock_and_stand():
    span = ClockSpan(datetime(2026, 7, 3, 5, 10, tzinfo=LONDON), datetime(2026, 7, 3, 14, 0, tzinfo=LONDON))
    lines = drawn(light_table("pond [north], 2026", [light_day(span), light_day(None)]))
    assert lines[0] == "pond [north], 2026"
    assert lines[4].split("  ")[0].strip() == "2026-07-03"
    assert lines[4].split() == ["2026-07-03", "9.3", "old", "[post]", "05:10", "14:00", "25"]
    assert lines[5].split() == ["2026-07-03", "9.3", "old", "[post]", "25"]


def test_a_title_wider_than_its_table_stays_on_one_line():
    title = "a pond with quite a long name, told of by somebody who likes to write, 2026: days with most good light"
    assert drawn(light_table(title, [light_day(None)]))[0] == title


def test_a_month_of_light_is_told_by_its_name():
    lines = drawn(light_months_table([LightMonth(2, 6.04, STANDS[1])]))
    assert lines[4].split() == ["February", "6.0", "reeds"]


def test_the_json_of_a_year_of_light_holds_every_day_and_stand():
    days = (date(2026, 7, 3), date(2026, 12, 24))
    span = ClockSpan(datetime(2026, 7, 3, 5, 10, tzinfo=LONDON), datetime(2026, 7, 3, 14, 0, tzinfo=LONDON))
    worth = np.array([[9.2604, 3.0], [0.0, 0.0]], np.float32)
    year = LightYear(
        2026,
        "Europe/London",
        STANDS,
        days,
        worth,
        np.array([0, -1]),
        worth.max(axis=1),
        (span, None),
        np.array([0.25, np.nan], np.float32),
    )
    told = json.loads(light_json("pond", year, [light_day(span)], [LightMonth(7, 9.26, STANDS[0])]))
    assert told["best_days"] == [
        {
            "day": "2026-07-03",
            "light_h": 9.26,
            "stand": "old [post]",
            "from": "2026-07-03T05:10:00+01:00",
            "to": "2026-07-03T14:00:00+01:00",
            "low_sun_share": 0.25,
        }
    ]
    assert told["months"] == [{"month": 7, "light_h": 9.26, "stand": "old [post]"}]
    assert told["best_stand"] == ["old [post]", None]
    assert told["stands"][1] == {"name": "reeds", "light_h": [3.0, 0.0]}
    assert (told["site"], told["zone"], told["year"]) == ("pond", "Europe/London", 2026)
