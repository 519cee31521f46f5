"""The year of each species: one axis for all years."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from fieldbook.sightingstrategies import sightings
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When
from stillwing.records.filing import known_names
from stillwing.records.yearstrip import YEAR_DAYS, busiest_month, day_of_year, species_years

POND = Where(name="Long Pond")


def seen(name: str, begin: date, end: date | None = None, **told: int) -> Sighting:
    return Sighting(name, When(begin, end), POND, **told)  # type: ignore[arg-type]


def test_a_day_of_the_calendar_has_one_place_in_all_years() -> None:
    # The 1st of March is day 61 of a leap year.
    assert {day_of_year(date(year, 3, 1)) for year in range(1999, 2030)} == {61}
    assert day_of_year(date(2024, 2, 29)) == 60


@given(st.dates(), st.dates())
def test_later_in_the_year_is_further_along(one: date, other: date) -> None:
    assert 1 <= day_of_year(one) <= YEAR_DAYS
    is_before = (one.month, one.day) < (other.month, other.day)
    assert (day_of_year(one) < day_of_year(other)) == is_before


def test_species_come_in_the_order_of_their_seasons() -> None:
    late = [seen("Sympetrum danae", date(year, 9, 1)) for year in (2023, 2024)]
    early = [seen("Pyrrhosoma nymphula", date(2024, 4, 20)), seen("Pyrrhosoma nymphula", date(2024, 5, 2), count=0)]
    first, second = species_years([*late, *early])
    assert (first.scientific_name, second.scientific_name) == ("Pyrrhosoma nymphula", "Sympetrum danae")
    assert (first.n_found, [mark.is_absence for mark in first.marks]) == (1, [False, True])
    # The 1st of September is day 245 of a leap year.
    assert [mark.first for mark in second.marks] == [245, 245]


def test_a_span_keeps_its_ends_even_over_the_end_of_the_year() -> None:
    (winter,) = species_years([seen("Sympecma fusca", date(2023, 12, 20), date(2024, 1, 5))])
    assert [(mark.first, mark.last) for mark in winter.marks] == [(355, 5)]
    (year,) = species_years([seen("Aeshna mixta", date(2023, 1, 1), date(2023, 12, 31))])
    assert [(mark.first, mark.last) for mark in year.marks] == [(1, YEAR_DAYS)]


def test_the_list_tells_when_a_species_is_on_the_wing() -> None:
    names = known_names(Path("none"))
    # The pack has the Brown Hawker from June to October, so from day 153 to day 305 of a leap year.
    (year,) = species_years([seen("Aeshna grandis", date(2024, 7, 6))], names.species)
    assert year.flight == (153, 305)
    (unknown,) = species_years([seen("Aeshna molaris", date(2024, 7, 6))], names.species)
    assert unknown.flight is None


def test_the_busiest_month_counts_animals_that_were_found() -> None:
    july = [seen("Aeshna grandis", date(2024, 7, day)) for day in (1, 2)]
    june = [seen("Aeshna grandis", date(2024, 6, day), count=0) for day in (1, 2, 3)]
    span = [seen("Aeshna grandis", date(2024, 5, 1), date(2024, 6, 2)) for _ in range(5)]
    assert busiest_month([*june, *span, *july]) == 7
    assert busiest_month(june) is None


def test_an_instant_counts_on_its_own_day() -> None:
    late = datetime(2024, 7, 6, 23, 30, tzinfo=UTC)
    (year,) = species_years([Sighting("Aeshna grandis", When(late, late + timedelta(hours=1)), POND)])
    assert [(mark.first, mark.last) for mark in year.marks] == [(188, 189)]


@given(st.lists(sightings(), max_size=8))
def test_every_sighting_has_its_mark_and_all_lie_on_the_axis(drawn: list[Sighting]) -> None:
    own = [replace(one, scientific_name=one.scientific_name[:2].strip() or "A") for one in drawn]
    years = species_years(own)
    marks = [mark for year in years for mark in year.marks]
    assert sorted(str(mark.sighting_id) for mark in marks) == sorted(str(one.id) for one in own)
    assert all(1 <= mark.first <= YEAR_DAYS and 1 <= mark.last <= YEAR_DAYS for mark in marks)
