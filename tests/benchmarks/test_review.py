"""The benchmark of keeper rates: its draws are of the laws that they say, and its figures have their names."""

import json

import numpy as np
import pytest
from scipy.stats import binomtest

import review_claims
import review_figures
import review_methods
import review_outings
import review_stored
import review_unseen
from review_draws import LAWS, draw_bursts
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import known_rate


@pytest.mark.parametrize("law", LAWS)
@pytest.mark.parametrize(("rate", "sameness"), [(0.02, 0.25), (0.3, 0.1), (0.6, 0.5)])
def test_bursts_have_the_rate_and_the_sameness_asked_for(law, rate, sameness):
    frames, kept = draw_bursts(np.random.default_rng(3), law, rate, sameness, 200_000, 10)
    share = kept / frames
    # A mean over bursts of 10 frames varies by rate x (1 - rate) x (1 + 9 x sameness) / 10: what sameness means.
    assert share.mean() == pytest.approx(rate, abs=0.005)
    assert share.var() == pytest.approx(rate * (1 - rate) * (1 + 9 * sameness) / 10, rel=0.03)


def test_frames_alone_are_the_exact_interval_of_scipy():
    exact = binomtest(7, 40).proportion_ci(0.95, "exact")
    told = review_methods.frames_alone(np.array([10, 30]), np.array([3, 4]))
    assert told == pytest.approx((exact.low, exact.high))


def test_bursts_kept_whole_or_not_at_all_are_too_narrow_for_frames_alone_only():
    frames, kept = np.full(20, 30), np.array([30] * 6 + [0] * 14)
    low, high = review_methods.frames_alone(frames, kept)
    for name, interval in review_methods.OTHERS.items():
        if name != "frames alone":
            assert interval(frames, kept)[1] - interval(frames, kept)[0] > 3 * (high - low), name


def test_one_case_is_the_same_each_time():
    case = ("beta", 0.1, 0.1, 5, 12, 10)
    assert review_figures.case_coverage(case) == review_figures.case_coverage(case)


@pytest.mark.parametrize(
    ("kept", "kind"),
    [([0, 0, 0], "none kept"), ([12, 12, 12], "all kept"), ([9, 12, 1], "no burst a miss"), ([9, 0, 10], "others")],
)
def test_misses_that_were_not_seen_widen_only_bursts_that_each_have_a_keeper(kept, kind):
    known = known_rate(count_bursts([12, 12, 12], kept))
    plain = known.limits()
    tried = review_unseen.with_unseen_misses(known, plain)
    assert review_unseen.kind_of(known.counts) == kind
    assert (tried.low < plain.low) == (kind == "no burst a miss")
    assert (tried.likely, tried.high) == (plain.likely, plain.high)


def test_misses_that_were_not_seen_are_those_of_the_same_model_drawn_at_random():
    known, rng, n = known_rate(count_bursts([12] * 5, [9, 10, 11, 9, 10])), np.random.default_rng(3), 400_000
    misses = np.where(rng.random(n) < review_unseen.TWO_KINDS, rng.beta(0.5, 0.5, n), 0.0)
    rates = (1 - misses[rng.random(n) < (1 - misses) ** 5]) * known.rate_at(0.5)
    drawn = float(np.quantile(rates, 0.025))
    # Hits that are known exactly: what is known of them only lowers the end further.
    assert drawn - 0.06 < review_unseen.with_unseen_misses(known, known.limits()).low < drawn


@pytest.mark.parametrize("spread", [0.0, 1.0])
def test_bursts_of_outings_have_the_rate_and_the_spread_asked_for(spread):
    frames, kept, outing = review_outings.draw_outings_bursts(np.random.default_rng(3), "beta", 0.2, 0.05, spread, 8000)
    share = np.bincount(outing, kept) / np.bincount(outing, frames)
    assert share.mean() == pytest.approx(0.2, abs=0.006)
    # Luck within an outing alone leaves some 0.055; log-odds that spread by 1 add some 0.14 to it as squares.
    assert 0.04 < share.std() < 0.07 if spread == 0 else 0.13 < share.std() < 0.18


def test_one_case_of_outings_is_the_same_each_time():
    case = ("beta", 0.2, 0.3, 0.5, 3, 6)
    assert review_outings.outing_coverage(case) == review_outings.outing_coverage(case)


def test_the_figures_have_the_names_that_they_are_asked_for_by(monkeypatch):
    for name, few in (("RATES", (0.1,)), ("SAMENESS", (0.1,)), ("N_BURSTS", (5,)), ("N_FRAMES", (0,))):
        monkeypatch.setattr(review_figures, name, few)
    for name, few in (("RATES", (0.2,)), ("SAMENESS", (0.05,)), ("SPREADS", (0.0, 1.0)), ("N_OUTINGS", (1, 3))):
        monkeypatch.setattr(review_outings, name, few)
    monkeypatch.setattr(review_claims, "SPREADS", (0.0, 0.7))
    monkeypatch.setattr(review_claims, "N_LEVELS", (2,))
    figures = json.loads(json.dumps(review_figures.measure(5, 2)))
    assert 0.6 < figures["review_interval_coverage"] <= 1
    assert {case["law"] for case in figures["cases"]} == set(LAWS)
    assert figures["methods"].keys() >= {"stillwing", "sandwich", "beta-binomial Bayes"}
    assert figures["by"]["spread 1"]["outings"] >= figures["by"]["spread 1"]["bursts alone"]
    assert figures["shared"]["same outings, apart"]["held beside"] > 0.7
    assert figures["methods"]["unseen misses"]["mean"] >= figures["methods"]["stillwing"]["mean"]
    assert sum(each["share"] for each in figures["kinds"]["0.1"].values()) == pytest.approx(1.0)
    assert "claims that one of two levels is better" in review_figures.table(figures)


def test_reading_a_stored_season_is_timed_in_its_parts() -> None:
    told = review_stored.measure(1, 2)
    assert told["n_frames"] == 28
    assert list(told)[1:] == [
        "rows read plainly",
        "bursts of a changed book",
        "page of a changed book",
        "page of an unchanged book",
    ]
