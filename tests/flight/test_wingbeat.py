"""Wingbeats from drawn series: found, folded, and not seen where there are none."""

import numpy as np
import pytest
from scipy.signal import lombscargle

from stillwing.errors import InputError
from stillwing.flight.wingbeat import Untold, wingbeat


def rhythm(times, hz, rng, noise=0.5):
    return np.sin(2 * np.pi * hz * times + rng.uniform(0, 6)) + rng.normal(0, noise, len(times))


def test_an_even_frame_rate_names_every_frequency_that_looks_alike():
    times = np.arange(40) / 50.0
    found = wingbeat(times, rhythm(times, 32.0, np.random.default_rng(1), 0.2), between_hz=(10.0, 120.0))
    # 50 k - 32 and 50 k + 32 for every whole k.
    assert [round(one.likely) for one in found.candidates_hz] == [18, 32, 68, 82, 118]
    assert found.hz is None


def test_uneven_moments_leave_one_frequency():
    rng = np.random.default_rng(2)
    times = np.sort(rng.uniform(0, 2, 60))
    found = wingbeat(times, rhythm(times, 33.0, rng))
    assert found.hz is not None
    assert found.hz.low <= 33.0 <= found.hz.high


def test_a_fast_camera_leaves_one_frequency():
    times = np.arange(60) / 120.0
    found = wingbeat(times, rhythm(times, 36.0, np.random.default_rng(3)), between_hz=(15.0, 60.0))
    assert found.hz is not None
    assert found.hz.likely == pytest.approx(36.0, abs=0.5)


def test_the_strongest_frequency_is_that_of_scipys_periodogram():
    rng = np.random.default_rng(4)
    times = np.sort(rng.uniform(0, 1.5, 80))
    series = rhythm(times, 41.7, rng)
    grid = np.arange(5, 100, 0.01)
    power = lombscargle(times, series - series.mean(), 2 * np.pi * grid)
    found = wingbeat(times, series, between_hz=(5.0, 100.0))
    assert found.hz is not None
    assert found.hz.likely == pytest.approx(grid[np.argmax(power)], abs=0.05)


def test_intervals_hold_about_nine_in_ten():
    rng = np.random.default_rng(5)
    holds = []
    while len(holds) < 250:
        hz, times = rng.uniform(20, 45), np.arange(60) / 50.0
        folded = abs(hz - 50 * round(hz / 50))
        # A wingbeat that is nearly a multiple of half the frame rate looks like a slow drift, or like nothing.
        if not 6 < folded < 22:
            continue
        found = wingbeat(times, rhythm(times, hz, rng), between_hz=(15.0, 60.0))
        holds.append(any(one.low <= hz <= one.high for one in found.candidates_hz))
    assert 0.85 <= np.mean(holds) <= 0.95


def test_noise_alone_is_hardly_ever_taken_for_a_wingbeat():
    rng = np.random.default_rng(6)
    taken = 0
    for _ in range(400):
        times = np.arange(36) / 18.0
        taken += bool(wingbeat(times, rng.normal(0, 1, 36), between_hz=(15.0, 60.0)).candidates_hz)
    # One in a hundred is allowed; four more than that is three standard deviations.
    assert taken <= 4 + 6


def test_what_cannot_be_told_says_why():
    rng = np.random.default_rng(7)
    times = np.arange(9) / 18.0
    assert wingbeat(times, rhythm(times, 20.0, rng)).why_none is Untold.TOO_FEW
    times = np.arange(40) / 18.0
    assert wingbeat(times, rng.normal(0, 1, 40)).why_none is Untold.NO_RHYTHM
    assert wingbeat(times, rhythm(times, 20.0, rng), clock_sd_s=0.1).why_none is Untold.CLOCK
    assert wingbeat(times, np.full(40, 3.0)).candidates_hz == ()


def test_a_coarse_clock_keeps_fast_frequencies_out():
    times = np.arange(60) / 50.0
    series = rhythm(times, 18.0, np.random.default_rng(8), 0.2)
    found = wingbeat(times, series, clock_sd_s=0.004)
    assert max(one.likely for one in found.candidates_hz) <= 0.16 / 0.004 + 1


def test_frames_in_which_nothing_was_measured_are_left_out():
    times = np.arange(60) / 120.0
    series = rhythm(times, 36.0, np.random.default_rng(9))
    series[[3, 30]] = np.nan
    assert wingbeat(times, series, between_hz=(15.0, 60.0)).hz is not None


@pytest.mark.parametrize("between", [(0.0, 10.0), (20.0, 10.0), (5.0, np.inf)])
def test_frequencies_that_cannot_be_are_refused(between):
    with pytest.raises(InputError, match="must rise from more than 0"):
        wingbeat(np.arange(20.0), np.arange(20.0), between_hz=between)
