"""Models of waiting against published fits, lifelines, and the truth behind simulated waits."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binom, chi2, t, weibull_min

from stillwing.errors import InputError
from stillwing.review.fits import aic_gain, count_limits, fit_exponential, fit_weibull

FAILURES_H = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500] * 10
FAILED = [True] * 10 + [False] * 10
OF_FAILURES = "NIST/SEMATECH e-Handbook of Statistical Methods, section 8.4.1.3"


def cut(rng, lengths, mean_cut_s=30.0):
    """Cut waits off at random, a quarter of those of 10 s."""
    ends = rng.exponential(mean_cut_s, lengths.shape)
    return np.minimum(lengths, ends), lengths <= ends


def likelihood(shape, scale, lengths, happened):
    """Give the logarithm of the likelihood as scipy's Weibull distribution has it."""
    law, happened = weibull_min(shape, scale=scale), np.asarray(happened, bool)
    lengths = np.asarray(lengths, float)
    return law.logpdf(lengths[happened]).sum() + law.logsf(lengths[~happened]).sum()


def test_rates_of_remissions_are_events_over_time():
    # 9 relapses in 359 weeks, and 21 in 182: Freireich et al. 1963, Blood 21:699-716, as lifelines ships them; sums as
    # in Cox and Oakes, Analysis of Survival Data (1984), from memory.
    from lifelines.datasets import load_leukemia

    table = load_leukemia()
    for group, n, weeks in ((0, 9, 359.0), (1, 21, 182.0)):
        part = table[table.Rx == group]
        fitted = fit_exponential(part.t, part.status)
        assert (fitted.n_happened, fitted.total_s) == (n, weeks)
        assert fitted.rate_per_s.likely == pytest.approx(n / weeks)


def test_the_exponential_model_is_that_of_lifelines():
    from lifelines import ExponentialFitter

    rng = np.random.default_rng(1)
    lengths, happened = cut(rng, rng.exponential(10.0, 60))
    theirs = ExponentialFitter().fit(lengths, happened)
    ours = fit_exponential(lengths, happened)
    assert 1 / ours.rate_per_s.likely == pytest.approx(float(theirs.lambda_), rel=1e-5)
    assert ours.log_likelihood == pytest.approx(float(theirs.log_likelihood_), abs=1e-6)


@pytest.mark.parametrize(
    ("n", "low", "high"), [(25, 16.18, 36.90), (0, 0.0, 2.996)], ids=["Garwood 1936", "one-sided, none counted"]
)
def test_limits_of_a_count_are_the_published_ones(n, low, high):
    # 25: an example after Garwood 1936, Biometrika 28:437-442, in a page on his method; 0: the manual of an R function.
    assert count_limits(n, 0.95) == pytest.approx((low, high), abs=0.005)


@given(st.integers(1, 400), st.floats(0.5, 0.99))
def test_limits_of_a_rate_are_quantiles_of_chi_square(n, confidence):
    low, high = count_limits(n, confidence)
    assert chi2.cdf(2 * low, 2 * n) == pytest.approx((1 - confidence) / 2)
    assert chi2.sf(2 * high, 2 * n + 2) == pytest.approx((1 - confidence) / 2)


def test_none_seen_gives_the_rule_of_three():
    fitted = fit_exponential(np.full(10, 60.0), np.zeros(10))
    assert (fitted.rate_per_s.likely, fitted.rate_per_s.low, fitted.log_likelihood) == (0.0, 0.0, 0.0)
    assert fitted.rate_per_s.high * 600 == pytest.approx(3.0, abs=0.005), "Hanley and Lippman-Hand 1983, JAMA 249:1743"
    assert fitted.chance_by(60.0).likely == 0.0
    assert fitted.chance_by(60.0).high == pytest.approx(1 - 0.05 ** (1 / 10))


def test_one_seen_gives_a_wide_interval():
    fitted = fit_exponential([8.0], [True])
    assert fitted.rate_per_s.likely == pytest.approx(1 / 8)
    assert fitted.rate_per_s.low == pytest.approx(-math.log(0.975) / 8)
    assert fitted.rate_per_s.high > 5 / 8


@given(st.lists(st.tuples(st.floats(0.01, 1e4), st.booleans()), min_size=1, max_size=20), st.floats(0.0, 1e4))
def test_a_chance_grows_with_time_and_stays_in_its_interval(waits, t_s):
    fitted = fit_exponential(*zip(*waits, strict=True))
    now, later = fitted.chance_by(t_s), fitted.chance_by(2 * t_s)
    assert 0.0 <= now.low <= now.likely <= now.high <= 1.0
    # A steady chance: still waiting after twice the time is still waiting twice over.
    assert 1 - later.likely == pytest.approx((1 - now.likely) ** 2, abs=1e-12)


def test_no_waiting_tells_no_rate():
    for lengths in ([], [0.0, 0.0]):
        with pytest.raises(InputError, match="nobody waited at all"):
            fit_exponential(lengths, [True] * len(lengths))


@pytest.mark.parametrize("fit", [fit_exponential, fit_weibull])
def test_what_is_no_confidence_or_no_length_is_refused(fit):
    with pytest.raises(InputError, match="confidence is 95"):
        fit([1.0, 2.0], [True, True], confidence=95)
    with pytest.raises(InputError, match="length is -1"):
        fit([1.0, -1.0], [True, True])


def test_the_weibull_model_of_failures_is_the_published_one():
    fitted = fit_weibull(FAILURES_H, FAILED)
    assert fitted.shape.likely == pytest.approx(1.7208, abs=5e-5), OF_FAILURES
    assert fitted.log_likelihood == pytest.approx(-75.135, abs=5e-4), OF_FAILURES
    assert -2 * fitted.log_likelihood + 4 == pytest.approx(154.27, abs=0.005), OF_FAILURES
    # Printed as 606.5280, a little off the top of the likelihood, which is at 606.5276.
    assert fitted.scale_s.likely == pytest.approx(606.5280, abs=5e-4), OF_FAILURES
    published = likelihood(1.7208, 606.5280, FAILURES_H, FAILED)
    assert published < likelihood(fitted.shape.likely, fitted.scale_s.likely, FAILURES_H, FAILED)


@pytest.mark.parametrize("shape", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("confidence", [0.9, 0.95])
def test_the_weibull_model_and_its_errors_are_those_of_lifelines(shape, confidence):
    from lifelines import WeibullFitter

    rng = np.random.default_rng(2)
    lengths, happened = cut(rng, 10 * rng.weibull(shape, 40))
    theirs = WeibullFitter().fit(lengths, happened)
    ours = fit_weibull(lengths, happened, confidence=confidence)
    assert ours.shape.likely == pytest.approx(float(theirs.rho_), rel=1e-4)
    assert ours.scale_s.likely == pytest.approx(float(theirs.lambda_), rel=1e-4)
    assert ours.log_likelihood == pytest.approx(float(theirs.log_likelihood_), abs=1e-6)
    wide = t.ppf(0.5 + confidence / 2, happened.sum() - 1)
    errors = theirs.summary["se(coef)"]
    for limits, name in ((ours.scale_s, "lambda_"), (ours.shape, "rho_")):
        # Half the width on the logarithm is the error over the value: the delta method.
        half = math.log(limits.high / limits.low) / 2
        assert half == pytest.approx(wide * errors[name] / limits.likely, rel=1e-3)


few_waits = st.lists(st.tuples(st.integers(1, 5000), st.booleans()), min_size=2, max_size=15)


@given(few_waits)
def test_no_other_shape_or_scale_is_more_likely(waits):
    lengths, happened = (np.array(each) for each in zip(*waits, strict=True))
    assume(np.unique(lengths[happened]).size >= 2)
    fitted = fit_weibull(lengths, happened)
    best = likelihood(fitted.shape.likely, fitted.scale_s.likely, lengths, happened)
    assert fitted.log_likelihood == pytest.approx(best, rel=1e-6, abs=1e-6)
    for by_shape, by_scale in ((1.01, 1), (0.99, 1), (1, 1.01), (1, 0.99)):
        other = likelihood(fitted.shape.likely * by_shape, fitted.scale_s.likely * by_scale, lengths, happened)
        assert other <= best + 1e-9


@given(few_waits, st.floats(0.01, 100))
def test_the_unit_of_time_moves_the_scale_alone(waits, unit):
    lengths, happened = (np.array(each) for each in zip(*waits, strict=True))
    assume(np.unique(lengths[happened]).size >= 2)
    one, other = fit_weibull(lengths, happened), fit_weibull(lengths * unit, happened)
    assert other.shape.likely == pytest.approx(one.shape.likely, rel=1e-6)
    assert other.scale_s.high == pytest.approx(one.scale_s.high * unit, rel=1e-6)


@pytest.mark.parametrize(
    ("lengths", "happened"),
    [
        ([], []),
        ([4.0], [True]),
        ([4, 4, 4], [1, 1, 1]),
        ([4, 5, 6], [1, 0, 0]),
        ([4, 5], [0, 0]),
        ([0, 0.0005], [1, 1]),
    ],
    ids=["none", "one", "ties alone", "one seen", "all cut off", "both below a tap"],
)
def test_any_shape_fits_fewer_than_two_lengths(lengths, happened):
    with pytest.raises(InputError, match="fewer than two different lengths were seen to their end"):
        fit_weibull(lengths, np.array(happened, bool))


@pytest.mark.parametrize("lengths", [[5.0, 5.001], [0.0, 1e4], [7199.999, 7200.0], [3, 3, 3, 3, 3.001]])
def test_lengths_that_are_hardly_or_wildly_different_still_have_a_model(lengths):
    fitted = fit_weibull(lengths, np.ones(len(lengths)))
    assert 0 < fitted.shape.low < fitted.shape.likely < fitted.shape.high < math.inf
    assert 0 < fitted.scale_s.low < fitted.scale_s.likely < fitted.scale_s.high < math.inf


def test_the_weibull_model_is_preferred_only_where_the_chance_changes():
    rng = np.random.default_rng(8)
    for shape, is_better in ((1.0, False), (3.0, True)):
        lengths, happened = cut(rng, 10 * rng.weibull(shape, 200))
        gain = aic_gain(fit_exponential(lengths, happened), fit_weibull(lengths, happened))
        assert (gain > 2.0) == is_better


def test_a_second_parameter_costs_two():
    # Greatest likelihood can only rise with a parameter, so the gain is never below -2: Akaike 1974.
    rng = np.random.default_rng(9)
    for _ in range(50):
        lengths, happened = cut(rng, rng.exponential(10.0, 12))
        gain = aic_gain(fit_exponential(lengths, happened), fit_weibull(lengths, happened))
        assert gain >= -2.0 - 1e-9


@pytest.mark.parametrize("confidence", [0.9, 0.95])
@pytest.mark.parametrize("n", [5, 40])
def test_intervals_of_a_rate_hold_what_they_claim(n, confidence):
    rng = np.random.default_rng(10)
    n_runs, held = 2000, 0
    for _ in range(n_runs):
        lengths, happened = cut(rng, rng.exponential(10.0, n))
        rate = fit_exponential(lengths, happened, confidence=confidence).rate_per_s
        held += rate.low <= 0.1 <= rate.high
    # Exact or on the safe side: at least what is claimed, and not far beyond with few.
    assert binom.ppf(0.001, n_runs, confidence) <= held <= binom.ppf(0.999, n_runs, (1 + confidence) / 2)


@pytest.mark.parametrize("n", [8, 40])
def test_intervals_of_the_weibull_model_hold_what_they_claim_within_a_few_in_a_hundred(n):
    rng = np.random.default_rng(12)
    n_runs, held = 1500, np.zeros(2)
    for _ in range(n_runs):
        lengths, happened = cut(rng, 10 * rng.weibull(1.5, n))
        if np.unique(lengths[happened]).size < 2:
            n_runs -= 1
            continue
        fitted = fit_weibull(lengths, happened, confidence=0.9)
        held += fitted.shape.low <= 1.5 <= fitted.shape.high, fitted.scale_s.low <= 10 <= fitted.scale_s.high
    assert (abs(held / n_runs - 0.9) < 0.03).all()
