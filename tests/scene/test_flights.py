import numpy as np
import pytest

from stillwing.scene.flights import STEP_S, hover, landing, sitting, straight, take_off, times_for, wobble

TIMES = times_for(2.0)
ORIGIN = np.array([0.0, 0.0, 3.0])


def _speed(path):
    return np.linalg.norm(np.diff(path, axis=0), axis=1) / STEP_S


def test_times_cover_the_burst_with_room():
    assert TIMES[0] < 0
    assert TIMES[-1] > 2.05
    assert np.diff(TIMES) == pytest.approx(STEP_S)


def test_a_straight_flight_keeps_its_velocity_and_is_there_when_told():
    path = straight(TIMES, ORIGIN, np.array([3.0, 0.0, -0.5]), 1.0)
    assert _speed(path) == pytest.approx(np.hypot(3.0, 0.5), rel=1e-6)
    assert path[np.abs(TIMES - 1.0).argmin()] == pytest.approx(ORIGIN, abs=0.002)


def test_take_off_rests_then_gains_speed_evenly():
    path = take_off(TIMES, ORIGIN, np.array([1.0, 0, 0]), 0.5, 12.0)
    assert np.abs(path[TIMES < 0.40] - ORIGIN).max() < 1e-3
    # v = a t after 1 s of acceleration.
    assert _speed(path)[np.abs(TIMES - 1.5).argmin()] == pytest.approx(12.0, rel=0.01)


def test_landing_ends_at_the_perch():
    path = landing(TIMES, ORIGIN, np.array([1.0, 0, 0]), 1.2, 6.0)
    assert path[TIMES > 1.2] == pytest.approx(np.tile(ORIGIN, ((TIMES > 1.2).sum(), 1)))
    assert path[0, 0] > 1.0


def test_a_hover_stays_near_and_a_perch_stays_nearer():
    rng = np.random.default_rng(3)
    hovering = np.abs(hover(rng, TIMES, ORIGIN, 0.01) - ORIGIN).max()
    perched = np.abs(sitting(rng, TIMES, ORIGIN, 0.001) - ORIGIN).max()
    assert 0.005 < hovering < 0.12
    assert perched < 0.005


def test_a_wobble_has_the_spread_asked_for():
    long = times_for(200.0)[::20]
    spread = [wobble(np.random.default_rng(seed), long, 2.0, (0.5, 4)).std() for seed in range(5)]
    assert np.mean(spread) == pytest.approx(2.0, rel=0.1)
