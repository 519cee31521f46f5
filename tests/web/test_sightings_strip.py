"""The year of each species: what is drawn where."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from uuid import UUID

from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import KeptSighting
from stillwing.fieldbook.sightingtime import When
from stillwing.records.filing import known_names
from stillwing.web.sightings_address import AskedList
from stillwing.web.sightings_strip import MOST_ROWS, Strip, year_strip

from .filed import BROWN, CHECKED

NAMES = known_names(Path("none"))


def strip(*told: Sighting, asked: AskedList | None = None) -> Strip:
    now = datetime(2026, 1, 1, tzinfo=UTC)
    return year_strip([KeptSighting(one, None, (), now) for one in told], NAMES, asked or AskedList())


def test_a_day_has_one_place_in_all_years() -> None:
    (row,) = strip(BROWN, replace(BROWN, id=UUID(int=9), when=When(date(2023, 7, 6)))).rows
    # 6 July is day 188 of a leap year, so 187 days lie before it.
    (mark,) = row.marks
    assert (mark.begin, mark.n_days, mark.words) == (187, 1, "6 July 2024; 6 July 2023")
    assert (row.n_words, row.days) == ("2 sightings", "6 July")


def test_the_early_names_come_first_with_their_season_behind() -> None:
    first, second = strip(replace(CHECKED, when=When(date(2023, 9, 1))), BROWN).rows
    assert (first.english, second.english) == ("Brown Hawker", "Common Darter")
    # The pack has the Common Darter from mid June to November: 11 June to 30 November.
    assert second.season_words == "11 June to 30 November"
    assert [(span.begin, span.begin + span.n_days) for span in second.season] == [(162, 335)]


def test_a_span_over_the_end_of_the_year_is_two_parts() -> None:
    (row,) = strip(replace(BROWN, when=When(date(2023, 12, 30), date(2024, 1, 2)))).rows
    assert [(mark.begin, mark.n_days) for mark in row.marks] == [(0, 2), (364, 2)]


def test_what_was_looked_for_and_not_found_is_told_apart() -> None:
    (row,) = strip(BROWN, replace(BROWN, id=UUID(int=9), when=When(date(2023, 8, 1)), count=0)).rows
    assert row.n_words == "1 sighting, looked for and not found 1×"
    assert [mark.is_absence for mark in row.marks] == [False, True]
    assert row.marks[1].words == "1 August 2023: looked for and not found"


def test_of_many_names_those_with_most_sightings_are_drawn() -> None:
    many = [replace(BROWN, id=UUID(int=100 + n), scientific_name=f"Aeshna {'a' * (n + 1)}") for n in range(MOST_ROWS)]
    drawn = strip(CHECKED, replace(CHECKED, id=UUID(int=9)), *many)
    assert (len(drawn.rows), drawn.n_left) == (MOST_ROWS, 1)
    assert "Common Darter" in {row.english for row in drawn.rows}


def test_a_row_leads_to_its_name_within_what_is_shown() -> None:
    (row,) = strip(BROWN, asked=AskedList(year="2024", first="41")).rows
    assert row.href == "/sightings?year=2024&name=Aeshna+grandis"
