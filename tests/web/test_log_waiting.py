"""What a phone is told of earlier days."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment, MomentKind, take_in
from stillwing.web import log_waiting
from stillwing.web.log_waiting import PastInterval, PastRate, past_waiting

from .waitings import PHONE, SITE

NOW = datetime(2026, 6, 2, 12, tzinfo=UTC)


def tap(number: int, kind: str, before: timedelta, perch: str = "post") -> Moment:
    at = NOW - before
    names = {"animal": "hawker", "site": SITE, "stand": "east", "perch": perch}
    return Moment(str(UUID(int=number)), MomentKind(kind), at, PHONE, at, **names)


def test_earlier_stays_are_told_and_one_that_may_go_on_is_not(tmp_path: Path) -> None:
    day, lately = timedelta(hours=24), timedelta(hours=1)
    with open_book(tmp_path / "book.sqlite") as book:
        take_in(book, [tap(1, "take-off", day), tap(2, "return", day - timedelta(seconds=7))])
        take_in(book, [tap(3, "take-off", lately), tap(4, "return", lately - timedelta(seconds=5))])
        told = past_waiting(book, NOW)
    assert told.past == (
        PastInterval("hover-wait", SITE, "east", "", "hawker", 7.0, "cut off"),
        PastInterval("away", SITE, "east", "post", "hawker", 7.0, "happened"),
    )
    assert told.rates == (PastRate(SITE, "post", "hawker", ("east",), 1, 7.0),)


def test_only_the_newest_of_many_are_told_the_oldest_first(tmp_path: Path, monkeypatch) -> None:
    monkeypatch.setattr(log_waiting, "MOST", 3)
    day = timedelta(hours=24)
    with open_book(tmp_path / "book.sqlite") as book:
        for i in range(5):
            start = day - timedelta(seconds=100 * i)
            take_in(
                book, [tap(2 * i + 1, "take-off", start), tap(2 * i + 2, "return", start - timedelta(seconds=i + 1))]
            )
        told = past_waiting(book, NOW)
    assert [each.length_s for each in told.past if each.what == "away"] == [3.0, 4.0, 5.0]


def test_an_empty_book_tells_nothing(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        told = past_waiting(book)
    assert (told.past, told.rates) == ((), ())
