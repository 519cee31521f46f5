"""The year of each species on one axis: a mark for every sighting, the season of flight behind them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from stillwing.fieldbook.sightings import KeptSighting
from stillwing.fieldbook.toldwords import count
from stillwing.records.filedwords import when_words
from stillwing.records.filing import KnownNames
from stillwing.records.yearstrip import YEAR_DAYS, SpeciesYear, day_of_year, species_years
from stillwing.web.sightings_address import AskedList, list_href
from stillwing.web.words import MONTHS

__all__ = ["MOST_ROWS", "Span", "Strip", "StripRow", "year_strip"]

MOST_ROWS = 60
"""Of names; of more, those with most sightings are drawn, and that is said."""
MOST_WORDS = 3
"""Times told of one mark."""
LEAP_YEAR = 2024
"""The axis is that of a leap year."""


@dataclass(frozen=True, slots=True)
class Span:
    """Days on the axis: where they begin, 0 to 366, and how many they are."""

    begin: int
    n_days: int
    words: str
    is_absence: bool = False


@dataclass(frozen=True, slots=True)
class StripRow:
    """One name's year."""

    english: str
    scientific: str
    href: str
    """The list of this name alone."""
    n_words: str
    days: str
    """The first and the last day of the year with a sighting, in words."""
    season_words: str
    """When it is on the wing by a list of species; empty where none tells."""
    season: tuple[Span, ...]
    """The same on the axis, in two parts where it runs over the end of the year."""
    marks: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """The rows, the early names first, and the axis."""

    n_days: int
    months: tuple[tuple[str, int], ...]
    """Short names, and where they begin."""
    rows: tuple[StripRow, ...]
    n_left: int
    """Names that are not drawn."""


def year_strip(kept: Sequence[KeptSighting], names: KnownNames, asked: AskedList) -> Strip:
    """Return the year of each name among some sightings."""
    years = species_years([one.sighting for one in kept], names.species)
    drawn = set(sorted(years, key=lambda one: len(one.marks), reverse=True)[:MOST_ROWS])
    words = {one.sighting.id: when_words(one.sighting.when) for one in kept}
    rows = tuple(
        StripRow(
            names.english(year.scientific_name),
            year.scientific_name,
            list_href(asked, name=year.scientific_name, first=""),
            _n_words(year),
            _days_words(year),
            "" if year.flight is None else _between(*year.flight),
            () if year.flight is None else _spans(*year.flight, _between(*year.flight)),
            _marks(year, words),
        )
        for year in years
        if year in drawn
    )
    months = tuple((name[:3], day_of_year(date(LEAP_YEAR, n, 1)) - 1) for n, name in enumerate(MONTHS, 1))
    return Strip(YEAR_DAYS, months, rows, len(years) - len(rows))


def _n_words(year: SpeciesYear) -> str:
    n_absent = len(year.marks) - year.n_found
    return count(year.n_found, "sighting") + (f", looked for and not found {n_absent}×" if n_absent else "")


def _days_words(year: SpeciesYear) -> str:
    if len({(mark.first, mark.last) for mark in year.marks}) == 1:
        only = year.marks[0]
        return _day(only.first) if only.first == only.last else _between(only.first, only.last)
    return _between(min(mark.first for mark in year.marks), max(mark.last for mark in year.marks))


def _between(first: int, last: int) -> str:
    return f"{_day(first)} to {_day(last)}"


def _day(number: int) -> str:
    day = date(LEAP_YEAR, 1, 1) + timedelta(days=number - 1)
    return f"{day.day} {MONTHS[day.month - 1]}"


def _marks(year: SpeciesYear, words: Mapping[UUID, str]) -> tuple[Span, ...]:
    """Return the marks of a name, one for all sightings of the same days."""
    held: dict[tuple[int, int, bool], list[str]] = {}
    for mark in year.marks:
        held.setdefault((mark.first, mark.last, mark.is_absence), []).append(words[mark.sighting_id])
    return tuple(
        span
        for (first, last, is_absence), told in held.items()
        for span in _spans(first, last, _together(told, is_absence), is_absence=is_absence)
    )


def _together(told: Sequence[str], is_absence: bool) -> str:
    n_more = len(told) - MOST_WORDS
    words = "; ".join(told[:MOST_WORDS]) + (f"; and {n_more} more" if n_more > 0 else "")
    return f"{words}: looked for and not found" if is_absence else words


def _spans(first: int, last: int, words: str, *, is_absence: bool = False) -> tuple[Span, ...]:
    """Return days, 1 to 366 and both counted, on the axis; over the end of the year they are two parts."""
    if last >= first:
        return (Span(first - 1, last - first + 1, words, is_absence),)
    return (
        Span(0, last, words, is_absence),
        Span(first - 1, YEAR_DAYS - first + 1, words, is_absence),
    )
