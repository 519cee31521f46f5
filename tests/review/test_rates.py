"""Rates against exact distributions, and counts against logs written down by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, poisson, poisson_means_test

from stillwing.errors import InputError
from stillwing.fieldbook.moment import MomentKind
from stillwing.review.events import Log
from stillwing.review.rates import By, PlaceRate, against_best, compare, rate, rates_by

from .logs import log, tap

HOVERS = (MomentKind.HOVER,)


def hovers(*times, stand="east", **more):
    return [tap(at, "hover", stand=stand, **more) for at in times]


def joined(*taps, start_s=0.0, end_s=3600.0, conditions=""):
    return Log(tuple(sorted(taps, key=lambda each: each.at_s)), start_s, end_s, conditions)


@pytest.mark.parametrize("confidence", [0.8, 0.9, 0.95])
@pytest.mark.parametrize("n", [1, 2, 7, 25, 300])
def test_limits_are_those_means_at_which_the_count_is_just_too_rare(n, confidence):
    # What an exact interval is: Garwood 1936, Biometrika 28:437-442.
    told = rate(n, 1.0, confidence=confidence).per_h
    tail = (1 - confidence) / 2
    assert poisson.sf(n - 1, told.low) == pytest.approx(tail)
    assert poisson.cdf(n, told.high) == pytest.approx(tail)


def test_nothing_counted_has_the_limit_of_the_rule_of_three():
    told = rate(0, 2.0)
    assert (told.per_h.likely, told.per_h.low) == (0.0, 0.0)
    assert told.per_h.high == pytest.approx(3 / 2, rel=0.002), "Hanley and Lippman-Hand 1983, JAMA 249:1743"


@given(st.integers(0, 200), st.floats(0.01, 100), st.floats(0.1, 10))
def test_a_rate_scales_with_the_hours(n, hours, factor):
    one, other = rate(n, hours).per_h, rate(n, hours * factor).per_h
    for name in ("likely", "low", "high"):
        assert getattr(other, name) * factor == pytest.approx(getattr(one, name))


@pytest.mark.parametrize(
    ("n", "hours", "words"), [(-1, 1.0, "-1 events in 1 h"), (1, 0.0, "1 events in 0 h"), (1, math.nan, "in nan h")]
)
def test_what_is_no_rate_is_refused(n, hours, words):
    with pytest.raises(InputError, match=words):
        rate(n, hours)


def test_a_confidence_in_percent_is_refused():
    with pytest.raises(InputError, match="confidence is 90"):
        rate(1, 1.0, confidence=90)
    with pytest.raises(InputError, match="confidence is 90"):
        compare(rate(1, 1.0), rate(1, 1.0), confidence=90)


@given(st.integers(0, 30), st.integers(0, 30), st.floats(0.2, 5), st.floats(0.2, 5))
def test_two_rates_compare_by_the_exact_chances_of_their_share(first, second, hours, others):
    told = compare(rate(first, hours), rate(second, others))
    if first + second == 0:
        assert (told.chance_by_luck, told.ratio.low, told.ratio.high) == (1.0, 0.0, math.inf)
        return
    n, share = first + second, hours / (hours + others)
    masses = binom.pmf(np.arange(n + 1), n, share)
    # All that is at most as likely as what came; ties up to rounding, as any two-sided exact test has them.
    assert told.chance_by_luck == pytest.approx(masses[masses <= masses[first] * (1 + 1e-7)].sum(), rel=1e-6)
    # At each finite limit of the ratio the count is just too rare.
    if first:
        assert binom.sf(first - 1, n, odds_share(told.ratio.low * hours / others)) == pytest.approx(0.025)
    if second:
        assert binom.cdf(first, n, odds_share(told.ratio.high * hours / others)) == pytest.approx(0.025)


def odds_share(odds):
    return odds / (1 + odds)


def test_two_rates_compare_as_by_the_conditional_test_of_the_library():
    # scipy's poisson_means_test is the more powerful test of Krishnamoorthy and Thomson 2004 (J. Stat. Plan. Inference
    # 119:23-35), whose chance is near but below that of the conditional one, Przyborowski and Wilenski 1940.
    ours = compare(rate(20, 10.0), rate(8, 10.0)).chance_by_luck
    theirs = poisson_means_test(20, 10, 8, 10).pvalue
    assert theirs <= ours == pytest.approx(theirs, abs=0.015)


def test_remissions_differ_by_group():
    # 9 relapses in 359 weeks under 6-mercaptopurine, 21 in 182 without: Freireich et al. 1963, Blood 21:699-716.
    told = compare(rate(9, 359.0), rate(21, 182.0))
    assert told.ratio.likely == pytest.approx(9 / 359 / (21 / 182))
    assert told.chance_by_luck < 0.001
    assert not told.do_overlap


def test_rates_may_differ_although_their_intervals_overlap():
    told = compare(rate(12, 2.0), rate(3, 2.0))
    assert told.do_overlap
    assert told.chance_by_luck < 0.05


def test_a_rate_against_none_is_endlessly_higher():
    told = compare(rate(5, 1.0), rate(0, 1.0))
    assert (told.ratio.likely, told.ratio.high) == (math.inf, math.inf)
    assert told.ratio.low > 0


def test_equal_rates_seldom_look_different():
    rng = np.random.default_rng(3)
    counts = rng.poisson(8.0, (1000, 2))
    by_luck = [compare(rate(int(a), 2.0), rate(int(b), 2.0)).chance_by_luck for a, b in counts]
    for level in (0.05, 0.1):
        # Exact tests of counts promise at most the level.
        assert np.sum(np.array(by_luck) <= level) <= binom.ppf(0.999, 1000, level)


@pytest.mark.parametrize(("confidence", "least"), [(0.9, 0.870), (0.95, 0.938)])
def test_intervals_of_a_rate_hold_what_they_claim_but_near_three_events(confidence, least):
    counts = np.arange(80)
    limits = [rate(int(n), 1.0, confidence=confidence).per_h for n in counts]
    low, high = (np.array([getattr(each, name) for each in limits]) for name in ("low", "high"))
    means = np.linspace(0.05, 20.0, 2000)[:, None]
    held = (poisson.pmf(counts, means) * ((low <= means) & (means <= high))).sum(1)
    # One-sided where nothing was counted: no less than claimed until that end, nor past the two-sided one.
    one_sided, two_sided = -np.log(1 - confidence), -np.log((1 - confidence) / 2)
    exact = (means[:, 0] < one_sided) | (means[:, 0] > two_sided)
    assert held[exact].min() >= confidence
    assert held.min() == pytest.approx(least, abs=5e-4), "what docs/waiting.md says"


def test_the_best_of_many_is_judged_for_having_been_picked():
    places = [PlaceRate(rate(n, 2.0)) for n in (12, 3, 3, 3)]
    alone = compare(places[0].rate, places[1].rate).chance_by_luck
    assert [each.chance_by_luck for each in against_best(places)] == pytest.approx([3 * alone] * 3)
    assert against_best(places[:1]) == against_best([]) == ()
    same = [PlaceRate(rate(3, 2.0))] * 4
    assert {each.chance_by_luck for each in against_best(same)} == {1.0}


def test_stands_are_told_apart_by_the_hours_at_each():
    taps = [*hovers(600, 900, 1200), tap(1800, "moved", stand="west"), *hovers(2000, stand="west")]
    told = rates_by([joined(*taps)], By.STAND, HOVERS)
    assert [(each.stand, each.rate.n, each.rate.hours) for each in told] == [("east", 3, 0.5), ("west", 1, 0.5)]
    assert [each.rate.per_h.likely for each in told] == [6.0, 2.0]


def test_a_perch_counts_as_watched_from_where_it_was_tapped():
    taps = [
        tap(0, "perch", "post"),
        tap(100, "take-off", "post"),
        tap(110, "return", "post"),
        tap(1800, "moved", stand="west"),
        tap(1900, "landing", "reed", stand="west"),
    ]
    told = rates_by([joined(*taps)], By.PERCH, (MomentKind.RETURN, MomentKind.LANDING))
    assert [(each.stand, each.perch, each.rate.n, each.rate.hours) for each in told] == [
        ("east", "post", 1, 0.5),
        ("west", "reed", 1, 0.5),
    ]


def test_weather_is_told_apart_by_the_words_that_held():
    taps = [*hovers(100, 200), tap(900, "conditions", conditions="wind"), *hovers(1000)]
    told = rates_by([joined(*taps, conditions="sun")], By.CONDITIONS, HOVERS)
    assert [(each.conditions, each.rate.n, each.rate.hours) for each in told] == [("sun", 2, 0.25), ("wind", 1, 0.75)]


def test_outings_add_up_and_other_animals_do_not_count():
    one = joined(*hovers(10, 20), *hovers(30, animal="darter"))
    told = rates_by([one, joined(*hovers(40))], By.STAND, HOVERS, "hawker")
    assert [(each.rate.n, each.rate.hours) for each in told] == [(3, 2.0)]
    assert rates_by([one], By.STAND, HOVERS)[0].rate.n == 3
    assert rates_by([], By.STAND, HOVERS) == ()


def test_what_was_watched_for_no_time_has_no_rate():
    assert rates_by([log((0, "hover"), end_s=0.0)], By.STAND, HOVERS) == ()


def test_equal_places_stand_in_order_of_their_names():
    taps = [tap(10.0 * number + 5.0, "perch", name) for number, name in enumerate(("reed", "post", "gate", "stump"))]
    told = rates_by([joined(*taps)], By.PERCH, (MomentKind.PERCH,))
    assert [each.perch for each in told] == ["gate", "post", "reed", "stump"]
