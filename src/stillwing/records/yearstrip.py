"""The year of each species as its sightings tell it: days and spans on one axis, whatever the year was."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median
from uuid import UUID

from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.records.region import FlightPeriod, Species

__all__ = ["YEAR_DAYS", "SpeciesYear", "StripMark", "busiest_month", "day_of_year", "days_seen", "species_years"]

YEAR_DAYS = 366
"""Of the axis: that of a leap year, so that one day of the calendar has one place in all years."""
LEAP_YEAR, COMMON_YEAR = 2024, 2023


@dataclass(frozen=True, slots=True)
class StripMark:
    """One sighting on the axis: days from ``first`` to ``last``, 1 to 366, both counted.

    One that runs over the end of the year has a last day before its first.
    """

    sighting_id: UUID
    first: int
    last: int
    is_absence: bool


@dataclass(frozen=True, slots=True)
class SpeciesYear:
    """One name's sightings over the year.

    Attributes
    ----------
    scientific_name : str
    marks : tuple of StripMark
        In order of days.
    n_found : int
        Sightings of animals; those that were looked for and not found do not count.
    flight : tuple of int, int, or None
        First and last day on which a list of species has it on the wing, at the earliest and latest.
    """

    scientific_name: str
    marks: tuple[StripMark, ...]
    n_found: int
    flight: tuple[int, int] | None


def species_years(
    sightings: Sequence[Sighting], species: Mapping[str, Species] | None = None
) -> tuple[SpeciesYear, ...]:
    """Return the year of each name that was sighted, the early ones first.

    Parameters
    ----------
    sightings : sequence of Sighting
    species : mapping of str to Species, optional
        Known ones by scientific name, for when they are on the wing.
    """
    held: dict[str, list[Sighting]] = {}
    for sighting in sightings:
        held.setdefault(sighting.scientific_name, []).append(sighting)
    known = species or {}
    years = [_year(name, those, known.get(name)) for name, those in held.items()]
    return tuple(sorted(years, key=lambda one: (median(mark.first for mark in one.marks), one.scientific_name)))


def day_of_year(day: date) -> int:
    """Return the place of a day on the axis.

    Examples
    --------
    >>> day_of_year(date(2023, 3, 1)), day_of_year(date(2024, 3, 1)), day_of_year(date(2023, 12, 31))
    (61, 61, 366)
    """
    return date(LEAP_YEAR, day.month, day.day).timetuple().tm_yday


def days_seen(when: When) -> tuple[date, date]:
    """Return the first and last day of a time, each in its own zone."""
    first = _day(when.begin)
    return first, first if when.end is None else _day(when.end)


def busiest_month(sightings: Sequence[Sighting]) -> int | None:
    """Return the month, 1 to 12, with most sightings of animals, the earlier where two have as many.

    A sighting that is told over several months counts in none; ``None`` where nothing is left.
    """
    n_by_month = [0] * 13
    for sighting in sightings:
        first, last = days_seen(sighting.when)
        if sighting.count != 0 and (first.year, first.month) == (last.year, last.month):
            n_by_month[first.month] += 1
    most = max(n_by_month)
    return n_by_month.index(most) if most else None


def _year(name: str, sightings: Sequence[Sighting], species: Species | None) -> SpeciesYear:
    marks = sorted(map(_mark, sightings), key=lambda mark: (mark.first, mark.last, str(mark.sighting_id)))
    flight = None if species is None or species.flight is None else _flight(species.flight)
    return SpeciesYear(name, tuple(marks), sum(one.count != 0 for one in sightings), flight)


def _mark(sighting: Sighting) -> StripMark:
    first, last = days_seen(sighting.when)
    is_absence = sighting.count == 0
    # From a whole year on, every day is as likely as any other.
    if last - first >= timedelta(days=YEAR_DAYS - 2):
        return StripMark(sighting.id, 1, YEAR_DAYS, is_absence)
    return StripMark(sighting.id, day_of_year(first), day_of_year(last), is_absence)


def _flight(period: FlightPeriod) -> tuple[int, int]:
    return _of_common_year(period.begins.first), _of_common_year(period.ends.last)


def _of_common_year(day: int) -> int:
    return day_of_year(date(COMMON_YEAR, 1, 1) + timedelta(days=day - 1))


def _day(moment: date | datetime) -> date:
    return moment.date() if isinstance(moment, datetime) else moment
