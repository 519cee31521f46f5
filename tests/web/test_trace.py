"""The figures behind a trace."""

import math
from dataclasses import replace
from pathlib import Path

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame, burst_summaries, trace
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur, BlurKind, Box, Origin
from stillwing.web.trace import (
    blur_limit_px,
    curve_cuts,
    cut_href,
    duration_s,
    sharpest,
    softest_px,
    spoken,
    trace_columns,
)  # fmt: skip

from .drawn import FRAME_INTERVAL_S, Drawn


@pytest.fixture
def drawn_trace(drawn: Drawn) -> BurstTrace:
    with open_book(drawn.book_path) as book:
        return trace(book, burst_summaries(book, drawn.outing_id)[0].id)


def frame(
    number: int, *blurs_px: float | None, choice: Choice | None = Choice.LEAVE, width_px: int | None = 6000
) -> TraceFrame:
    animals = tuple(
        TraceAnimal(i, i, Box(10, 20, 300, 200), 0.9, Origin.FOUND, blur and blurred(blur), 0.05, False)
        for i, blur in enumerate(blurs_px)
    )
    return TraceFrame(
        number,
        number,
        Path(f"/p/{number}.jpg"),
        None,
        True,
        False,
        width_px,
        4000,
        animals,
        choice,
        "",
        math.nan,
        None,
        None,
    )


def blurred(blur_px: float) -> Blur:
    return Blur(blur_px, 0.9 * blur_px, 1.1 * blur_px, blur_px, blur_px, None, BlurKind.SHARP)


def burst(*frames: TraceFrame) -> BurstTrace:
    return BurstTrace(1, "P1", 1, None, frames)


def test_columns_have_one_row_per_animal_and_one_for_a_frame_without() -> None:
    columns = trace_columns(burst(frame(0, 2.0, 3.0), frame(1), frame(2, None)))
    assert columns.number == (1, 1, 2, 3)
    assert columns.is_lead == (True, False, True, True)
    assert columns.is_found == (True, True, False, True)
    assert columns.blur_px == (2.0, 3.0, None, None)
    assert columns.right_px == (310, 310, None, 310)
    assert columns.size_percent == (5, 5, None, 5)


def test_an_empty_burst_has_empty_columns() -> None:
    assert trace_columns(burst()).number == ()
    assert spoken(burst()) == "0 frames, no animal measured"
    assert sharpest(burst()) is None


def test_the_drawn_burst_comes_back_as_it_was_drawn(drawn_trace: BurstTrace) -> None:
    columns = trace_columns(drawn_trace)
    assert len(columns.number) == 12
    assert columns.is_found == (True,) * 11 + (False,)
    best = sharpest(drawn_trace)
    assert best is not None
    assert best.choice is Choice.KEEP
    assert duration_s(drawn_trace) == pytest.approx(11 * FRAME_INTERVAL_S)


def test_kept_frames_hang_on_the_curve_and_the_sharpest_where_none_is_kept(drawn_trace: BurstTrace) -> None:
    (cut,) = curve_cuts(1, drawn_trace)
    assert cut.is_kept
    left = replace(drawn_trace, frames=tuple(replace(one, by_hand=Choice.LEAVE) for one in drawn_trace.frames))
    (other,) = curve_cuts(1, left)
    assert other.number == cut.number
    assert not other.is_kept


def test_the_address_of_a_cut_out_changes_with_its_box() -> None:
    one = frame(0, 2.0)
    moved = replace(one.animals[0], box=Box(90, 20, 300, 200))
    assert cut_href(one, one.animals[0], "lane") != cut_href(one, moved, "lane")
    assert cut_href(one, None, "plate").startswith("/pictures/0/none/plate.jpg?v=")


@pytest.mark.parametrize(
    ("blurs_px", "bottom_px"), [([1.0, 2.0], 8), ([1.0, 9.0], 16), ([20.0, 30.0], 64), ([500.0], 64), ([], 16)]
)
def test_the_blur_axis_ends_at_a_power_of_two_that_holds_the_traces(blurs_px: list[float], bottom_px: float) -> None:
    assert softest_px([burst(*(frame(i, one) for i, one in enumerate(blurs_px)))]) == bottom_px


def test_a_few_hopeless_frames_do_not_press_the_others_together() -> None:
    frames = [frame(i, 1.0 + i / 100) for i in range(98)] + [frame(98, 60.0), frame(99, 60.0)]
    assert softest_px([burst(*frames)]) == 8


@pytest.mark.parametrize(
    ("sharp_for", "limit_px"),
    # A picture of 6000 px shown 3000 wide hides twice the spread: sqrt(4 (0.85^2 - 1/12) + 1/12) = 1.625.
    [("full", 0.85), ("screen 3000", 1.625), (None, None)],
)
def test_the_band_ends_at_the_blur_that_the_output_hides(sharp_for: str | None, limit_px: float | None) -> None:
    found = blur_limit_px(sharp_for, [burst(frame(0, 1.0))])
    assert found == (None if limit_px is None else pytest.approx(limit_px, abs=5e-4))


def test_without_a_known_width_there_is_no_band() -> None:
    assert blur_limit_px("full", [burst(frame(0, 1.0, width_px=None))]) is None


def test_a_trace_is_told_in_one_sentence() -> None:
    told = spoken(burst(frame(0, 4.0), frame(1, 0.9, choice=Choice.KEEP), frame(2)))
    assert told == "3 frames; blur from 0.90 px in frame 2 to 4.0 px in frame 1; 1 kept"
