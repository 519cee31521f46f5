import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.optics.spread import axes, blur_of, disc_variance, line_covariance, path_covariance


def test_disc_and_line_against_counted_points():
    y, x = np.mgrid[-1:1:801j, -1:1:801j]
    inside = x * x + y * y <= 1
    assert disc_variance(2.0) == pytest.approx(x[inside].var(), rel=0.005)
    t = np.linspace(-0.5, 0.5, 100_001)
    assert line_covariance(3.0, 4.0)[0, 0] == pytest.approx((3 * t).var(), rel=1e-4)
    assert blur_of(line_covariance(3.0, 4.0)) == pytest.approx(5 / np.sqrt(24))


def test_a_bent_path_counts_its_points():
    angle = np.linspace(0, np.pi / 2, 200)
    path = 7 * np.stack([np.cos(angle), np.sin(angle)], 1)
    assert path_covariance(path) == pytest.approx(np.cov(path.T), rel=0.02, abs=0.02)
    assert path_covariance([[0, 0], [3, 4]]) == pytest.approx(line_covariance(3, 4))


@given(st.floats(0.1, 5), st.floats(0.1, 5), st.floats(0, 179))
def test_axes_give_back_what_went_in(a, b, direction):
    minor, major = sorted((a, b))
    turn = np.radians(direction)
    r = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    found = axes(r @ np.diag([major**2, minor**2]) @ r.T)
    assert found.minor == pytest.approx(minor, rel=1e-6)
    assert found.major == pytest.approx(major, rel=1e-6)
    if major > 1.01 * minor:
        assert min(abs(found.direction_deg - direction), 180 - abs(found.direction_deg - direction)) < 0.01
