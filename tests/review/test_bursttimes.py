"""When frames were taken: even series told through coarse steps, and why there are no times."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.frames.frame import Tags
from stillwing.review.bursttimes import FrameTimes, NoTimes, frame_times

NOON = datetime(2026, 7, 1, 12, 0, 0, 130_000)


def written(seconds, tick_s):
    """Tags of a camera that writes whole steps of its clock, rounded down."""
    us = round(tick_s * 1e6)
    return [
        Tags(taken_at=NOON + timedelta(microseconds=int(second * 1e6 + 1e-3) // us * us), has_subseconds=True)
        for second in seconds
    ]


@settings(deadline=None)
@given(st.sampled_from([10.0, 18.0, 30.0, 50.0]), st.sampled_from([0.01, 0.001]), st.integers(3, 60))
def test_an_even_series_is_told_finer_than_it_is_written(rate, tick_s, n):
    times = frame_times(written(np.arange(n) / rate, tick_s))
    assert isinstance(times, FrameTimes)
    assert times.seconds[0] == 0.0
    assert np.all(np.diff(times.seconds) > 0)
    # Two ends that were each rounded by up to a step.
    assert times.seconds[-1] == pytest.approx((n - 1) / rate, abs=2 * tick_s)


def test_steps_as_long_as_the_gaps_are_bridged_by_the_even_series():
    times = frame_times(written(np.arange(40) / 120.0, 0.01))
    assert isinstance(times, FrameTimes) and times.is_even
    assert times.seconds == pytest.approx(np.arange(40) / 120.0, abs=0.005)
    assert times.error_s == pytest.approx(0.01 / np.sqrt(12))


def test_where_pictures_were_taken_out_the_written_times_count():
    kept = np.array([0, 1, 2, 3, 7, 8, 9, 15]) / 10.0
    times = frame_times(written(kept, 0.01))
    assert isinstance(times, FrameTimes) and not times.is_even
    assert times.seconds == pytest.approx(kept)


@pytest.mark.parametrize(
    ("tags", "words"),
    [
        ([Tags(), Tags(taken_at=NOON, has_subseconds=True)], "1 of 2 pictures tell no time"),
        ([Tags(taken_at=NOON)] * 3, "whole seconds"),
        (
            [Tags(taken_at=NOON, has_subseconds=True), Tags(taken_at=NOON.replace(tzinfo=UTC), has_subseconds=True)],
            "their time zone",
        ),
        (written([0.0, 0.1, 0.1, 0.5], 0.1), "frames 2 and 3 carry the same time"),
        (written([0.0, 0.0, 0.0], 0.1), "frames 1 and 2 carry the same time"),
    ],
)
def test_no_times_have_a_reason_and_a_cure(tags, words):
    told = frame_times(tags)
    assert isinstance(told, NoTimes)
    assert words in told.reason
    assert told.reason.endswith("no times, no speed")
    assert told.cure
