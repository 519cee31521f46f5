"""Moments as rows: time by the clock of the site, and nothing of a note taken for a style."""

from datetime import UTC, datetime, timedelta

from stillwing.cli.logtable import log_rows, log_table, logged
from stillwing.fieldbook.moment import Moment, MomentKind
from stillwing.fieldbook.sites import KeptSite
from stillwing.place.example import example_site

AT = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
ID = "0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a"


def told(hours, **more):
    at = AT + timedelta(hours=hours)
    moment = Moment(ID, MomentKind.PASS, at, ID, at, site="Mill  Pond", **more)
    return logged([moment], [at], [KeptSite(example_site(), "Europe/London")])[0]


def test_the_hour_that_comes_twice_in_autumn_is_told_apart_in_json():
    # Summer time ends at 01:00 UTC on 25 October 2026 (the last Sunday, by Directive 2000/84/EC, kept in British law).
    first, second = log_rows([told(0), told(1)])
    assert first["local"] == "2026-10-25T01:30:00.000+01:00"
    assert second["local"] == "2026-10-25T01:30:00.000+00:00"


def test_the_corrected_time_is_shown_and_the_logged_one_kept():
    moment = told(0).moment
    row = logged([moment], [AT + timedelta(seconds=90)], [])[0]
    assert (row.zone, row.local.minute, row.local.second) == ("UTC", 31, 30)
    assert log_rows([row])[0]["at"] == "2026-10-25T00:30:00.000Z"


def test_a_note_in_square_brackets_stays():
    cells = [next(iter(column.cells)).plain for column in log_table([told(0, note="[red] one")]).columns]
    assert cells[-1] == "[red] one"
