import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.sidecars import (
    SidecarWrite,
    close_entries,
    enter_sidecars,
    last_positions,
    last_ratings,
    last_step,
    next_step,
    strike_entries,
)


@pytest.fixture
def outing(book, photos):
    return open_outing(book, "pond", photos)


def enter(book, outing, step, path, rating="4", before=None):
    write = SidecarWrite(step=step, path=path, before=before, after_sha256="0" * 64, rating=rating)
    return enter_sidecars(book, outing.id, [write])[0]


def test_entries_of_the_last_step_come_back_latest_first(book, outing, photos):
    enter(book, outing, 1, photos / "a.xmp")
    enter(book, outing, 2, photos / "a.xmp", before=b"\xff as it was \0")
    enter(book, outing, 2, photos / "b.xmp")
    assert [(one.path.name, one.before) for one in last_step(book, outing.id)] == [
        ("b.xmp", None),
        ("a.xmp", b"\xff as it was \0"),
    ]
    assert next_step(book, outing.id) == 3


def test_what_was_undone_or_struck_is_left_out(book, outing, photos):
    first = enter(book, outing, 1, photos / "a.xmp", "2")
    second = enter(book, outing, 2, photos / "a.xmp", "4")
    assert last_ratings(book) == {photos / "a.xmp": "4"}
    close_entries(book, [second])
    assert last_ratings(book) == {photos / "a.xmp": "2"}
    assert [one.id for one in last_step(book, outing.id)] == [first]
    strike_entries(book, [first])
    assert last_step(book, outing.id) == ()
    assert last_ratings(book) == {}


def test_the_last_position_is_that_of_the_last_step_that_touched_one(book, outing, photos):
    path = photos / "a.xmp"
    entries = [
        enter_sidecars(
            book,
            outing.id,
            [SidecarWrite(step=step, path=path, before=None, after_sha256="", rating="4", position=position)],
        )[0]
        for step, position in enumerate(["52,6.0000N 0,6.0000E", None, "", None], 1)
    ]
    enter(book, outing, 5, photos / "b.xmp")
    assert last_positions(book) == {path: ""}
    assert last_step(book, outing.id)[0].position is None
    close_entries(book, entries[2:])
    assert last_positions(book) == {path: "52,6.0000N 0,6.0000E"}


def test_the_journal_outlives_the_program(book, outing, photos):
    enter(book, outing, next_step(book, outing.id), photos / "a.xmp", before=b"old")
    with open_book(book.path) as again:
        assert last_step(again, outing.id)[0].before == b"old"


def test_outings_have_steps_of_their_own(book, outing, photos):
    other = open_outing(book, "weir", photos)
    enter(book, outing, 1, photos / "a.xmp")
    assert last_step(book, other.id) == ()
    assert next_step(book, other.id) == 1
