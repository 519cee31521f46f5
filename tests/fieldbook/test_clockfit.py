import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from scipy.stats import binom

from stillwing.fieldbook.clockfit import CannotTell, ClockEstimate, _n_matched, _peak, estimate_offset

HOUR_S = 3600.0
OFFSETS_S = (0.0, 37.2, 2 * HOUR_S, -86400.0 + 7200.3, 366 * 86400.0)
"""Right, slow, in another zone, on another day in another zone, in another year."""


def invented(rng, n_bursts, n_taps, n_false, *, median_s=2.0, offset_s=0.0):
    """Return taps and starts of bursts in four hours: bursts in flurries, taps log-normal after some of them."""
    n_flurries = max(n_bursts // 4, 1)
    flurries = rng.uniform(0, 4 * HOUR_S, n_flurries)
    starts = np.sort(flurries[rng.integers(0, n_flurries, n_bursts)] + rng.exponential(40, n_bursts))
    starts = starts[np.diff(starts, prepend=-np.inf) > 1.5]
    tapped = rng.choice(starts, min(n_taps, len(starts)), replace=False)
    delays = np.clip(median_s * np.exp(0.4 * rng.standard_normal(len(tapped))), 0.2, 10.0)
    false = rng.uniform(0, 4 * HOUR_S, n_false)
    return np.concatenate([tapped + delays, false]) - offset_s, starts


@pytest.mark.parametrize("offset_s", OFFSETS_S)
@pytest.mark.parametrize(
    ("n_bursts", "n_taps", "n_false"),
    [(60, 12, 0), (60, 12, 4), (150, 20, 5), (150, 60, 20), (400, 60, 15)],
)
def test_offsets_of_hours_and_days_are_found_and_held(n_bursts, n_taps, n_false, offset_s):
    rng = np.random.default_rng(7)
    n_outings, held, told = 20, 0, 0
    for _ in range(n_outings):
        median_s = rng.uniform(0.5, 5.0)
        taps, starts = invented(rng, n_bursts, n_taps, n_false, median_s=median_s, offset_s=offset_s)
        found = estimate_offset(taps, starts)
        if isinstance(found, ClockEstimate):
            told += 1
            held += found.low_s <= offset_s <= found.high_s
            assert abs(found.camera_minus_phone_s - offset_s) < 10.0
    assert told >= 0.9 * n_outings
    # So many misses, or more, would be seen in 1 of 10,000 tests if the interval held 95 %.
    assert told - held <= binom.ppf(1 - 1e-4, told, 0.05)


def test_taps_that_have_nothing_to_do_with_the_bursts_tell_nothing():
    rng = np.random.default_rng(11)
    fooled = 0
    for n_bursts, n_false in [(60, 10), (150, 30), (300, 12), (100, 60)] * 40:
        taps, starts = invented(rng, n_bursts, 0, n_false)
        fooled += isinstance(estimate_offset(taps, starts), ClockEstimate)
    assert fooled <= 1


def test_bursts_as_regular_as_a_clock_tell_nothing():
    starts = 12.0 * np.arange(60)
    taps = starts[10:40] + 2.0
    assert isinstance(estimate_offset(taps, starts), CannotTell)


@pytest.mark.parametrize(("taps", "starts"), [([], []), ([1, 2, 3], [1, 2, 3, 4, 5]), ([1, 1, 1, 1], [1, 2, 3, 4])])
def test_too_few_taps_are_told_with_their_number(taps, starts):
    found = estimate_offset(taps, starts)
    assert isinstance(found, CannotTell)
    assert found.reason.startswith(f"{len(set(taps))} burst taps and {len(set(starts))} bursts")


def test_a_camera_of_whole_seconds_widens_the_interval_and_still_is_held():
    rng = np.random.default_rng(3)
    for _ in range(20):
        taps, starts = invented(rng, 80, 30, 5, offset_s=HOUR_S)
        fine, coarse = estimate_offset(taps, starts), estimate_offset(taps, np.floor(starts), camera_step_s=1.0)
        assert coarse.low_s <= HOUR_S <= coarse.high_s
        assert coarse.high_s - coarse.low_s > fine.high_s - fine.low_s
        assert coarse.camera_minus_phone_s == pytest.approx(fine.camera_minus_phone_s, abs=0.7)


@given(st.integers(-(10**8), 10**8), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_moving_a_clock_moves_the_answer_and_order_does_not_matter(moved_s, random):
    taps, starts = invented(np.random.default_rng(5), 60, 20, 3)
    still = estimate_offset(taps, starts)
    shuffled = [float(tap) for tap in taps]
    random.shuffle(shuffled)
    moved = estimate_offset(np.array(shuffled) - moved_s, starts)
    assert moved.n_matched == still.n_matched
    # Seconds of 1e8 have a last digit of 1e-8.
    assert moved.camera_minus_phone_s == pytest.approx(still.camera_minus_phone_s + moved_s, abs=1e-6)


@given(
    st.lists(st.integers(0, 60), min_size=1, max_size=8, unique=True),
    st.lists(st.integers(0, 60), min_size=1, max_size=8, unique=True),
    st.integers(-30, 30),
)
def test_taps_are_counted_as_the_best_assignment_has_them(taps, starts, difference):
    taps, starts = np.sort(np.array(taps, float)), np.sort(np.array(starts, float))
    delays = taps[:, None] - difference - starts[None, :]
    fits = (delays >= 0) & (delays <= 10)
    rows, columns = linear_sum_assignment(-fits.astype(float))
    assert _n_matched(taps, starts, float(difference), 10.0) == fits[rows, columns].sum()


@given(
    st.lists(st.integers(0, 200), min_size=4, max_size=12, unique=True),
    st.lists(st.integers(0, 200), min_size=4, max_size=12, unique=True),
)
def test_the_search_finds_what_trying_every_difference_finds(taps, starts):
    taps, starts = np.sort(np.array(taps, float)), np.sort(np.array(starts, float))
    # Whole numbers: between two of them nothing changes, so that halves stand for all differences.
    tried = [_n_matched(taps, starts, t + 0.5, 10.0) for t in range(-220, 220)]
    assert _peak(taps, starts, 10.0).n_matched == max(tried)
