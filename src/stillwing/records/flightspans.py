"""A species' flight season as pieces of one axis of the year, with its uncertain ends apart."""

from dataclasses import dataclass
from datetime import date, timedelta

from stillwing.records.region import FlightPeriod
from stillwing.records.yearstrip import YEAR_DAYS, day_of_year

__all__ = ["FlightSpan", "flight_spans"]

COMMON_YEAR = 2023


@dataclass(frozen=True, slots=True)
class FlightSpan:
    """Days of the axis of `stillwing.records.yearstrip`, 1 to 366, both counted; ``first`` is never after ``last``."""

    first: int
    last: int
    is_sure: bool
    """False in the days within which the season begins or ends."""


def flight_spans(period: FlightPeriod) -> tuple[FlightSpan, ...]:
    """Return the pieces of a flight season in order of time; one that runs over the end of the year is cut there.

    Examples
    --------
    >>> from pathlib import Path
    >>> from stillwing.records.pack import region_named
    >>> britain = region_named("britain-and-ireland", own=Path("none"))
    >>> darter = next(each for each in britain.species if each.name == "Common Darter")
    >>> darter.flight.first_words, darter.flight.last_words
    ('Mid June', 'November')
    >>> [(span.first, span.last, span.is_sure) for span in flight_spans(darter.flight)]
    [(163, 172, False), (173, 305, True), (306, 335, False)]
    """
    begins = _day(period.begins.first), _day(period.begins.last)
    ends = _day(period.ends.first), _day(period.ends.last)
    until_sure, whole = _days_on(begins[0], begins[1]) + 1, _days_on(begins[0], ends[1]) + 1
    from_unsure = _days_on(begins[0], ends[0])
    # A season such as "Mid May to May" may end before it may have begun.
    if until_sure >= from_unsure or from_unsure >= whole:
        return _cut(begins[0], whole, is_sure=False)
    return (
        *_cut(begins[0], until_sure, is_sure=False),
        *_cut(begins[0] + until_sure, from_unsure - until_sure, is_sure=True),
        *_cut(ends[0], whole - from_unsure, is_sure=False),
    )


def _day(day: int) -> int:
    """Return the place on the axis of a day of a common year, 1 to 365."""
    return day_of_year(date(COMMON_YEAR, 1, 1) + timedelta(days=day - 1))


def _days_on(first: int, last: int) -> int:
    return (last - first) % YEAR_DAYS


def _cut(first: int, n_days: int, *, is_sure: bool) -> tuple[FlightSpan, ...]:
    start = (first - 1) % YEAR_DAYS + 1
    last = start + n_days - 1
    if last <= YEAR_DAYS:
        return (FlightSpan(start, last, is_sure),)
    return FlightSpan(start, YEAR_DAYS, is_sure), FlightSpan(1, last - YEAR_DAYS, is_sure)
