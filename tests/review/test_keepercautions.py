"""Cautions about keepers, word for word."""

from datetime import UTC, datetime

import pytest

from stillwing.review.confounded import Association, associations
from stillwing.review.keepercautions import confounded_sentence, outings_sentence, pairs_sentence, unknown_sentence
from stillwing.review.outcomes import BurstOutcome, keeper_rates

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("n_levels", "n_factors", "said"),
    [
        (5, 1, "10 pairs of 5 levels were compared; of so many some look good by luck, which the chances allow for"),
        (2, 2, "1 pair was compared, and 2 factors; of so many some look good by luck, so a claim had to be surer"),
        (2, 1, "1 pair was compared"),
    ],
)
def test_comparisons_are_counted(n_levels, n_factors, said):
    assert pairs_sentence(n_levels, n_factors) == said


def test_a_factor_that_goes_with_another_names_it():
    outcomes = [
        BurstOutcome(
            str(at),
            10,
            2 * (at % 2),
            {"exposure_s": 1 / 3200 if at % 2 else 1 / 800, "distance_m": 2.5 if at % 2 else 7.0},
            NOON,
            str(at),
        )
        for at in range(20)
    ]
    found = associations(outcomes, ["distance_m", "exposure_s"])
    assert confounded_sentence("exposure_s", found) == (
        "exposure goes with distance (1.00 of 1): it, and not exposure, may be what made the difference"
    )


def test_a_factor_that_goes_with_none_says_nothing_of_others():
    assert confounded_sentence("iso", [Association("iso", "hour", 0.3, 30)]) == ""
    assert confounded_sentence(
        "iso", [Association("hour", "iso", 0.8, 30), Association("iso", "support", 0.6, 30)]
    ) == (
        "ISO goes with hour of the day (0.80 of 1) and support (0.60 of 1): "
        "they, and not ISO, may be what made the difference"
    )


def test_bursts_without_the_factor_are_told():
    outcomes = [
        BurstOutcome(str(at), 10, 1, {"iso": 100 * (1 + at % 2)} if at < 6 else {}, NOON, str(at)) for at in range(8)
    ]
    assert unknown_sentence(keeper_rates(outcomes, "iso")) == "2 bursts are left out, their ISO not known"
    assert unknown_sentence(keeper_rates(outcomes[:6], "iso")) == ""


@pytest.mark.parametrize(
    ("n_outings", "said"),
    [
        (1, "all bursts are from 1 outing: how another one would go is not known, and the intervals only guess how "
         "much outings differ"),
        (3, "all bursts are from 3 outings: so few hardly tell how much outings differ, and the intervals rest partly "
         "on a guess of it"),
        (5, ""),
    ],
)  # fmt: skip
def test_too_few_outings_are_told(n_outings, said):
    outcomes = [
        BurstOutcome(str(at), 10, 1, {"iso": 100 * (1 + at % 2)}, NOON, str(at % n_outings)) for at in range(10)
    ]
    rates = keeper_rates(outcomes, "iso")
    assert outings_sentence(rates) == said
