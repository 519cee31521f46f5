"""Slopes and shifts against scipy, and against all orders written out."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.stats import kendalltau, theilslopes, ttest_ind

from stillwing.errors import InputError
from stillwing.review.practicetrend import last_against_before, median_limits, robust_slope

VALUES = st.lists(st.floats(-10, 10).map(lambda x: round(x, 6)), min_size=5, max_size=14, unique=True)


@settings(max_examples=80)
@given(VALUES)
def test_the_slope_is_that_of_scipy_and_its_interval_agrees_with_the_exact_test_of_kendall(values):
    told = robust_slope(values)
    assert told.likely == pytest.approx(theilslopes(values).slope)
    assert told.low <= told.likely <= told.high
    slopes = [(values[j] - values[i]) / (j - i) for i, j in itertools.combinations(range(len(values)), 2)]
    assume(min(abs(slope) for slope in slopes) > 1e-9)
    by_luck = kendalltau(range(len(values)), values, method="exact").pvalue
    assert (told.low > 0 or told.high < 0) == (by_luck <= 0.05 * (1 + 1e-9))


def test_over_all_orders_of_six_it_misses_a_level_line_as_seldom_as_it_says():
    missed = 0
    for order in itertools.permutations(range(6)):
        told = robust_slope(order)
        missed += told.low > 0 or told.high < 0
    assert 0 < missed / math.factorial(6) <= 0.05


def test_four_outings_leave_any_slope_possible():
    told = robust_slope([4.0, 3.0, 2.0, 1.0])
    assert (told.likely, told.low, told.high) == (-1.0, -math.inf, math.inf)
    assert robust_slope([5.0, 4.0, 3.0, 2.0, 1.0]).high == pytest.approx(-1.0)


@given(VALUES, st.floats(-3, 3), st.floats(0.1, 10))
def test_the_slope_follows_a_line_and_a_scale(values, line, scale):
    told = robust_slope(values)
    moved = robust_slope([scale * value + line * at for at, value in enumerate(values)])
    for name in ("likely", "low", "high"):
        assert getattr(moved, name) == pytest.approx(scale * getattr(told, name) + line, abs=1e-6)


def test_one_wild_outing_hardly_moves_the_slope():
    even = [1.0 - 0.1 * at for at in range(9)]
    assert robust_slope([*even[:4], 40.0, *even[5:]]).likely == pytest.approx(-0.1)


@settings(max_examples=50)
@given(VALUES)
def test_the_last_against_those_before_are_as_scipy_has_them(values):
    told = last_against_before(values, 2)
    test = ttest_ind(values[-2:], values[:-2], equal_var=False)
    interval = test.confidence_interval(0.95)
    assert told.change.likely == pytest.approx(np.mean(values[-2:]) - np.mean(values[:-2]))
    assert (told.change.low, told.change.high) == pytest.approx((interval.low, interval.high), rel=1e-6, abs=1e-9)


def test_outings_all_alike_have_changed_by_nothing():
    told = last_against_before([2.0] * 6, 3)
    assert (told.change.low, told.change.high) == (0.0, 0.0)
    assert robust_slope([2.0] * 6).likely == 0.0


@pytest.mark.parametrize(
    ("work", "said"),
    [
        (lambda: robust_slope([1.0]), "1 outings have no slope"),
        (lambda: robust_slope([1.0, math.nan]), "is nan; it must be a finite number"),
        (lambda: last_against_before([1, 2, 3, 4], 1), "the last 1 of 4 outings"),
        (lambda: last_against_before([1, 2, 3, 4], 3), "the last 3 of 4 outings"),
        (lambda: robust_slope([1, 2], confidence=95), "confidence is 95"),
    ],
)
def test_what_tells_nothing_is_refused(work, said):
    with pytest.raises(InputError, match=said):
        work()


def test_the_interval_of_a_median_is_counted_out_from_the_binomial():
    # Ranks 2 and 9 of 10 at 95 %, 6 and 15 of 20 (tables of the sign test; from memory).
    ten, twenty = median_limits(np.arange(1, 11)), median_limits(np.arange(1, 21))
    assert (ten.likely, ten.low, ten.high) == (5.5, 2.0, 9.0)
    assert (twenty.low, twenty.high) == (6.0, 15.0)
    assert median_limits([1, 2, 3, 4, 5]) is None


def test_no_figures_have_no_median():
    with pytest.raises(InputError, match="no figure"):
        median_limits([])
