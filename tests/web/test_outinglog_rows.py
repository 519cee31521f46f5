"""The picture of an outing's log: which row, which lane, how far along."""

from datetime import timedelta
from itertools import pairwise

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import Moment
from stillwing.fieldbook.outinglog import outing_log
from stillwing.web.outinglog_rows import LANE_PX, DiaryRow, diary

from .drawn import Drawn
from .logged import LOG, log_outing, tapped


def rows_of(drawn: Drawn, *moments: Moment) -> tuple[DiaryRow, ...]:
    log_outing(drawn, *moments)
    with open_book(drawn.book_path) as book:
        return diary(outing_log(book, drawn.outing_id), drawn.outing_id)


def test_moments_and_bursts_lie_where_the_clock_says(drawn: Drawn) -> None:
    rows = rows_of(drawn, *LOG)
    assert [one.title for one in rows] == ["10:20 to 10:25", "10:25 to 10:30", "10:30 to 10:35", "10:35 to 10:40"]
    first = rows[0]
    # 64 s and 62 s of 300 s.
    assert [one.x for one in first.bursts] == [pytest.approx(100 * 64.12 / 300, abs=0.01)]
    hover = next(one for one in first.lanes if one.words == "hover")
    assert hover.marks[0].x == pytest.approx(100 * 62 / 300, abs=0.01)
    assert hover.marks[0].width == 4.0
    assert [one.state for row in rows for one in row.bursts] == ["told", "doubt", "told"]


def test_a_row_has_the_lanes_of_its_own_moments(drawn: Drawn) -> None:
    rows = rows_of(drawn, *LOG)
    assert [one.words for one in rows[2].lanes] == ["hover"]
    lanes = rows[0].lanes
    assert {round(b.y - a.y) for a, b in pairwise(lanes)} == {LANE_PX}
    assert all(lane.y < rows[0].height for lane in lanes)


def test_every_moment_and_burst_is_drawn_once(drawn: Drawn) -> None:
    moments = [tapped(i, 37.0 * i, ("hover", "pass", "landing")[i % 3]) for i in range(120)]
    rows = rows_of(drawn, *moments)
    assert sum(len(lane.marks) for row in rows for lane in row.lanes) == 120
    assert sum(len(row.bursts) for row in rows) == 3
    assert len(rows) <= 6
    assert all(0 <= mark.x <= 100 for row in rows for lane in row.lanes for mark in lane.marks)


def test_a_stretch_in_which_nothing_happened_has_no_row(drawn: Drawn) -> None:
    rows = rows_of(drawn, tapped(1, 0, "pass"), tapped(2, timedelta(hours=1, minutes=50).total_seconds(), "pass"))
    assert len(rows) < 6
    assert rows[-1].title.startswith("12:1")


def test_a_hover_over_the_edge_of_a_row_stays_in_it(drawn: Drawn) -> None:
    (mark,) = next(row.lanes[0].marks for row in rows_of(drawn, tapped(1, 230, "hover", 600.0)) if row.lanes)
    assert mark.x + mark.width == pytest.approx(100, abs=0.01)
