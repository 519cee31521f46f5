"""How strongly factors go together, against scipy and cases that are clear by hand."""

import math
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats.contingency import association

from stillwing.errors import InputError
from stillwing.review.confounded import STRONG, associations, cramers_v, going_with
from stillwing.review.outcomes import BurstOutcome

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)


def bursts(*factors):
    return [BurstOutcome(str(at), 10, 1, each, NOON, str(at)) for at, each in enumerate(factors)]


@pytest.mark.parametrize("table", [[[30, 5], [4, 40]], [[20, 10, 5], [5, 30, 9], [3, 2, 60]]])
def test_in_large_tables_it_is_the_v_of_scipy(table):
    # The correction for luck vanishes as the table grows.
    pairs = [(str(r), str(c)) for r, row in enumerate(table) for c, n in enumerate(row) for _ in range(n * 200)]
    assert cramers_v(pairs) == pytest.approx(association(np.array(table), method="cramer"), abs=1e-3)


def test_luck_alone_shows_no_strength_on_average():
    rng = np.random.default_rng(4)
    drawn = [rng.integers(0, 3, (2, 24)).astype(str) for _ in range(300)]
    plain = [association(np.array([[np.sum((a == r) & (b == c)) for c in "012"] for r in "012"])) for a, b in drawn]
    ours = [cramers_v(list(zip(a, b, strict=True))) for a, b in drawn]
    assert np.mean(ours) < np.mean(plain) / 2
    assert np.mean(np.array(ours) >= STRONG) < 0.02


def test_factors_that_go_together_are_named_the_strongest_first():
    outcomes = bursts(
        *(
            {
                "exposure_s": 1 / 3200 if at % 2 else 1 / 800,
                "distance_m": 2.5 if at % 2 else 7.0,
                "support": "ab"[at // 10],
            }
            for at in range(20)
        )
    )
    found = associations(outcomes, ["distance_m", "exposure_s", "support"])
    assert (found[0].factor, found[0].other) == ("distance_m", "exposure_s")
    assert found[0].strength == pytest.approx(1.0)
    assert found[0].n_bursts == 20
    assert going_with("exposure_s", found) == (("distance_m", found[0].strength),)
    assert going_with("support", found) == ()


def test_factors_that_too_few_bursts_know_or_of_one_level_are_left_out():
    few = bursts({"a": "x", "b": "y"}, {"a": "z", "b": "w"}, *({"a": "x"} for _ in range(9)))
    assert associations(few, ["a", "b"]) == ()
    assert associations(bursts(*({"a": "x", "b": str(at % 2)} for at in range(9))), ["a", "b"]) == ()


def test_one_level_goes_with_nothing():
    with pytest.raises(InputError, match="1 and 2 levels"):
        cramers_v([("x", "y"), ("x", "z")])


@settings(max_examples=60)
@given(st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from("xyz")), min_size=2, max_size=40))
def test_which_comes_first_makes_no_difference(pairs):
    if min(len({pair[at] for pair in pairs}) for at in (0, 1)) < 2:
        return
    told = cramers_v(pairs)
    assert 0 <= told <= 1
    assert told == pytest.approx(cramers_v([(b, a) for a, b in pairs]), abs=1e-6)
    assert not math.isnan(told)
