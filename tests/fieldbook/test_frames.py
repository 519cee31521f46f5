from pathlib import Path

import pytest

from stillwing.errors import UnknownThing, UnreadableFrame
from stillwing.fieldbook.choices import choose, store_proposals
from stillwing.fieldbook.frames import FRAMES_AT_ONCE, measured_burst, measured_bursts, measured_frame, store_chunk
from stillwing.fieldbook.listing import to_measure
from stillwing.fieldbook.outings import counts, failures
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.frame import Frame, Tags

from .invented import animal, burst_of, listed_outing, measured, measured_outing


def test_what_was_measured_is_read_back_burst_by_burst(book, photos):
    bursts = [burst_of(photos, 3), burst_of(photos, 2, first=3, minutes=1)]
    outing = listed_outing(book, photos, *bursts)
    chunks = [
        [measured(frame, animal(1.0 + i), animal(None, x_px=2000.0, track=1)) for i, frame in enumerate(burst.frames)]
        for burst in bursts
    ]
    for chunk in chunks:
        store_chunk(book, outing.id, chunk, code_version="1")
    back = list(measured_bursts(book, outing.id, with_shapes=True))
    assert [(one.name, list(one.frames)) for one in back] == [
        ("P00000", chunks[0]),
        ("P00003", chunks[1]),
    ]
    assert measured_burst(book, back[1].id) == back[1]
    assert measured_frame(book, 1) == chunks[0][0]


def test_figures_come_without_shapes_unless_asked_for(book, photos):
    outing = measured_outing(book, photos, burst_of(photos, 1))
    found = next(measured_bursts(book, outing.id)).frames[0].animals[0]
    assert (found.outline_px, found.focus_map) == ((), None)
    assert found.blur is not None


def test_many_bursts_are_read_in_pieces_and_none_is_lost(book, photos):
    bursts = [
        burst_of(photos, n_frames, first=1000 * i, minutes=i)
        for i, n_frames in enumerate([FRAMES_AT_ONCE + 1, 1, FRAMES_AT_ONCE, 2])
    ]
    outing = measured_outing(book, photos, *bursts)
    assert [(one.name, len(one.frames)) for one in measured_bursts(book, outing.id)] == [
        (burst.name, len(burst.frames)) for burst in bursts
    ]


def test_a_chunk_with_a_frame_never_listed_is_stored_not_at_all(book, photos):
    burst = burst_of(photos, 2)
    outing = listed_outing(book, photos, burst)
    stray = Frame((photos / "stray.jpg",), Tags())
    with pytest.raises(UnknownThing, match=r"stray\.jpg: the field book holds no such frame"):
        store_chunk(book, outing.id, [measured(burst.frames[0]), measured(stray)], code_version="1")
    assert counts(book, outing.id).n_measured == 0


def test_a_failed_frame_is_told_and_tried_again(book, photos):
    burst = burst_of(photos, 2)
    outing = listed_outing(book, photos, burst)
    failed = UnreadableFrame(burst.frames[1].path, "torn")
    store_chunk(book, outing.id, [measured(burst.frames[0])], [failed], code_version="1")
    assert [str(one) for one in failures(book, outing.id)] == [str(failed)]
    again = to_measure(book, outing.id, photos, "1")
    assert again[0].frames == burst.frames[1:]
    store_chunk(book, outing.id, [measured(burst.frames[1])], code_version="1")
    assert failures(book, outing.id) == ()


def test_a_frame_that_turns_unreadable_loses_its_old_figures(book, photos):
    burst = burst_of(photos, 1)
    outing = measured_outing(book, photos, burst)
    store_chunk(book, outing.id, [], [UnreadableFrame(burst.frames[0].path, "torn")], code_version="1")
    assert counts(book, outing.id).n_measured == 0


def test_measuring_again_leaves_choices_alone(book, photos):
    burst = burst_of(photos, 2)
    outing = measured_outing(book, photos, burst)
    store_proposals(
        book, outing.id, [Proposal(one.path, Choice.SPARE, "why") for one in burst.frames], sharp_for="full"
    )
    frames = trace(book, burst_summaries(book, outing.id)[0].id).frames
    choose(book, outing.id, [frames[0].id], Choice.KEEP)
    store_chunk(book, outing.id, [measured(frame, animal(9.0)) for frame in burst.frames], code_version="2")
    assert [one.choice for one in trace(book, burst_summaries(book, outing.id)[0].id).frames] == [
        Choice.KEEP,
        Choice.SPARE,
    ]


def test_unknown_numbers_are_told(book):
    with pytest.raises(UnknownThing, match="no burst number 7"):
        measured_burst(book, 7)
    with pytest.raises(UnknownThing, match="no measured frame number 7"):
        measured_frame(book, 7)


def test_an_empty_outing_gives_no_bursts(book, photos):
    outing = listed_outing(book, photos)
    assert list(measured_bursts(book, outing.id)) == []
    assert to_measure(book, outing.id, Path("/elsewhere"), "1") == ()
