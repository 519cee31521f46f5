"""Sentences about keepers, word for word, and what they must never say."""

import doctest
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from stillwing.review.compared import WaysCompared, best_level
from stillwing.review.fits import Limits
from stillwing.review.keeperwords import (
    chance_in_100,
    compared_sentence,
    headline_sentence,
    level_sentence,
    share_words,
)
from stillwing.review.outcomes import BurstOutcome, keeper_rates

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)


def rates_of(factor="way", **levels):
    outcomes = [
        BurstOutcome(f"{words} {at}", n, k, {factor: words}, NOON, f"{words} {at}")
        for words, bursts in levels.items()
        for at, (n, k) in enumerate(bursts)
    ]
    return keeper_rates(outcomes, factor)


def way(rates, chance, difference, more_bursts):
    first, second = rates.levels
    return WaysCompared(first, second, chance, difference, Limits(1, 1, 1), more_bursts == 0, more_bursts)


FAST_SLOW = rates_of(fast=[(10, 3), (10, 0)] * 4 + [(10, 1)], slow=[(20, 1), (20, 2), (20, 0)] * 2)


@pytest.mark.parametrize(
    ("difference", "chance", "more", "end"),
    [
        (Limits(0.07, -0.012, 0.21), 0.938, 12, "94 in 100 that fast is better, by 7 points (-1 to 21) "
         "once luck is allowed for; about 12 more bursts of each would tell"),
        (Limits(0.07, 0.012, 0.21), 0.9999, 0, "over 99 in 100 that fast is better, by 7 points (1 to 21) "
         "once luck is allowed for; that is told"),
        (Limits(-0.013, -0.1, 0.08), 0.42, None, "58 in 100 that slow is better, by 1 point (-8 to 10) once luck is "
         "allowed for; to tell would take more than 300 more bursts of each"),
        (Limits(0.001, -0.1, 0.1), 0.52, 1, "52 in 100 that fast is better, by under 1 point (-10 to 10) once luck is "
         "allowed for; about 1 more burst of each would tell"),
    ],
)  # fmt: skip
def test_two_ways_are_told_with_all_their_figures(difference, chance, more, end):
    told = compared_sentence(way(FAST_SLOW, chance, difference, more))
    assert told.endswith(end)
    assert told.startswith("fast kept 13 of 90 frames (14 %, ")
    assert " in 9 bursts; slow kept 6 of 120 frames (5 %, " in told


def test_a_level_is_told_in_frames_and_in_bursts():
    told = level_sentence(FAST_SLOW.levels[0])
    assert told.startswith("fast kept 13 of 90 frames (14 %, ")
    assert " in 9 bursts on 9 outings, at least one in 5 of them (56 %, " in told
    assert level_sentence(rates_of(a=[(9, 0)]).levels[0]).endswith("; so few bursts are a beginning")


def test_shares_never_round_to_all_or_nothing():
    assert share_words(Limits(0.003, 0.0, 0.02)) == "0.3 %, 0 to 2 %"
    assert share_words(Limits(0.9981, 0.9, 1.0)) == "99.8 %, 90 to 100 %"
    assert chance_in_100(1.0) == "over 99 in 100"
    assert chance_in_100(0.0) == "under 1 in 100"


def test_the_best_is_named_with_what_it_can_be_told_from():
    rates = rates_of(a=[(20, 9), (20, 12)] * 8, b=[(20, 10), (20, 9)] * 8, c=[(20, 1), (20, 0)] * 8)
    told = headline_sentence("way", best_level(rates))
    assert told == "way: a kept more than c; it cannot be told from b yet"


def test_luck_is_not_shouted():
    rng = np.random.default_rng(12)
    rates = rates_of(**{word: [(20, int(k)) for k in rng.binomial(20, rng.beta(0.6, 3.4, 8))] for word in "abcde"})
    told = headline_sentence("way", best_level(rates))
    assert told.endswith(" did best so far, but cannot be told from the 4 others yet")
    assert "kept more" not in told


def test_the_page_of_keeper_rates_shows_what_is_told():
    page = Path(__file__).parents[2] / "docs" / "keeper-rates.md"
    told = doctest.testfile(str(page), module_relative=False)
    assert told.attempted > 5
    assert told.failed == 0
