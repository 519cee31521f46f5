"""Stays of a field book."""

from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, MomentKind, take_in
from stillwing.review.intervals import End, What
from stillwing.review.stays import stays_of

DAY = datetime(2026, 6, 1, 10, tzinfo=UTC)
PHONE = str(UUID(int=99))


def moment(number, kind, after_s, site="mill pond", **others):
    at = DAY + timedelta(seconds=after_s)
    return Moment(str(UUID(int=number + 1)), MomentKind(kind), at, PHONE, at, site=site, animal="hawker", **others)


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book.sqlite") as opened:
        yield opened


def test_a_gap_of_more_than_six_hours_parts_two_stays(book):
    hours = (0, 5, 10.9, 17)
    take_in(book, [moment(i, "pass", h * 3600) for i, h in enumerate(hours)])
    assert [(stay.start - DAY).total_seconds() / 3600 for stay in stays_of(book)] == [0, 17]
    assert stays_of(book)[0].end == DAY + timedelta(hours=10.9)


def test_waters_do_not_mix_and_may_be_asked_for(book):
    take_in(book, [moment(0, "pass", 0), moment(1, "pass", 60, site="Reed  Bay"), moment(2, "pass", 120)])
    assert [len(stay.log.events) for stay in stays_of(book)] == [2, 1]
    assert [stay.site for stay in stays_of(book, "reed bay")] == ["Reed  Bay"]


def test_a_stay_that_goes_on_lasts_until_now(book):
    take_in(book, [moment(0, "take-off", 0, perch="post"), moment(1, "return", 5, perch="post")])
    take_in(book, [moment(2, "take-off", 10, perch="post")])
    (stay,) = stays_of(book, end=DAY + timedelta(seconds=70))
    away = stay.intervals.of(What.ABSENCE)
    assert [(each.length_s, each.end) for each in away] == [(5.0, End.HAPPENED), (60.0, End.CUT_OFF)]
    (long_after,) = stays_of(book, end=DAY + timedelta(hours=7))
    assert long_after.end == DAY + timedelta(seconds=10)


def test_a_hover_that_lasts_bridges_a_gap(book):
    long_hover = moment(0, "hover", 0, until=DAY + timedelta(hours=3))
    take_in(book, [long_hover, moment(1, "pass", 8 * 3600)])
    assert len(stays_of(book)) == 1


def test_what_was_taken_back_makes_no_stay(book):
    take_in(book, [moment(0, "pass", 0, undone=True)])
    assert stays_of(book) == ()


def test_a_name_written_in_two_ways_is_one(book):
    take_in(book, [moment(0, "take-off", 0, perch="Post"), moment(1, "return", 5, perch="post")])
    (stay,) = stays_of(book)
    assert [(each.perch, each.end) for each in stay.intervals.of(What.ABSENCE)] == [("post", End.HAPPENED)]
