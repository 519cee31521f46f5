"""Bursts as rows."""

import pytest

from stillwing.fieldbook.conditions import type_condition
from stillwing.review.outcomerows import burst_table
from stillwing.review.outcomesread import TakenBursts, taken_bursts

from .invented import FRAME_S, START, Taken, invent_outing


def test_a_row_tells_what_came_of_a_burst_how_it_was_taken_and_how_it_was_followed(book):
    outing = invent_outing(
        book, "one", [Taken(n_frames=10, keeps=(4, 5), lacks=(0, 1), tags={"iso": 800}), Taken(n_frames=3)]
    )
    type_condition(book, outing.id, "support", "hand")
    table = burst_table(taken_bursts(book))
    first, second = (dict(zip(table.columns, row, strict=True)) for row in table.rows)
    assert (first["outing"], first["n_frames"], first["n_keepers"], first["iso"], first["support"]) == (
        "one", 10, 2, 800.0, "hand",
    )  # fmt: skip
    assert (first["n_inside"], first["first_inside_s"]) == (8, pytest.approx(2 * FRAME_S))
    assert first["taken_at"] == START.isoformat()
    assert second["iso"] is None
    assert table.columns["iso"] is float
    assert table.columns["support"] is str


def test_a_condition_with_the_name_of_a_column_is_told_apart(book):
    outing = invent_outing(book, "one", [Taken()])
    type_condition(book, outing.id, "outing", "walked far")
    table = burst_table(taken_bursts(book))
    row = dict(zip(table.columns, table.rows[0], strict=True))
    assert (row["outing"], row["typed outing"]) == ("one", "walked far")


def test_no_bursts_are_columns_without_rows():
    table = burst_table(TakenBursts((), (), 0))
    assert table.rows == ()
    assert table.columns["n_keepers"] is int
