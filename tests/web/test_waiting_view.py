"""What the Waiting page holds, from a field book."""

import json
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from review.tapped import Tapping
from stillwing.fieldbook.book import open_book
from stillwing.review.waiting import Waiting, waiting_at
from stillwing.web.answer import as_json
from stillwing.web.waiting_view import WaitingView, waiting_view


@pytest.fixture
def tapping(tmp_path: Path) -> Iterator[Tapping]:
    with open_book(tmp_path / "book.sqlite") as book:
        yield Tapping(book)


def learned(tapping: Tapping) -> Waiting:
    return waiting_at(tapping.book, "mill pond", "hawker")


@pytest.fixture
def rich(tapping: Tapping) -> WaitingView:
    tapping.rich_day()
    return waiting_view(learned(tapping))


def test_a_rich_day_has_a_part_for_each_thing_waited_for(rich: WaitingView) -> None:
    assert [part.id for part in rich.times] == ["away", "chance", "hover-waits", "hovers", "perched"]
    assert [part.id for part in rich.places] == ["by-perch", "by-stand", "by-conditions"]
    assert [part.names for part in rich.places][1:] == [("east", "west"), ("sun", "cloud, gusts")]


def test_no_sentence_stands_twice(rich: WaitingView) -> None:
    told = [*rich.sentences, *(sentence for part in rich.times for sentence in part.told)]
    assert len(told) == len(set(told))


def test_steps_of_the_plot_are_those_of_the_table(rich: WaitingView) -> None:
    away = rich.times[0]
    steps = away.sets["steps"]
    for kind, words in (("first", "back at its perch"), ("second", "landed elsewhere")):
        shares = [float(str(row["share"])) for row in steps if row["kind"] == kind]
        assert shares[0] == 0.0
        assert all(one <= other for one, other in pairwise(shares))
        table = [row for row in away.figures.rows if row[1] == words]
        assert len(table) == len(shares) - 2
        assert table[-1][2] == f"{shares[-1] * 100:.0f} %"


def test_each_model_has_its_line_and_its_words(rich: WaitingView) -> None:
    by_id = {part.id: part for part in rich.times}
    assert {row["kind"] for row in by_id["away"].sets["lines"]} == {"steady"}
    assert {row["kind"] for row in by_id["hovers"].sets["lines"]} == {"steady", "changing"}
    assert [line.kind for line in by_id["hovers"].key] == ["first", "steady", "changing"]
    assert "Weibull shape" in by_id["hovers"].told[-1]


def test_when_to_leave_is_marked_where_it_is_told(tapping: Tapping) -> None:
    tapping.absences([4, 9, 6, 12, 7])
    away = learned(tapping).away
    assert away is not None
    chance = waiting_view(learned(tapping)).times[1]
    assert chance.leave_s == away.leave_after_s <= chance.until_s
    assert [line.kind for line in chance.key] == ["chance", "leave"]
    assert chance.figures.rows[-1][1].endswith("%")


def test_without_a_return_there_is_no_chance_and_no_mark(tapping: Tapping) -> None:
    tapping.tap(0, "take-off", "post")
    tapping.tap(60, "moved")
    view = waiting_view(learned(tapping))
    assert [part.id for part in view.times] == ["away"]
    assert view.times[0].sets == {"steps": [], "lines": []}
    assert view.sentences[0] == "no return seen of one absence"
    assert any("tap return" in sentence for sentence in view.missing)


def test_a_place_watched_for_a_moment_does_not_press_the_others_together(tapping: Tapping) -> None:
    tapping.absences([5] * 6, pause_s=300)
    tapping.tap(5, "moved", stand="west")
    tapping.tap(20, "pass", stand="west")
    tapping.tap(0.5, "moved", stand="north")
    tapping.tap(30, "pass", stand="north")
    stands = next(part for part in waiting_view(learned(tapping)).places if part.id == "by-stand")
    most = max(row["per_h"] for row in stands.places)
    assert stands.is_cut == (max(row["high"] for row in stands.places) > 4 * most)
    assert stands.highest <= 4 * most * 1.05


def test_places_without_any_name_are_not_compared(tapping: Tapping) -> None:
    tapping.tap(0, "pass", stand="")
    tapping.tap(60, "pass", stand="")
    assert waiting_view(learned(tapping)).places == ()


def test_the_page_as_json_holds_no_figure_that_is_none(rich: WaitingView) -> None:
    assert "NaN" not in json.dumps(as_json(rich))
    assert None not in [value for part in rich.times for row in part.sets.get("steps", []) for value in row.values()]
