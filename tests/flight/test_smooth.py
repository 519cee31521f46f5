"""One axis: what Gaussian algebra written another way says, coverage, and gross errors."""

import numpy as np
import pytest

from stillwing.flight.manoeuvre import manoeuvre_at
from stillwing.flight.smooth import Observed, gaussian, smoothed

TIMES = np.arange(36) / 18.0
FLIGHT = manoeuvre_at(TIMES)


def observed(places, own=2.0, step=0.2):
    return Observed(places, np.full(len(places), own), np.full(len(places) - 1, step), np.zeros((len(places),) * 2))


def wavy(phase):
    """An animal that flies on at a metre a second and weaves by 10 cm."""
    turns = 2 * np.pi * 0.7 * TIMES + phase
    return 100 * np.sin(turns) + 1000 * TIMES, 100 * 2 * np.pi * 0.7 * np.cos(turns) + 1000


def seen(places, rng, own=2.0, step=0.2):
    slipped = np.concatenate([[0.0], np.cumsum(rng.normal(0, step, len(places) - 1))])
    return places + rng.normal(0, own, len(places)) + slipped


def test_intervals_of_place_and_speed_hold_about_nine_in_ten():
    rng = np.random.default_rng(2)
    places, speeds = [], []
    for _ in range(80):
        # Flights drawn from the very family that is assumed, one typical acceleration each.
        state = gaussian(FLIGHT.covariance(float(np.exp(rng.uniform(5, 9.5))), 500.0, 1500.0), 1, rng)[0]
        place, speed = state[:36], state[36:72]
        axis = smoothed(FLIGHT, observed(seen(place, rng)), 300, rng)
        for drawn, true, holds in (
            (axis.place - axis.place[:, :1], place - place[0], places),
            (axis.speed, speed, speeds),
        ):
            low, high = np.percentile(drawn, [5, 95], axis=0)
            holds.append(np.mean((low <= true) & (true <= high)))
    assert 0.85 <= np.mean(speeds) <= 0.96
    assert 0.85 <= np.mean(places) <= 0.96


def test_the_middle_agrees_with_a_kalman_smoother_that_goes_frame_by_frame():
    rng = np.random.default_rng(3)
    place, _ = wavy(0.4)
    given = seen(place, rng, own=2.0, step=0.0)
    axis = smoothed(FLIGHT, observed(given, own=2.0, step=1e-6), 4000, rng)
    # The typical accelerations that the draws took, one smoother each.
    typicals, counts = np.unique(axis.typical_mm_s2, return_counts=True)
    means = np.average([kalman_speeds(given, 2.0, typical) for typical in typicals], axis=0, weights=counts)
    spread = axis.speed.std(0)
    assert np.max(np.abs(axis.speed.mean(0) - means) / spread) < 0.35


def kalman_speeds(places, sd, typical, lasts=0.15, finer=1):
    """Filter forward and smooth backward (Rauch, Tung and Striebel), the step's noise summed numerically."""
    gap = float(TIMES[1] - TIMES[0])
    drift = np.array([[0.0, 1, 0], [0, 0, 1], [0, 0, -1 / lasts]])

    def carried(t):
        out, term = np.eye(3), np.eye(3)
        for k in range(1, 30):
            term = term @ drift * t / k
            out = out + term
        return out

    at = (np.arange(400) + 0.5) / 400 * gap
    push = np.array([0, 0, np.sqrt(2 * typical**2 / lasts)])
    noise = sum(np.outer(carried(t) @ push, carried(t) @ push) for t in at) * gap / 400
    step = carried(gap)
    mean, spread = np.array([places[0], 0, 0]), np.diag([1e8, 4e8, typical**2])
    means, spreads, before = [], [], []
    for k, place in enumerate(places):
        if k:
            mean, spread = step @ mean, step @ spread @ step.T + noise
        before.append((mean, spread))
        gain = spread[:, 0] / (spread[0, 0] + sd**2)
        mean, spread = mean + gain * (place - mean[0]), spread - np.outer(gain, spread[0])
        means.append(mean)
        spreads.append(spread)
    for k in range(len(places) - 2, -1, -1):
        back = spreads[k] @ step.T @ np.linalg.inv(before[k + 1][1])
        means[k] = means[k] + back @ (means[k + 1] - before[k + 1][0])
    return np.array(means)[:, 1]


@pytest.mark.parametrize("shared", [False, True])
def test_a_gross_error_is_found_and_hardly_counts(shared):
    rng = np.random.default_rng(4)
    place, speed = wavy(1.0)
    given = seen(place, rng)
    given[12:] += 150.0 * shared
    given[12] += 150.0 * (not shared)
    axis = smoothed(FLIGHT, observed(given), 300, rng)
    assert axis.doubted[12]
    assert axis.doubted.sum() <= 3
    assert np.abs(np.median(axis.speed, axis=0) / speed - 1).max() < 0.25


def test_larger_errors_give_wider_intervals():
    place, _ = wavy(0.0)
    widths = []
    for own in (1.0, 5.0, 25.0):
        rng = np.random.default_rng(5)
        axis = smoothed(FLIGHT, observed(place + rng.normal(0, own, 36), own=own), 300, rng)
        widths.append(np.ptp(np.percentile(axis.speed, [5, 95], axis=0), axis=0).mean())
    assert widths[0] < widths[1] < widths[2]


def test_places_known_to_a_thousandth_of_a_millimetre_are_no_trouble():
    rng = np.random.default_rng(6)
    place, speed = wavy(0.2)
    axis = smoothed(FLIGHT, observed(place, own=1e-3, step=1e-3), 200, rng)
    assert np.abs(np.median(axis.speed, axis=0) / speed - 1).max() < 0.05


def test_a_burst_of_four_seconds_is_no_trouble():
    # Nothing is known of the first speed: after seconds that alone is a variance of many square metres.
    times = np.arange(200) / 50.0
    rng = np.random.default_rng(7)
    axis = smoothed(manoeuvre_at(times), observed(1000 * times + rng.normal(0, 2, 200)), 50, rng)
    assert np.median(axis.speed, axis=0)[100] == pytest.approx(1000, rel=0.05)
    exact = observed(1000 * times, own=1e-3, step=1e-6)
    assert np.median(smoothed(manoeuvre_at(times), exact, 50, rng).speed) == pytest.approx(1000, rel=0.01)
