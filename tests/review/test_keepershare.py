"""One's own share of what the optics allow, drawn and found again."""

import numpy as np
import pytest

from stillwing.review.keepershare import HeldBurst, own_share
from stillwing.review.sameness import OUTING_SAMENESS


def season(rng: np.random.Generator, share: float, spread: float, n_outings: int) -> list[HeldBurst]:
    """Draw outings of 3 to 29 bursts by someone with a share, each outing with a form of its own."""
    bursts = []
    for outing in range(n_outings):
        form = share * np.exp(spread * rng.standard_normal() - spread**2 / 2)
        for expected in rng.uniform(0.4, 1.0, int(rng.integers(3, 30))):
            bursts.append(HeldBurst(str(outing), float(expected), bool(rng.random() < min(1.0, form * expected))))
    return bursts


@pytest.mark.parametrize("spread", [0.0, 0.25])
def test_a_share_of_six_tenths_is_found_again_in_nine_of_ten_books(spread: float) -> None:
    rng = np.random.default_rng(8)
    found = [own_share(season(rng, 0.6, spread, int(rng.integers(4, 16)))) for _ in range(40)]
    assert np.mean([told.low <= 0.6 <= told.high for told in found]) >= 0.9
    assert np.mean([told.likely for told in found]) == pytest.approx(0.6, abs=0.06)


def test_three_bursts_hardly_move_it_and_two_hundred_do() -> None:
    few = own_share([HeldBurst("June", 0.95, at > 0) for at in range(3)])
    assert few is not None and few.likely > 0.87 and few.low < 0.6
    many = own_share([HeldBurst(f"June {at % 10}", 0.95, at % 3 > 0) for at in range(210)])
    assert many is not None and many.likely == pytest.approx(0.7, abs=0.03)
    assert many.high - many.low < (few.high - few.low) / 2


def test_as_many_bursts_on_fewer_outings_tell_less() -> None:
    one, ten = (own_share([HeldBurst(str(at % n), 0.95, at % 3 > 0) for at in range(90)]) for n in (1, 10))
    assert one is not None and ten is not None
    assert one.high - one.low > ten.high - ten.low
    assert (one.n_outings, ten.n_outings, ten.n_bursts) == (1, 10, 90)


def test_more_misses_never_raise_it() -> None:
    shares = [own_share([HeldBurst(str(at % 5), 0.9, at >= missed) for at in range(40)]) for missed in range(0, 41, 8)]
    likely = [told.likely for told in shares if told is not None]
    assert likely == sorted(likely, reverse=True) and likely[0] > 0.99


def test_its_median_is_that_of_the_same_model_drawn_at_random() -> None:
    rng, n = np.random.default_rng(3), 400_000
    share = np.exp(np.where(rng.random(n) < 0.5, -0.22, 0.05) * rng.exponential(1.0, n))
    share = share[share < 1.25]
    sameness = rng.choice(OUTING_SAMENESS, share.size)
    worth, middle = (1 - sameness) / sameness, share / 1.25
    weight = np.ones(share.size)
    for sharp, missed in ((3, 4), (5, 1), (2, 2)):
        form = 1.25 * rng.beta(middle * worth, (1 - middle) * worth)
        chance = np.minimum(0.8 * form, 0.995)
        weight *= chance**sharp * (1 - chance) ** missed
    order = np.argsort(share)
    median = share[order][np.searchsorted(np.cumsum(weight[order]) / weight.sum(), 0.5)]
    bursts = [
        HeldBurst(name, 0.8, at < sharp)
        for name, sharp, missed in (("a", 3, 4), ("b", 5, 1), ("c", 2, 2))
        for at in range(sharp + missed)
    ]
    told = own_share(bursts)
    assert told is not None and told.likely == pytest.approx(float(median), abs=0.02)


def test_without_a_burst_there_is_no_share() -> None:
    assert own_share([], 12) is None
