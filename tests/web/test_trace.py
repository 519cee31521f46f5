"""The figures behind a trace."""

import math
from dataclasses import replace

import pytest

from stillwing.fieldbook.traces import BurstTrace
from stillwing.frames.chosen import Choice
from stillwing.web.trace import duration_s, sharpest, trace_columns

from .drawn import FRAME_INTERVAL_S
from .traces import burst, frame


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
    assert sharpest(()) is None


def test_the_drawn_burst_comes_back_as_it_was_drawn(drawn_trace: BurstTrace) -> None:
    columns = trace_columns(drawn_trace)
    assert len(columns.number) == 12
    assert columns.is_found == (True,) * 11 + (False,)
    best = sharpest(drawn_trace.frames)
    assert best is not None
    assert best.choice is Choice.KEEP
    assert duration_s(drawn_trace) == pytest.approx(11 * FRAME_INTERVAL_S)


def test_a_burst_without_a_clock_has_no_duration() -> None:
    assert duration_s(burst(frame(0, 1.0), frame(1, 1.0))) is None


def test_what_is_no_number_becomes_a_gap() -> None:
    one = frame(0, 2.0)
    odd = replace(one, animals=(replace(one.animals[0], size_in_frame=math.nan),))
    assert trace_columns(burst(odd)).size_percent == (None,)


def test_the_sharpest_is_the_first_of_equals() -> None:
    best = sharpest((frame(0, 3.0), frame(1, 1.5), frame(2, 1.5), frame(3, None)))
    assert best is not None
    assert best.number == 1
