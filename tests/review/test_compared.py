"""Two ways compared, against the same model drawn at random and against what must hold of any comparison."""

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import expit
from scipy.stats import binom

from stillwing.errors import InputError
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import known_rate
from stillwing.review.compared import MOST_BURSTS, best_level, compare_factors, compare_ways, compare_with_best
from stillwing.review.comparedlevels import SPREAD, Together
from stillwing.review.outcomes import BurstOutcome, keeper_rates

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)
BURSTS = st.lists(
    st.integers(1, 30).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))), min_size=1, max_size=10
)


def rates_of(**levels):
    """Return the rates of levels given as pairs of frames and keepers, one pair a burst."""
    outcomes = [
        BurstOutcome(f"{words} {at}", n, k, {"way": words}, NOON, f"{words} {at}")
        for words, bursts in levels.items()
        for at, (n, k) in enumerate(bursts)
    ]
    return keeper_rates(outcomes, "way")


def singles(n_kept, n):
    return [(1, 1)] * n_kept + [(1, 0)] * (n - n_kept)


def test_two_ways_compare_as_the_same_model_drawn_at_random_has_them():
    # Bursts of one frame are plain counts, so that the likelihood is scipy's binomial.
    counts = {"a": (14, 40), "b": (5, 45), "c": (8, 30)}
    rng = np.random.default_rng(5)
    n = 1_500_000
    middle = np.sin(rng.random(n) * np.pi / 2) ** 2
    odds = np.log(middle / (1 - middle))[:, None] + np.abs(SPREAD * rng.standard_normal(n))[:, None] * (
        rng.standard_normal((n, 3))
    )
    rates = expit(odds)
    weight = np.prod([binom.pmf(k, m, rates[:, at]) for at, (k, m) in enumerate(counts.values())], axis=0)
    apart = rates[:, 0] - rates[:, 1]
    order = np.argsort(apart)
    low, high = np.interp([0.025, 0.975], np.cumsum(weight[order]) / weight.sum(), apart[order])
    told = compare_ways(rates_of(**{words: singles(*each) for words, each in counts.items()}), "a", "b")
    # Some 20,000 of the draws carry the weight: luck moves a chance by 0.002, an end by 0.004.
    assert told.chance_better == pytest.approx(float(weight[apart > 0].sum() / weight.sum()), abs=0.006)
    assert (told.difference.low, told.difference.high) == pytest.approx((low, high), abs=0.01)


@settings(max_examples=25, deadline=None)
@given(BURSTS, BURSTS, BURSTS)
def test_the_other_way_round_is_the_other_chance(first, second, third):
    together = Together(tuple(known_rate(count_bursts(*zip(*each, strict=True))) for each in (first, second, third)))
    assert together.chance_better(0, 1) + together.chance_better(1, 0) == pytest.approx(1.0, abs=1e-6)
    one, other = together.pair(0, 1).difference(0.95), together.pair(1, 0).difference(0.95)
    assert (one.low, one.high) == pytest.approx((-other.high, -other.low), abs=1e-3)
    assert one.low <= one.likely <= one.high


def test_ways_on_the_same_outings_are_told_apart_sooner_than_on_others():
    one, other = [1, 2, 0, 1, 6, 5, 7, 4, 0, 0, 1, 0], [3, 2, 4, 3, 9, 8, 9, 10, 2, 3, 1, 2]

    def chance(mark):
        outcomes = [
            BurstOutcome(f"{way} {at}", 12, k, {"way": way}, NOON, f"{mark if way == 'b' else ''}{at // 4}")
            for way, kept in (("a", one), ("b", other))
            for at, k in enumerate(kept)
        ]
        return compare_ways(keeper_rates(outcomes, "way"), "b", "a").chance_better

    assert chance("") > chance("other ") + 0.03


def test_a_level_that_kept_nothing_in_one_burst_is_not_the_best():
    # The mean of what is known of "once" lies above the others: little is known of it.
    rates = rates_of(often=[(20, 2), (20, 3), (20, 0), (20, 1), (20, 4), (20, 2), (20, 1)], once=[(12, 0)])
    assert best_level(rates).best.level.words == "often"


def test_the_best_is_found_as_by_comparing_it_with_each_other_level():
    rates = rates_of(a=[(20, 9), (20, 12)] * 8, b=[(20, 10), (20, 9)] * 8, c=[(20, 1), (20, 0)] * 8)
    best, compared = best_level(rates), compare_with_best(rates)
    assert (best.best, best.runner_up) == (compared.best, compared.against[0].second)
    assert best.less == tuple(each.second for each in compared.against if each.is_told)
    assert best.alike == tuple(each.second for each in compared.against if not each.is_told)


def test_ways_alike_are_a_toss_up_that_no_season_settles():
    alike = [(20, 4), (15, 0), (30, 6), (10, 2)]
    told = compare_ways(rates_of(a=alike, b=alike), "a", "b")
    assert told.chance_better == pytest.approx(0.5)
    assert told.difference.likely == pytest.approx(0.0, abs=1e-3)
    assert told.ratio.likely == pytest.approx(1.0, abs=0.01)
    assert (told.is_told, told.more_bursts) == (False, None)


def test_more_keepers_make_a_way_likelier_to_be_better_and_sooner_told():
    other = [(20, 2)] * 4 + [(20, 0)] * 4
    told = [compare_ways(rates_of(a=[(20, k), (20, 1)] * 5, b=other), "a", "b") for k in (2, 5, 8)]
    chances = [each.chance_better for each in told]
    assert chances == sorted(chances)
    more = [MOST_BURSTS + 1 if each.more_bursts is None else each.more_bursts for each in told]
    assert more == sorted(more, reverse=True)
    assert more[0] > more[-1]


def test_a_clear_difference_is_told_and_needs_no_more():
    told = compare_ways(rates_of(a=[(20, 12), (20, 9)] * 8, b=[(20, 0), (20, 1)] * 8), "a", "b")
    assert told.is_told
    assert told.more_bursts == 0
    assert told.difference.low > 0.2
    assert told.ratio.low > 3


def test_both_kept_nothing_is_a_comparison_too():
    told = compare_ways(rates_of(a=[(20, 0)] * 3, b=[(20, 0)] * 12), "a", "b")
    assert told.chance_better > 0.5
    assert not told.is_told
    assert told.difference.low < 0 < told.difference.high


def test_levels_that_luck_may_have_parted_are_drawn_together():
    # Eight ways of one true rate, drawn by luck: the best of them is no find.
    rng = np.random.default_rng(12)
    levels = {word: [(20, int(k)) for k in rng.binomial(20, rng.beta(0.6, 3.4, 8))] for word in "abcdefgh"}
    rates = rates_of(**levels)
    compared = compare_with_best(rates)
    plain = [each.frames_kept.likely for each in rates.levels]
    drawn = Together(tuple(each.known for each in rates.levels)).rates()
    assert max(drawn) - min(drawn) < 0.6 * (max(plain) - min(plain))
    assert not any(each.is_told for each in compared.against)
    assert compared.n_pairs == 28


def test_the_more_factors_are_looked_at_the_surer_a_claim_must_be():
    rates = rates_of(a=[(20, 8), (20, 2), (20, 5)] * 3, b=[(20, 1), (20, 2), (20, 0)] * 3)
    alone = compare_ways(rates, "a", "b")
    among = compare_ways(rates, "a", "b", n_factors=40)
    assert alone.is_told
    assert not among.is_told
    assert among.chance_better == alone.chance_better
    assert among.more_bursts > 0


def test_factors_of_one_level_are_left_out():
    several = rates_of(a=[(10, 1)], b=[(10, 2)])
    (told,) = compare_factors([several, rates_of(a=[(10, 1)])])
    assert told.rates is several
    assert told.n_factors == 1


def test_what_cannot_be_compared_is_refused():
    rates = rates_of(a=[(10, 1)], b=[(10, 2)])
    with pytest.raises(InputError, match="no level 'c' of way; its levels are a, b"):
        compare_ways(rates, "a", "c")
    with pytest.raises(InputError, match="'a' cannot be compared with itself"):
        compare_ways(rates, "a", "a")
    with pytest.raises(InputError, match="way has 1 level in these bursts"):
        compare_with_best(rates_of(a=[(10, 1)]))
