import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.place.bearings import bearing_between, compass_name, towards, turn

bearings = st.floats(-720, 720)


@given(bearings, bearings, bearings)
def test_a_turn_does_not_change_when_everything_is_rotated(one, other, by):
    assert abs((float(turn(one + by, other + by) - turn(one, other)) + 180) % 360 - 180) < 1e-6


@given(bearings, bearings)
def test_turning_brings_one_bearing_to_the_other(one, other):
    way = float(turn(one, other))
    assert -180 <= way <= 180
    np.testing.assert_allclose(towards(one + way), towards(other), atol=1e-9)


@given(st.floats(0, 359.999), st.floats(0.1, 1e4))
def test_the_bearing_of_a_step_is_the_bearing_stepped_along(bearing, length):
    found = float(bearing_between((3.0, -2.0), np.array([3.0, -2.0]) + length * towards(bearing)))
    assert abs(turn(found, bearing)) < 1e-6
    assert 0 <= found < 360


def test_a_trace_west_of_north_is_north():
    assert float(bearing_between((0, 0), (-1e-30, 1))) == 0.0


@pytest.mark.parametrize(("bearing", "name"), [(22.4, "north"), (22.6, "north-east"), (359, "north"), (202, "south")])
def test_compass_names_share_the_circle(bearing, name):
    assert compass_name(bearing) == name
