"""Places, speeds and accelerations spread as those of flights drawn step by step do."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import expm

from stillwing.flight.manoeuvre import ACCELERATION_LASTS_S, manoeuvre_at


def test_the_spread_is_that_of_flights_drawn_in_steps_of_a_millisecond():
    times = np.array([0.0, 0.05, 0.12, 0.3, 0.5])
    rng, n, step = np.random.default_rng(1), 20_000, 0.001
    pull, speed, place = rng.normal(size=n), np.zeros(n), np.zeros(n)
    kept = np.exp(-step / ACCELERATION_LASTS_S)
    states = []
    for k in range(501):
        if np.any(np.abs(times - k * step) < step / 2):
            states.append((place.copy(), speed.copy(), pull.copy()))
        place = place + speed * step + pull * step**2 / 2
        speed = speed + pull * step
        pull = kept * pull + np.sqrt(1 - kept**2) * rng.normal(size=n)
    drawn = np.concatenate([np.array([state[axis] for state in states]) for axis in range(3)])
    found, told = drawn @ drawn.T / n, manoeuvre_at(times).unit
    scale = np.sqrt(np.maximum(np.diag(told), 1e-6))
    # Four standard errors of a correlation of 20,000 draws, and what steps of a millisecond leave.
    assert np.max(np.abs(found - told) / np.outer(scale, scale)) < 4 / np.sqrt(n) + 0.02


@settings(deadline=None)
@given(st.lists(st.floats(0.004, 0.5), min_size=2, max_size=12), st.floats(0.1, 40.0))
def test_a_covariance_is_symmetric_and_has_no_negative_variance(gaps, acceleration):
    times = np.concatenate([[0.0], np.cumsum(gaps)])
    whole = manoeuvre_at(times).covariance(acceleration, 1.0, 1.0)
    assert np.allclose(whole, whole.T)
    scale = np.sqrt(np.maximum(np.diag(whole), 1e-12))
    assert np.linalg.eigvalsh(whole / np.outer(scale, scale)).min() > -1e-7


@pytest.mark.parametrize("gap", [0.002, 0.02, 0.1, 0.5, 2.0])
def test_what_a_step_adds_is_that_of_a_matrix_exponential(gap):
    # C. F. Van Loan, IEEE Trans. Autom. Control 23 (1978) 395, from memory.
    drift = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, -1 / ACCELERATION_LASTS_S]])
    both = np.zeros((6, 6))
    both[:3, :3], both[3:, 3:], both[2, 5] = -drift, drift.T, 2 / ACCELERATION_LASTS_S
    whole = expm(both * gap)
    step = whole[3:, 3:].T
    at_rest = np.diag([0.0, 0.0, 1.0])
    later = step @ at_rest @ step.T + step @ whole[:3, 3:]
    told = manoeuvre_at(np.array([0.0, gap])).unit[1::2, 1::2]
    scale = np.sqrt(np.diag(later))
    assert np.abs((told - later) / np.outer(scale, scale)).max() < 1e-9


def test_an_animal_that_never_accelerates_flies_on_straight():
    times = np.linspace(0, 1, 6)
    whole = manoeuvre_at(times).covariance(0.0, 0.0, 2.0)
    assert whole[5, 5] == pytest.approx(4.0)
    assert whole[5, 11] == pytest.approx(4.0)


def test_the_places_alone_are_the_first_block():
    made = manoeuvre_at(np.array([0.0, 0.1, 0.3]))
    assert np.array_equal(made.covariance(2.0, 1.0, 1.0)[:3, :3], made.covariance(2.0, 1.0, 1.0, places_only=True))


@settings(deadline=None)
@given(st.lists(st.floats(0.004, 0.5), min_size=2, max_size=8), st.floats(0.1, 40.0), st.integers(0, 99))
def test_sums_spread_as_the_covariance_of_their_parts_says(gaps, acceleration, seed):
    made = manoeuvre_at(np.concatenate([[0.0], np.cumsum(gaps)]))
    sums = np.random.default_rng(seed).normal(size=(4, 3 * len(made)))
    by_parts = sums @ made.covariance(acceleration, 3.0, 2.0) @ sums.T
    assert made.seen_through(sums, acceleration, 3.0, 2.0) == pytest.approx(by_parts, rel=1e-9, abs=1e-6)


def test_a_speed_less_its_own_way_over_time_is_free_of_what_is_not_known_of_the_first():
    made = manoeuvre_at(np.array([0.0, 0.1]))
    # Speed in the second frame less the way between the two over the time.
    left = np.array([[10.0, -10.0, 0.0, 1.0, 0.0, 0.0]])
    spread = made.seen_through(left, 0.0, 1e5, 1e9)
    assert spread[0, 0] == pytest.approx(0.0, abs=1e-9)
