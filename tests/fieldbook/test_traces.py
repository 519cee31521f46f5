import math
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import Engine, event, select, text

from stillwing.errors import UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.boxes import draw_box
from stillwing.fieldbook.choices import choose, standing_choices, store_proposals
from stillwing.fieldbook.frames import measured_frame, store_chunk
from stillwing.fieldbook.history import undo
from stillwing.fieldbook.outings import counts, open_outing
from stillwing.fieldbook.traces import (
    Neighbours,
    burst_summaries,
    frame_path,
    neighbours,
    summaries_query,
    trace,
    trace_animals_query,
    trace_frames_query,
    traces,
)
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.measured import Box

from .invented import START, animal, burst_of, listed_outing, measured, measured_outing, plan


def test_a_trace_is_the_burst_over_frame_number(book, photos):
    burst = burst_of(photos, 4)
    outing = listed_outing(book, photos, burst)
    chunk = [
        measured(burst.frames[0], animal(1.5), animal(3.0, x_px=2000.0, track=1)),
        measured(burst.frames[1]),
        replace(measured(burst.frames[2], animal(None)), from_preview=True),
    ]
    store_chunk(book, outing.id, chunk, code_version="1")
    store_proposals(
        book, outing.id, [Proposal(burst.frames[0].path, Choice.KEEP, "sharpest", 5184.0)], sharp_for="full"
    )
    found = trace(book, burst_summaries(book, outing.id)[0].id)
    choose(book, outing.id, [found.frames[1].id], Choice.SPARE)
    draw_box(book, outing.id, found.frames[3].id, Box(1, 2, 30, 40))
    found = trace(book, found.id)
    assert (found.name, found.outing_id, found.taken_at) == ("P00000", outing.id, START)
    first, second, third, last = found.frames
    assert [one.number for one in found.frames] == [0, 1, 2, 3]
    assert [one.path for one in found.frames] == [frame.path for frame in burst.frames]
    assert second.taken_at == START + timedelta(milliseconds=50)
    assert [(one.number, one.track, one.box.x_px, one.blur.blur_px) for one in first.animals] == [
        (0, 0, 100.0, 1.5),
        (1, 1, 2000.0, 3.0),
    ]
    assert first.animals[0].blur == animal(1.5).blur
    assert (first.proposed, first.reason, first.usable_width_px, first.choice) == (
        Choice.KEEP,
        "sharpest",
        5184.0,
        Choice.KEEP,
    )
    assert (second.animals, second.is_measured, second.by_hand, second.choice) == ((), True, Choice.SPARE, Choice.SPARE)
    assert (third.from_preview, third.animals[0].blur) == (True, None)
    assert (last.is_measured, last.choice, last.drawn, last.width_px) == (False, None, Box(1, 2, 30, 40), 5184)
    assert math.isnan(last.usable_width_px)


def test_summaries_come_in_pieces_that_join_up(book, photos):
    bursts = [burst_of(photos, 2, first=10 * i, minutes=i) for i in range(7)]
    outing = measured_outing(book, photos, *bursts)
    pieces = [burst_summaries(book, outing.id, offset=offset, limit=3) for offset in (0, 3, 6, 9)]
    assert [[one.name for one in piece] for piece in pieces] == [
        ["P00000", "P00010", "P00020"],
        ["P00030", "P00040", "P00050"],
        ["P00060"],
        [],
    ]


def test_a_summary_counts_what_stands(book, photos):
    burst = burst_of(photos, 5)
    outing = measured_outing(book, photos, burst)
    store_chunk(book, outing.id, [measured(burst.frames[4])], code_version="1")
    choices = [Choice.KEEP, Choice.SPARE, Choice.LEAVE, Choice.LEAVE]
    proposals = [Proposal(one.path, choice, "why") for one, choice in zip(burst.frames, choices, strict=False)]
    store_proposals(book, outing.id, proposals, sharp_for="full")
    found = trace(book, burst_summaries(book, outing.id)[0].id)
    choose(book, outing.id, [found.frames[0].id, found.frames[4].id], Choice.SPARE)
    summary = burst_summaries(book, outing.id)[0]
    assert (summary.n_frames, summary.n_measured, summary.n_found, summary.n_by_hand) == (5, 5, 4, 2)
    assert (summary.n_keep, summary.n_spare, summary.n_leave) == (0, 3, 2)
    assert summary.sharpest_blur_px == 1.0


def test_a_burst_in_which_nothing_was_measured_has_no_sharpest(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    assert math.isnan(burst_summaries(book, outing.id)[0].sharpest_blur_px)


def test_traces_come_in_the_order_asked_for(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1), burst_of(photos, 2, first=5, minutes=1))
    first, second = (one.id for one in burst_summaries(book, outing.id))
    assert [(one.id, len(one.frames)) for one in traces(book, [second, first])] == [(second, 2), (first, 1)]
    assert traces(book, []) == ()


def test_neighbours_follow_time(book, photos):
    outing = measured_outing(book, photos, *[burst_of(photos, 1, first=i, minutes=-i) for i in range(3)])
    last, middle, first = (one.id for one in sorted(burst_summaries(book, outing.id), key=lambda one: one.name))
    assert neighbours(book, first) == Neighbours(None, middle, 0, 3)
    assert neighbours(book, middle) == Neighbours(first, last, 1, 3)
    assert neighbours(book, last) == Neighbours(middle, None, 2, 3)


def test_unknown_numbers_are_told(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1))
    assert frame_path(book, trace(book, burst_summaries(book, outing.id)[0].id).frames[0].id) == photos / "P00000.jpg"
    with pytest.raises(UnknownThing, match="no burst number 99"):
        traces(book, [burst_summaries(book, outing.id)[0].id, 99])
    with pytest.raises(UnknownThing, match="no burst number 99"):
        neighbours(book, 99)
    with pytest.raises(UnknownThing, match="no frame number 99"):
        frame_path(book, 99)


@pytest.mark.parametrize(
    "query",
    [summaries_query(1, 100, 50), trace_frames_query([1, 2]), trace_animals_query([1, 2])],
    ids=["summaries", "frames", "animals"],
)
def test_what_a_page_asks_for_is_found_by_index_and_loads_no_shape(book, photos, query):
    measured_outing(book, photos, burst_of(photos, 2))
    steps = plan(book, query)
    assert steps
    tables = {"burst", "burst_frame", "frame", "measurement", "animal", "person_choice", "proposal", "drawn_box"}
    scanned = [step for step in steps if step.startswith("SCAN") and step.split()[1] in tables]
    assert scanned == []
    assert not any("shape" in step for step in steps)
    assert any("SEARCH burst_frame USING COVERING INDEX" in step for step in steps)


def test_a_piece_of_the_bursts_is_cut_before_their_frames_are_looked_up(book, photos):
    measured_outing(book, photos, burst_of(photos, 2))
    steps = plan(book, summaries_query(1, 0, 50))
    searches = [step for step in steps if step.startswith(("SEARCH", "SCAN"))]
    assert "ix_burst_outing_id_taken_at_id" in searches[0]
    assert searches[1].startswith("SCAN anon_")


@pytest.mark.parametrize(
    ("where", "index"),
    [
        ("outing_id = 1 AND undone_at IS NULL ORDER BY id DESC LIMIT 1", "ix_act_standing_by_outing"),
        (
            "frame_id = 1 AND subject = 'choice' AND undone_at IS NULL ORDER BY id DESC LIMIT 1",
            "ix_act_standing_by_frame",
        ),
        ("step = 1", "ix_act_step"),
    ],
)
def test_acts_are_found_by_index(book, where, index):
    steps = plan(book, select(schema.act).where(text(where)))
    assert [index in step for step in steps] == [True]


LARGE_FRAMES, LARGE_BURSTS = 20_000, 800

WAYS_TO_BE_QUICK = {
    "counts": (3000, lambda book, outing, ids, frame: counts(book, outing)),
    "first bursts": (300, lambda book, outing, ids, frame: burst_summaries(book, outing)),
    "last bursts": (300, lambda book, outing, ids, frame: burst_summaries(book, outing, offset=LARGE_BURSTS - 50)),
    "traces of 20": (200, lambda book, outing, ids, frame: traces(book, ids[:20])),
    "one trace": (12, lambda book, outing, ids, frame: trace(book, ids[0])),
    "neighbours": (9, lambda book, outing, ids, frame: neighbours(book, ids[7])),
    "one frame": (3, lambda book, outing, ids, frame: measured_frame(book, frame)),
    "a choice": (5, lambda book, outing, ids, frame: choose(book, outing, [frame], Choice.KEEP)),
    "its undo": (5, lambda book, outing, ids, frame: undo(book, outing)),
    "keepers": (2000, lambda book, outing, ids, frame: standing_choices(book, outing, Choice.KEEP)),
}


def fill(book, photos):
    """Fill the book with 20,000 measured frames straight in SQL: the rows of one real burst, over and over."""
    outing = open_outing(book, "large", photos)
    with book.writing() as connection:
        connection.exec_driver_sql("CREATE TEMP TABLE one_of AS SELECT * FROM frame")
        connection.exec_driver_sql(
            "CREATE TEMP TABLE series AS WITH RECURSIVE s(value) AS (SELECT 0 UNION ALL SELECT value + 1 FROM s "
            f"WHERE value + 1 < {LARGE_FRAMES}) SELECT value FROM s"
        )
        per_burst = LARGE_FRAMES // LARGE_BURSTS
        connection.exec_driver_sql(
            f"INSERT INTO burst SELECT value + 1000, {outing.id}, '/large', 'B' || value, "
            f"strftime('%Y-%m-%dT%H:%M:%S', '2026-06-02', value || ' minutes') FROM series WHERE value < {LARGE_BURSTS}"
        )
        columns = ", ".join(column.name for column in schema.frame.c if column.name not in ("id", "path"))
        connection.exec_driver_sql(
            f"INSERT INTO frame (id, path, {columns}) SELECT value + 1000, '/large/' || value, {columns} "
            "FROM series CROSS JOIN (SELECT * FROM one_of LIMIT 1)"
        )
        connection.exec_driver_sql(
            f"INSERT INTO burst_frame SELECT {outing.id}, value + 1000, "
            f"value / {per_burst} + 1000, value % {per_burst} FROM series"
        )
        for table, key in ((schema.measurement, "frame_id"), (schema.animal, "frame_id"), (schema.shape, "frame_id")):
            rest = ", ".join(column.name for column in table.c if column.name != key)
            connection.exec_driver_sql(
                f"INSERT INTO {table.name} ({key}, {rest}) SELECT value + 1000, {rest} FROM series CROSS JOIN "
                f"(SELECT * FROM {table.name} WHERE frame_id < 1000 LIMIT 1)"
            )
        connection.exec_driver_sql(
            f"INSERT INTO proposal SELECT {outing.id}, value + 1000, "
            "CASE value % 4 WHEN 0 THEN 'keep' ELSE 'leave' END, "
            "'sharpest of 14, whole animal in frame, 61 % of the width', 4000 FROM series"
        )
    return outing


@contextmanager
def steps_of_sqlite():
    """Count the steps of SQLite's machine, in thousands: what a question costs on any machine, however busy."""
    counted = [0]

    def count():
        counted[0] += 1

    def watch(connection, *_):
        connection.connection.driver_connection.set_progress_handler(count, 1000)

    event.listen(Engine, "before_cursor_execute", watch)
    try:
        yield counted
    finally:
        event.remove(Engine, "before_cursor_execute", watch)


def test_pages_stay_quick_with_twenty_thousand_frames(book, photos):
    measured_outing(book, photos, burst_of(photos, 1))
    outing = fill(book, photos)
    assert counts(book, outing.id).n_found == LARGE_FRAMES
    ids = [one.id for one in burst_summaries(book, outing.id)]
    frame_id = trace(book, ids[3]).frames[5].id
    with steps_of_sqlite() as steps:
        took = {}
        for way, (_, ask) in WAYS_TO_BE_QUICK.items():
            before = steps[0]
            ask(book, outing.id, ids, frame_id)
            took[way] = steps[0] - before
    print(took)
    # Three times what it takes: a scan of 20,000 frames where a search should be costs more.
    assert {way: n for way, n in took.items() if n > WAYS_TO_BE_QUICK[way][0]} == {}
