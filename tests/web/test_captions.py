"""What a frame and a trace are called."""

from dataclasses import replace

import pytest

from stillwing.fieldbook.traces import TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.web.captions import blur_words, choice_words, spoken

from .traces import burst, frame


def test_a_trace_is_told_in_one_sentence() -> None:
    told = spoken(burst(frame(0, 4.0), frame(1, 0.9, choice=Choice.KEEP), frame(2)))
    assert told == "3 frames; blur from 0.90 px in frame 2 to 4.0 px in frame 1; 1 kept"


@pytest.mark.parametrize(
    ("shown", "told"),
    [
        (frame(0, 2.0), "2.0 px"),
        (frame(0, None), "blur not measured"),
        (frame(0), "no animal found"),
        (replace(frame(0), is_measured=False), "not measured"),
    ],
)
def test_a_frame_says_its_blur_or_why_it_has_none(shown: TraceFrame, told: str) -> None:
    assert blur_words(shown) == told


@pytest.mark.parametrize(
    ("by_hand", "proposed", "told"),
    [
        (None, Choice.SPARE, "spare proposed"),
        (Choice.KEEP, Choice.SPARE, "keep decided"),
        (Choice.LEAVE, None, "leave decided"),
        (None, None, "nothing proposed"),
    ],
)
def test_whose_choice_it_is_is_said(by_hand: Choice | None, proposed: Choice | None, told: str) -> None:
    assert choice_words(replace(frame(0), by_hand=by_hand, proposed=proposed)) == told


def test_an_empty_burst_is_told_too() -> None:
    assert spoken(burst()) == "0 frames, no animal measured"
