"""The frame of a drawn water and the marks in its margin."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.share.svgparts import PAPER
from stillwing.share.watermargin import MARGIN, Frame, sun_mark, wind_mark

FRAME = Frame(-100.0, -60.0, 200.0, 120.0)


@given(st.floats(0, 360))
def test_a_mark_stands_on_the_side_of_its_bearing(bearing_deg):
    mark = sun_mark(FRAME, bearing_deg, PAPER)
    at = FRAME.edge.interpolate(mark.along)
    off = (math.degrees(math.atan2(at.x, -at.y)) - bearing_deg + 180) % 360 - 180
    assert off == pytest.approx(0, abs=0.01)


@given(st.floats(0, 360))
def test_a_mark_keeps_to_the_margin(bearing_deg):
    mark = sun_mark(FRAME, bearing_deg, PAPER)
    assert FRAME.room.buffer(1e-6).contains(mark.room)
    # A word beside a mark at the upper or lower side stays in the margin as well; corners belong to both.
    inner = FRAME.room.buffer(-(MARGIN + 16) * FRAME.unit, join_style="mitre")
    assert not inner.intersects(mark.room)


@given(st.floats(0, 360), st.floats(0, 360))
def test_sun_and_wind_keep_apart(sun_deg, wind_deg):
    sun = sun_mark(FRAME, sun_deg, PAPER)
    wind = wind_mark(FRAME, wind_deg, 4.0, PAPER, sun)
    assert not sun.room.intersects(wind.room)
