"""What a review reads of frames, against all that is stored of them."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from review.invented import WIDTH_PX, Taken, invent_outing
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.choices import choose, standing_choices
from stillwing.fieldbook.frames import measured_bursts
from stillwing.fieldbook.takenframes import Judged, judged_bursts, measured_widths, taken_frames
from stillwing.frames.chosen import Choice


@pytest.fixture
def book(tmp_path: Path) -> Iterator[FieldBook]:
    with open_book(tmp_path / "book.sqlite") as opened:
        yield opened


def test_frames_are_those_that_were_measured_in_their_order(book: FieldBook) -> None:
    bursts = [
        Taken(n_frames=4, lacks=(1,), slips=(None, (3.0, -1.0)), minutes=20.0, tags={"iso": 800, "focus_mode": "AF-C"}),
        Taken(n_frames=2, minutes=1.0, tags={"taken_at": None}),
    ]
    outing = invent_outing(book, "June", bursts)
    told = taken_frames(book, outing.id)
    whole = list(measured_bursts(book, outing.id))
    assert [burst.id for burst in told] == [burst.id for burst in whole]
    for short, full in zip(told, whole, strict=True):
        for one, all_ in zip(short.frames, full.frames, strict=True):
            tags = all_.frame.tags
            assert (one.taken_at, one.iso, one.focus_mode) == (tags.taken_at, tags.iso, tags.focus_mode)
            assert one.has_subseconds is tags.has_subseconds
            assert (one.width_px, one.height_px) == (all_.width_px, all_.height_px)
            assert one.slip_px == (None if all_.slip is None else (all_.slip.x_px, all_.slip.y_px))
            assert one.animal_px == (all_.animals[0].box.centre_px if all_.animals else None)


def test_frames_with_a_choice_are_counted_by_what_stands(book: FieldBook) -> None:
    outing = invent_outing(book, "June", [Taken(n_frames=5, keeps=(0, 1), soft=(4,), lacks=(3,)), Taken(n_frames=3)])
    ids = [choice.frame_id for choice in standing_choices(book, outing.id)]
    first, second = (burst.id for burst in taken_frames(book, outing.id))
    assert measured_widths(book, outing.id) == (WIDTH_PX,)
    assert judged_bursts(book, outing.id) == {first: Judged(5, 2), second: Judged(3, 0)}
    # Sharp enough are all but the soft one and the one without an animal.
    assert judged_bursts(book, outing.id, {WIDTH_PX: 2000.0}) == {first: Judged(5, 3), second: Judged(3, 3)}
    assert judged_bursts(book, outing.id, {WIDTH_PX + 1: 2000.0})[second] == Judged(3, 0)
    choose(book, outing.id, ids[:1] + ids[-1:], Choice.LEAVE)
    choose(book, outing.id, ids[4:5], Choice.KEEP)
    assert judged_bursts(book, outing.id) == {first: Judged(5, 2), second: Judged(3, 0)}
    assert judged_bursts(book, outing.id, {WIDTH_PX: 2000.0}) == {first: Judged(5, 3), second: Judged(3, 2)}
