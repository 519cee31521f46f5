import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from stillwing.errors import InputError
from stillwing.review.survival import kaplan_meier, shares_by_end

REMISSIONS = [6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35]
RELAPSED = [1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0]
"""Weeks of remission of 21 patients under 6-mercaptopurine: Freireich et al. 1963, Blood 21:699-716, as in Cox 1972,
J. R. Statist. Soc. B 34:187-220; from memory, and held against the copy that lifelines ships."""
OF_REMISSIONS = "Kalbfleisch and Prentice 1980, Kleinbaum and Klein: published product limit, from memory"


def exact(lengths, happened):
    """Give the product limit as anyone would write it down, step by step."""
    share, told = 1.0, {}
    for t in sorted({t for t, h in zip(lengths, happened, strict=True) if h}):
        at_risk = sum(other >= t for other in lengths)
        share *= 1 - sum(h and other == t for other, h in zip(lengths, happened, strict=True)) / at_risk
        told[t] = share
    return told


def test_remissions_are_those_of_the_library():
    from lifelines.datasets import load_leukemia

    treated = load_leukemia().query("Rx == 0").sort_values(["t", "status"], ascending=[True, False])
    assert treated.t.tolist() == REMISSIONS
    assert treated.status.tolist() == RELAPSED


def test_the_curve_of_remissions_is_the_published_one():
    curve = kaplan_meier(REMISSIONS, RELAPSED)
    assert curve.times_s.tolist() == [6, 7, 10, 13, 16, 22, 23]
    published = [0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482]
    assert curve.share == pytest.approx(published, abs=6e-5), OF_REMISSIONS
    assert curve.median_s == 23, OF_REMISSIONS


@pytest.mark.parametrize("confidence", [0.8, 0.95])
def test_curve_and_limits_are_those_of_lifelines(confidence):
    from lifelines import KaplanMeierFitter
    from lifelines.utils import median_survival_times

    rng = np.random.default_rng(3)
    lengths, cut = rng.exponential(9.0, 60).round(0) + 1, rng.exponential(20.0, 60).round(0) + 1  # many ties
    seen, happened = np.minimum(lengths, cut), lengths <= cut
    fitted = KaplanMeierFitter(alpha=1 - confidence).fit(seen, happened)
    curve = kaplan_meier(seen, happened, confidence=confidence)
    limits = fitted.confidence_interval_survival_function_
    theirs = fitted.survival_function_.loc[curve.times_s].to_numpy().ravel()
    assert curve.share == pytest.approx(theirs, abs=1e-12)
    inside = curve.share > 0
    assert np.column_stack([curve.low, curve.high])[inside] == pytest.approx(
        limits.loc[curve.times_s].to_numpy()[inside], abs=1e-9
    )
    assert curve.median_s == fitted.median_survival_time_
    assert sorted(curve.time_between(0.5)) == sorted(median_survival_times(limits).to_numpy().ravel())


lengths_with_ends = st.lists(st.tuples(st.integers(0, 12), st.booleans()), min_size=1, max_size=25)


@given(lengths_with_ends)
def test_the_curve_is_the_product_limit_step_by_step(intervals):
    lengths, happened = zip(*intervals, strict=True)
    told = exact(lengths, happened)
    curve = kaplan_meier(lengths, happened)
    assert curve.times_s.tolist() == list(told)
    assert curve.share == pytest.approx(list(told.values()), abs=1e-12)
    assert ((curve.low <= curve.share) & (curve.share <= curve.high)).all()


def test_without_cut_off_intervals_it_is_the_share_itself():
    lengths = [3, 1, 4, 1, 5, 9, 2, 6]
    curve = kaplan_meier(lengths, np.ones(8))
    assert curve.share == pytest.approx([np.mean(np.array(lengths) > t) for t in curve.times_s])


def test_nothing_happened_gives_the_rule_of_three():
    curve = kaplan_meier(np.full(100, 60.0), np.zeros(100))
    chance = curve.chance_by(30.0)
    assert (chance.likely, chance.low) == (0.0, 0.0)
    assert chance.high == pytest.approx(3 / 100, abs=5e-4), "Hanley and Lippman-Hand 1983, JAMA 249:1743: 3/n"
    assert curve.median_s == np.inf
    assert np.isnan(curve.chance_by(61.0).likely)


def test_one_that_happened_is_told_with_its_doubt():
    curve = kaplan_meier([8.0], [True])
    assert curve.median_s == 8.0
    assert curve.chance_by(7.9).high == pytest.approx(0.95)
    assert (curve.chance_by(8.0).likely, curve.chance_by(8.0).low) == (1.0, pytest.approx(0.05))


def test_no_interval_gives_an_empty_curve():
    curve = kaplan_meier([], [])
    assert curve.times_s.size == 0
    assert curve.median_s == np.inf
    assert np.isnan(curve.chance_by(1.0).likely)


@pytest.mark.parametrize("confidence", [0.9, 0.95])
@pytest.mark.parametrize("t_s", [5.0, 15.0])
def test_intervals_of_a_chance_hold_what_they_claim(confidence, t_s):
    rng = np.random.default_rng(11)
    true, n_runs, held = 1 - np.exp(-t_s / 10.0), 2000, 0
    for _ in range(n_runs):
        lengths, cut = rng.exponential(10.0, 40), rng.exponential(30.0, 40)
        chance = kaplan_meier(np.minimum(lengths, cut), lengths <= cut, confidence=confidence).chance_by(t_s)
        held += chance.low <= true <= chance.high
    # Pointwise limits are approximate at 40 intervals: one percent of leeway beside the luck of 2,000 runs.
    assert binom.ppf(0.001, n_runs, confidence - 0.01) <= held <= binom.ppf(0.999, n_runs, min(confidence + 0.02, 1))


def test_intervals_of_the_median_hold_what_they_claim():
    rng = np.random.default_rng(12)
    true, n_runs, held = 10 * np.log(2), 2000, 0
    for _ in range(n_runs):
        lengths, cut = rng.exponential(10.0, 40), rng.exponential(30.0, 40)
        low, high = kaplan_meier(np.minimum(lengths, cut), lengths <= cut).time_between(0.5)
        held += low <= true <= high
    assert binom.ppf(0.001, n_runs, 0.94) <= held <= binom.ppf(0.999, n_runs, 0.975)


def test_ends_compete_as_in_lifelines():
    from lifelines import AalenJohansenFitter

    rng = np.random.default_rng(5)
    lengths = rng.exponential(10.0, 80)
    ends = rng.choice([0, 1, 2], 80, p=[0.2, 0.5, 0.3])
    ours = shares_by_end(lengths, ends)
    for code, share in ours.items():
        fitted = AalenJohansenFitter().fit(lengths, ends, event_of_interest=code)
        theirs = fitted.cumulative_density_.loc[share.times_s].to_numpy().ravel()
        assert share.share == pytest.approx(theirs, abs=1e-12)
        limits = fitted.confidence_interval_.loc[share.times_s].to_numpy()
        # Where the last interval of all ends, lifelines divides by none left and gives no limit; the term is 0 there.
        known = np.isfinite(limits).all(1)
        assert known.sum() >= share.share.size - 1
        assert np.column_stack([share.low, share.high])[known] == pytest.approx(limits[known], abs=1e-9)


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 2)), min_size=1, max_size=25))
def test_all_ends_and_what_is_left_make_one(intervals):
    lengths, ends = (np.array(each) for each in zip(*intervals, strict=True))
    curve = kaplan_meier(lengths, ends > 0)
    told = shares_by_end(lengths, ends)
    for t, left in zip(curve.times_s, curve.share, strict=True):
        assert left + sum(share.at(t).likely for share in told.values()) == pytest.approx(1.0)


def test_with_one_way_to_end_its_share_mirrors_the_curve():
    share = shares_by_end(REMISSIONS, RELAPSED)[1]
    assert share.share == pytest.approx(1 - kaplan_meier(REMISSIONS, RELAPSED).share)


@pytest.mark.parametrize(
    ("lengths", "happened", "words"),
    [
        ([1, 2], [True], "2 lengths came with 1 ends"),
        ([-1], [True], "length is -1 s"),
        ([np.nan], [True], "no finite number"),
        ([np.inf], [False], "no finite number"),
    ],
)
def test_what_is_no_interval_is_refused(lengths, happened, words):
    with pytest.raises(InputError, match=words):
        kaplan_meier(lengths, happened)


def test_a_confidence_in_percent_is_refused():
    with pytest.raises(InputError, match=r"confidence is 95; it must be between 0 and 1, such as 0\.95"):
        kaplan_meier([1.0], [True], confidence=95)
