"""Keeper rates level by level, against counts written down by hand."""

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.review.outcomes import BurstOutcome, factors_of, keeper_rates, overall_rate

NOON = datetime(2026, 7, 1, 12, tzinfo=UTC)


def burst(name, n_frames, n_keepers, **factors):
    return BurstOutcome(name, n_frames, n_keepers, factors, NOON, name)


DAY = (
    burst("a", 10, 3, exposure_s=1 / 3200, support="hand"),
    burst("b", 30, 0, exposure_s=1 / 3200, support="tripod"),
    burst("c", 20, 2, exposure_s=1 / 1600, support="hand"),
    burst("d", 20, 0, support="hand"),
)


def test_frames_and_bursts_are_counted_level_by_level():
    rates = keeper_rates(DAY, "exposure_s")
    assert [
        (each.level.words, each.n_bursts, each.n_bursts_kept, each.n_frames, each.n_keepers) for each in rates.levels
    ] == [("1/3200 s", 2, 1, 40, 3), ("1/1600 s", 1, 1, 20, 2)]
    assert rates.n_unknown == 1
    assert [each.level.words for each in rates.by_rate()] == ["1/1600 s", "1/3200 s"]


def test_shares_are_the_plain_ones_within_their_intervals():
    fast = keeper_rates(DAY, "exposure_s").levels[0]
    assert fast.frames_kept.likely == pytest.approx(3 / 40)
    assert fast.bursts_kept.likely == pytest.approx(1 / 2)
    assert fast.frames_kept.low < 3 / 40 < fast.frames_kept.high


def test_all_bursts_together_and_the_factors_they_have():
    told = overall_rate(DAY)
    assert (told.n_bursts, told.n_frames, told.n_keepers) == (4, 80, 5)
    assert factors_of(DAY) == ("exposure_s", "support")


def test_a_factor_that_no_burst_has_gives_no_levels():
    assert keeper_rates(DAY, "iso").levels == ()
    assert keeper_rates(DAY, "iso").n_unknown == 4


@pytest.mark.parametrize(("n_frames", "n_keepers"), [(0, 0), (3, 4), (3, -1)])
def test_a_burst_that_cannot_be_is_refused(n_frames, n_keepers):
    with pytest.raises(InputError, match=f"{n_keepers} keepers of {n_frames} frames"):
        burst("a", n_frames, n_keepers)


def test_a_burst_that_is_there_twice_is_refused():
    with pytest.raises(InputError, match="burst a is there twice"):
        keeper_rates((DAY[0], DAY[0]), "support")


def test_no_bursts_have_no_rate_together():
    with pytest.raises(InputError, match="0 bursts"):
        overall_rate(())


def test_a_confidence_in_percent_is_refused():
    with pytest.raises(InputError, match="confidence is 95"):
        keeper_rates(DAY, "support", confidence=95)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 30), st.sampled_from(["x", "y", "z"])), min_size=1, max_size=15), st.randoms())
def test_levels_hold_every_burst_once_in_any_order(bursts, random):
    outcomes = [burst(str(at), n, n // 3, way=way) for at, (n, way) in enumerate(bursts)]
    shuffled = list(outcomes)
    random.shuffle(shuffled)
    one, other = keeper_rates(outcomes, "way"), keeper_rates(shuffled, "way")
    assert sum(each.n_bursts for each in one.levels) == len(outcomes)
    assert [(each.level, each.n_frames, each.n_keepers) for each in one.levels] == [
        (each.level, each.n_frames, each.n_keepers) for each in other.levels
    ]
