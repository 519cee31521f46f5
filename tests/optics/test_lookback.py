"""Reaction times and the look-back buffer."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import exponnorm

from stillwing.errors import OutsideModel
from stillwing.optics.lookback import (
    Reaction,
    buffer_for,
    chance_of_lead,
    frames_before,
    reaction_at,
)
from stillwing.optics.lookbacktold import look_back_told

YOUNG = Reaction(0.190, 0.020, 0.040)
"""Parameters for simple reactions of young adults; from memory, after R. D. Luce, Response Times (1986)."""

times = st.floats(0.001, 5.0)


@pytest.mark.parametrize(("chance", "quantile_s"), [(0.05, 0.17443), (0.50, 0.22154), (0.95, 0.31483), (0.99, 0.37921)])
def test_quantiles_are_those_of_scipy(chance, quantile_s):
    # scipy 1.17.1, exponnorm(K=2, loc=190, scale=20)
    assert YOUNG.time_for(chance) == pytest.approx(quantile_s, abs=5e-6)


@given(times, st.floats(0.05, 1.0), st.floats(0.005, 0.1), st.floats(0.005, 0.3))
def test_the_chance_is_that_of_scipys_exponnorm(t_s, mu_s, sigma_s, tau_s):
    known = exponnorm(tau_s / sigma_s, loc=mu_s, scale=sigma_s).cdf(t_s)
    assert float(Reaction(mu_s, sigma_s, tau_s).chance_within(t_s)) == pytest.approx(known, abs=1e-9)


@pytest.mark.parametrize(
    ("age", "mean_s", "source"),
    [
        (
            None,
            0.213,
            "Woods et al. 2015, Front. Hum. Neurosci. 9:131, abstract: 213 ms once the apparatus is taken off",
        ),
        (41.0, 0.21355, "the same: 0.55 ms more with each year"),
    ],
)
def test_the_mean_reaction_is_the_published_one(age, mean_s, source):
    assert reaction_at(age).mean_s == pytest.approx(mean_s), source


def test_pressing_late_is_simulated_to_the_same_share():
    rng = np.random.default_rng(3)
    pressed_s = rng.normal(0.190, 0.020, 100_000) + rng.exponential(0.040, 100_000) + 0.03
    for buffer_s in (0.2, 0.25, 0.3, 0.4):
        share = float((pressed_s <= buffer_s).mean())
        assert float(chance_of_lead(buffer_s, 0.0, YOUNG)) == pytest.approx(share, abs=0.005)
        early = float((pressed_s + 0.05 <= buffer_s).mean())
        assert float(chance_of_lead(buffer_s, 0.05, YOUNG)) == pytest.approx(early, abs=0.005)


@given(st.floats(0.01, 0.99), st.floats(0.0, 0.2), st.floats(0.0, 0.5))
def test_the_buffer_needed_holds_it_just_so_often(chance, lag_s, lead_s):
    needed_s = buffer_for(chance, YOUNG, lag_s, lead_s)
    assert float(chance_of_lead(needed_s, lead_s, YOUNG, lag_s)) == pytest.approx(chance, abs=1e-6)


@given(times, times)
def test_a_longer_buffer_never_holds_less(one_s, other_s):
    shorter, longer = sorted((one_s, other_s))
    assert float(chance_of_lead(shorter, 0.0, YOUNG)) <= float(chance_of_lead(longer, 0.0, YOUNG)) + 1e-12


def test_without_a_buffer_nothing_is_inside():
    assert float(chance_of_lead(0.0, 0.0, YOUNG, 0.0)) == 0.0
    assert frames_before(0.0, 50.0, 0.5, YOUNG) == 0


def test_frames_before_the_take_off_are_what_is_left_of_the_buffer():
    # Half of all presses come 0.25154 s after it: 0.24846 s of a buffer of 0.5 s are left, 12 frames at 50 a second.
    assert frames_before(0.5, 50.0, 0.5, YOUNG) == 12
    assert frames_before(0.5, 50.0, 0.99, YOUNG) == 4


@pytest.mark.parametrize("age", [17.0, 91.0])
def test_ages_that_were_not_measured_are_refused(age):
    with pytest.raises(OutsideModel, match="age is"):
        reaction_at(age)


@pytest.mark.parametrize("wrong", [(-0.1, 0.0, 0.03), (0.5, -1.0, 0.03), (0.5, 0.0, -0.1)])
def test_negative_times_are_refused(wrong):
    length_s, lead_s, lag_s = wrong
    with pytest.raises(OutsideModel):
        chance_of_lead(length_s, lead_s, YOUNG, lag_s)


def test_all_is_told_together():
    told = look_back_told(0.5, 50.0, 0.0, None, 0.03, 2.0)
    assert told.gone_m == pytest.approx(2 * 0.243)
    assert [each.chance for each in told.needed] == [0.5, 0.9, 0.99]
    assert told.needed[0].buffer_s < told.needed[1].buffer_s < told.needed[2].buffer_s
