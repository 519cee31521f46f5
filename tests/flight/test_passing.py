"""Passages through the focal plane and angles to it, by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.flight.passing import angle_to_plane, crossing_frames, passages


def test_a_straight_path_crosses_where_it_is_nothing():
    path = np.array([[-40.0, -20.0, 0.5, 20.0, 40.0], [40.0, 20.0, -20.0, -40.0, -60.0]])
    assert crossing_frames(path, 15.0) == pytest.approx([1 + 20 / 20.5, 1.5])


def test_one_that_never_gets_clear_of_the_plane_has_not_passed_it():
    assert np.isnan(crossing_frames(np.array([[-9.0, 3.0, -4.0, 9.0], [-50.0, -20.0, 5.0, 9.0]]), 10.0)).all()


def test_of_several_passages_the_first_is_told():
    path = np.array([-30.0, 30.0, 30.0, -30.0])
    assert crossing_frames(path[None], 10.0)[0] == pytest.approx(0.5)
    assert passages(path, 10.0) == 2


@given(st.floats(0.1, 1e4), st.floats(-1e4, 1e4))
def test_the_angle_is_signed_towards_the_lens_and_turns_over_with_the_way(across, away):
    angle = float(angle_to_plane(np.array(across), np.array(away)))
    assert -90 <= angle <= 90
    assert np.tan(np.radians(angle)) == pytest.approx(-away / across, rel=1e-6, abs=1e-9)
