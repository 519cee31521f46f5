import doctest
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given

import stillwing.fieldbook.sightingtime as module
from stillwing.errors import InputError
from stillwing.fieldbook.sightingtime import When, read_when

from .sightingstrategies import WHEN

BST = timezone(timedelta(hours=1))
DWC = "TDWG, List of Darwin Core terms, examples of dwc:eventDate (as quoted in public copies of the list)"


@given(WHEN)
def test_reading_what_was_written_gives_the_same(when: When) -> None:
    again = read_when(when.iso)
    assert again == when
    assert again.iso == when.iso


@pytest.mark.parametrize(
    ("text", "begin", "end"),
    [
        ("1963-03-08T14:07-0600", datetime(1963, 3, 8, 20, 7, tzinfo=UTC), None),
        ("2009-02-20T08:40Z", datetime(2009, 2, 20, 8, 40, tzinfo=UTC), None),
        ("1809-02-12", date(1809, 2, 12), None),
        ("1906-06", date(1906, 6, 1), date(1906, 6, 30)),
        ("1971", date(1971, 1, 1), date(1971, 12, 31)),
        (
            "2007-03-01T13:00:00Z/2008-05-11T15:30:00Z",
            datetime(2007, 3, 1, 13, tzinfo=UTC),
            datetime(2008, 5, 11, 15, 30, tzinfo=UTC),
        ),
        ("1900/1909", date(1900, 1, 1), date(1909, 12, 31)),
        ("2007-11-13/15", date(2007, 11, 13), date(2007, 11, 15)),
    ],
)
def test_the_standards_own_examples_are_read(text: str, begin: date, end: date | None) -> None:
    assert read_when(text) == When(begin, end), DWC


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", 'the time is ""'),
        ("6 July 2024", "write a day such as"),
        ("2024-02-30", "write a day such as"),
        ("2024-07-06T14:30", "without a zone"),
        ("2024-07-08/2024-07-06", "ends later than it begins"),
        ("2024-07-06/2024-07-06T14:30Z", "two days or two instants"),
        ("2024-07-06/", "write a day such as"),
    ],
)
def test_what_is_no_time_is_told_in_one_sentence(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_when(text)


def test_a_zone_of_odd_seconds_is_refused_since_iso_8601_cannot_tell_it() -> None:
    with pytest.raises(InputError, match="whole minutes"):
        When(datetime(1840, 7, 6, tzinfo=timezone(timedelta(seconds=-75))))


def test_an_instant_keeps_its_zone() -> None:
    assert When(datetime(2024, 7, 6, 14, 30, tzinfo=BST)).iso == "2024-07-06T14:30:00+01:00"


def test_the_examples_are_true() -> None:
    assert doctest.testmod(module).failed == 0
