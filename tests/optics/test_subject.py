"""An animal has measures and ranges that make sense, and a depth that follows from how it lies."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics.subject import STILL, Behaviour, Range

from .posed import DAMSELFLY, HAWKER

RANGES = ["speed_m_s", "panning_left", "focus_error_mm", "wingbeat_hz", "stroke_deg", "event_s"]


@pytest.mark.parametrize("name", ["length_mm", "span_mm", "thickness_mm", "extent_mm"])
@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf, 1e300])
def test_an_animal_with_nothing_or_no_end_of_a_measure_is_refused(name, value):
    with pytest.raises(InputError, match=rf"^{name} of the animal is \S+ mm; it must be more than 0"):
        replace(HAWKER, **{name: value})


@pytest.mark.parametrize("name", RANGES)
@pytest.mark.parametrize(
    "wrong",
    [
        Range(-1, 0, 1),
        Range(2, 1, 3),
        Range(1, 3, 2),
        Range(math.nan, 1, 2),
        Range(0, math.nan, 2),
        Range(0, 1, math.nan),
        Range(0, 1, math.inf),
        Range(math.inf, math.inf, math.inf),
        Range(0, 1, 1e300),
    ],
)
def test_a_range_that_does_not_grow_or_has_no_end_is_refused(name, wrong):
    with pytest.raises(InputError, match=rf"^{name} of the animal runs .*; it must grow from 0 or more"):
        replace(HAWKER, **{name: wrong})


@pytest.mark.parametrize("name", RANGES)
def test_a_range_of_one_value_or_of_nothing_is_one(name):
    assert getattr(replace(HAWKER, **{name: STILL}), name) == STILL
    assert getattr(replace(HAWKER, **{name: Range(2, 2, 2)}), name) == Range(2, 2, 2)


@pytest.mark.parametrize("angle", [-0.1, 90.1, math.nan, math.inf])
def test_an_angle_that_is_none_is_refused(angle):
    with pytest.raises(InputError, match=r"the angle to the focal plane is .*°; it lies between 0"):
        replace(HAWKER, angle_deg=angle)


@pytest.mark.parametrize("behaviour", [Behaviour.TAKE_OFF, Behaviour.LANDING])
@pytest.mark.parametrize("acceleration", [0.0, -3.0, math.nan, math.inf])
def test_a_launch_needs_an_acceleration(behaviour, acceleration):
    with pytest.raises(InputError, match=f"^a {behaviour} needs an acceleration"):
        replace(DAMSELFLY, behaviour=behaviour, acceleration_m_s2=acceleration)


@pytest.mark.parametrize("behaviour", [Behaviour.TAKE_OFF, Behaviour.LANDING])
def test_a_launch_that_never_moves_is_none(behaviour):
    with pytest.raises(InputError, match=f"^a {behaviour} needs a speed"):
        replace(DAMSELFLY, behaviour=behaviour, speed_m_s=Range(0.0, 1.0, 2.0))


@given(st.floats(0, 90))
def test_depth_is_that_of_a_box_turned_in_the_line_of_sight(angle):
    # The corners of a length x thickness box, turned; its half depth is the farthest corner's distance.
    turned = math.radians(angle)
    corners = [(x * 75 / 2, y * 9 / 2) for x in (-1, 1) for y in (-1, 1)]
    away = max(x * math.sin(turned) + y * math.cos(turned) for x, y in corners)
    assert replace(HAWKER, angle_deg=angle).half_depth_mm == pytest.approx(away)


def test_wings_reach_farthest_when_the_body_lies_along_the_focal_plane():
    assert replace(HAWKER, angle_deg=0.0).half_wing_depth_mm == pytest.approx(105 / 2)
    end_on = replace(HAWKER, angle_deg=90.0)
    assert end_on.half_wing_depth_mm == pytest.approx(end_on.half_depth_mm) == pytest.approx(75 / 2)


@given(st.floats(0, 90))
def test_wings_never_take_less_than_the_body(angle):
    animal = replace(HAWKER, angle_deg=angle)
    assert animal.half_wing_depth_mm >= animal.half_depth_mm
