import math

import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.boxes import bursts_to_measure_again, draw_box, drawn_boxes
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.history import undo
from stillwing.fieldbook.listing import to_measure
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.measured import Box

from .invented import animal, burst_of, measured, measured_outing

BOX = Box(100, 200, 640, 320)


@pytest.fixture
def bursts(photos):
    return [burst_of(photos, 3), burst_of(photos, 3, first=3, minutes=1)]


@pytest.fixture
def held(book, photos, bursts):
    return measured_outing(book, photos, *bursts)


def frame_ids(book, held, burst):
    return [frame.id for frame in trace(book, burst_summaries(book, held.id)[burst].id).frames]


def measure(book, held, burst, drawn):
    store_chunk(book, held.id, [measured(one, animal()) for one in burst.frames], code_version="1", drawn=drawn)


def test_a_drawn_box_is_read_back_by_path(book, held, bursts):
    draw_box(book, held.id, frame_ids(book, held, 1)[2], BOX)
    assert drawn_boxes(book, held.id) == {bursts[1].frames[2].path: BOX}
    first, second = burst_summaries(book, held.id)
    assert drawn_boxes(book, held.id, burst_id=first.id) == {}
    assert drawn_boxes(book, held.id, burst_id=second.id) == {bursts[1].frames[2].path: BOX}
    assert trace(book, second.id).frames[2].drawn == BOX


def test_a_box_has_its_whole_burst_and_no_other_measured_again(book, photos, held, bursts):
    assert bursts_to_measure_again(book, held.id) == ()
    draw_box(book, held.id, frame_ids(book, held, 1)[2], BOX)
    assert bursts_to_measure_again(book, held.id) == (burst_summaries(book, held.id)[1].id,)
    assert to_measure(book, held.id, photos, "1") == (bursts[1],)


def test_once_measured_with_the_box_nothing_is_left_to_do(book, photos, held, bursts):
    draw_box(book, held.id, frame_ids(book, held, 1)[2], BOX)
    measure(book, held, bursts[1], drawn_boxes(book, held.id))
    assert bursts_to_measure_again(book, held.id) == ()
    assert to_measure(book, held.id, photos, "1") == ()


@pytest.mark.parametrize("then", ["moved", "removed", "undone", "another"])
def test_whatever_changes_the_boxes_after_that_has_the_burst_measured_again(book, photos, held, bursts, then):
    frames = frame_ids(book, held, 1)
    draw_box(book, held.id, frames[2], BOX)
    measure(book, held, bursts[1], drawn_boxes(book, held.id))
    if then == "moved":
        draw_box(book, held.id, frames[2], Box(100, 200, 640, 321))
    elif then == "removed":
        draw_box(book, held.id, frames[2], None)
    elif then == "undone":
        undo(book, held.id)
    else:
        draw_box(book, held.id, frames[0], BOX)
    assert to_measure(book, held.id, photos, "1") == (bursts[1],)


def test_a_box_drawn_and_undone_before_a_run_costs_nothing(book, photos, held):
    draw_box(book, held.id, frame_ids(book, held, 0)[0], BOX)
    undo(book, held.id)
    assert bursts_to_measure_again(book, held.id) == ()
    assert to_measure(book, held.id, photos, "1") == ()


def test_a_box_drawn_while_its_burst_is_being_measured_is_not_forgotten(book, held, bursts):
    before = drawn_boxes(book, held.id)
    draw_box(book, held.id, frame_ids(book, held, 0)[0], BOX)
    measure(book, held, bursts[0], before)
    assert bursts_to_measure_again(book, held.id) == (burst_summaries(book, held.id)[0].id,)


def test_a_long_burst_is_done_only_when_all_its_chunks_are(book, held, bursts):
    draw_box(book, held.id, frame_ids(book, held, 0)[0], BOX)
    drawn = drawn_boxes(book, held.id)
    for i, frame in enumerate(bursts[0].frames):
        assert len(bursts_to_measure_again(book, held.id)) == 1, i
        store_chunk(book, held.id, [measured(frame, animal())], code_version="1", drawn=drawn)
    assert bursts_to_measure_again(book, held.id) == ()


def test_boxes_of_other_bursts_do_no_harm(book, held, bursts):
    draw_box(book, held.id, frame_ids(book, held, 1)[0], BOX)
    measure(book, held, bursts[0], drawn_boxes(book, held.id))
    assert bursts_to_measure_again(book, held.id) == (burst_summaries(book, held.id)[1].id,)


@pytest.mark.parametrize(
    ("box", "said"),
    [
        (Box(10, 10, 0, 10), "has no area"),
        (Box(10, 10, -5, 10), "has no area"),
        (Box(math.nan, 10, 5, 10), "has no area"),
        (Box(10, 10, math.inf, 10), "has no area"),
        (Box(-1, 10, 5, 10), "reaches beyond the picture, which is 5184 x 3888 px"),
        (Box(5180, 10, 5, 10), "reaches beyond the picture"),
        (Box(10, 3880, 5, 10), "reaches beyond the picture"),
    ],
)
def test_a_box_that_cannot_be_is_refused(book, held, box, said):
    with pytest.raises(InputError, match=said):
        draw_box(book, held.id, frame_ids(book, held, 0)[0], box)
    assert drawn_boxes(book, held.id) == {}


def test_a_box_as_large_as_the_picture_is_taken(book, held):
    draw_box(book, held.id, frame_ids(book, held, 0)[0], Box(0, 0, 5184, 3888))
    assert len(drawn_boxes(book, held.id)) == 1


def test_an_unknown_frame_is_refused(book, held):
    with pytest.raises(UnknownThing, match="holds no frame number 999"):
        draw_box(book, held.id, 999, BOX)
