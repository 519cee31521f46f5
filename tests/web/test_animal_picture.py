"""The picture of an animal: its line, who drew it, and the frames that may be measured."""

from dataclasses import replace

import pytest

from stillwing.fieldbook.looks import Look
from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodycolours import NoColours
from stillwing.frames.bodylength import BodyLength, NoLength, SeenLength
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.optics.subject import Range
from stillwing.records.animalseen import MeasuredBody
from stillwing.web.animal_picture import BodyLine, animal_picture

from .traces import burst, frame

SEEN = SeenLength(BodyAxis((140.0, 230.0), (180.0, 210.0), 0.9, 1.0), Range(40.0, 44.7, 47.0))
NONE = NoLength("the outline does not tell where the body ends; mark its two ends")
TRACE = burst(frame(0, 3.0), frame(1, 1.0, choice=Choice.KEEP), frame(2, 2.0), frame(3))
KEPT = TRACE.frames[1].id


def measured(seen: SeenLength | NoLength = SEEN, *, is_marked: bool = False) -> MeasuredBody:
    length = BodyLength(seen, Range(33.0, 36.0, 40.0), None) if isinstance(seen, SeenLength) else seen
    return MeasuredBody(KEPT, seen, is_marked, length, NoColours("too dark"))


def test_the_thinner_end_of_the_tools_line_is_the_end_of_the_body() -> None:
    assert animal_picture(TRACE, measured(), Look()).line == BodyLine(180.0, 210.0, 140.0, 230.0)


def test_a_marked_line_begins_with_the_head() -> None:
    picture = animal_picture(TRACE, measured(is_marked=True), Look())
    assert picture.line == BodyLine(140.0, 230.0, 180.0, 210.0)
    assert picture.state.startswith("inked") and picture.is_length_told and picture.length == "33 mm or longer"


def test_without_a_line_the_ends_wait_within_the_animals_box() -> None:
    picture = animal_picture(TRACE, measured(NONE), Look())
    box = TRACE.frames[1].animals[0].box
    assert picture.line is None and picture.length_px == "" and not picture.is_length_told
    for x, y in ((picture.start.head_x, picture.start.head_y), (picture.start.tail_x, picture.start.tail_y)):
        assert box.x_px < x < box.x_px + box.width_px and box.y_px < y < box.y_px + box.height_px
    assert picture.start.head_x != picture.start.tail_x
    assert "mark its two ends" in picture.length


def test_only_frames_with_an_animal_may_be_measured_the_kept_one_first() -> None:
    frames = animal_picture(TRACE, measured(), Look()).frames
    assert [(one.number, one.is_measured_here) for one in frames] == [(2, True), (3, False), (1, False)]


def test_small_cut_outs_have_one_scale() -> None:
    large = TRACE.frames[0].animals[0]
    small = replace(large, box=Box(10, 20, large.box.width_px / 2, large.box.height_px / 2))
    trace = replace(TRACE, frames=(TRACE.frames[1], replace(TRACE.frames[0], animals=(small,))))
    one, half = animal_picture(trace, measured(), Look()).frames
    assert half.width == pytest.approx(one.width / 2, abs=1.5)


def test_the_tilt_that_was_said_is_the_one_that_is_picked() -> None:
    def picked(look: Look) -> list[bool]:
        return [tilt.is_picked for tilt in animal_picture(TRACE, measured(), look).tilts]

    assert picked(Look()) == [True, False]
    assert picked(Look(most_tilt_deg=15.0)) == [False, True]
    assert picked(Look(most_tilt_deg=30.0)) == [False, False]
    assert animal_picture(TRACE, measured(), Look(most_tilt_deg=30.0)).tilt_deg == "30"
