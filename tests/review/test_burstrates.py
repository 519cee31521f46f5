"""What bursts tell of a rate, against the beta-binomial of another library and against draws of known laws."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import expit, logit
from scipy.stats import betabinom, binom
from scipy.stats import t as student

from stillwing.review import burstrates
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import burst_share, known_rate

BURSTS = st.lists(
    st.integers(1, 40).flatmap(lambda n: st.tuples(st.just(n), st.integers(0, n))), min_size=2, max_size=15
)


def limits(bursts, confidence=0.95):
    return known_rate(count_bursts([n for n, _ in bursts], [k for _, k in bursts])).limits(confidence)


# Pups alive after 21 days of those alive after 4, litter by litter: C. S. Weil 1970, Food Cosmet. Toxicol. 8:177, as
# D. A. Williams 1975, Biometrics 31:949 has it; from memory.
CONTROL = [(13, 13), (12, 12), (9, 9), (9, 9), (8, 8), (8, 8), (13, 12), (12, 11), (10, 9), (10, 9), (9, 8), (13, 11)]
CONTROL += [(5, 4), (7, 5), (10, 7), (10, 7)]
TREATED = [(12, 12), (11, 11), (10, 10), (9, 9), (11, 10), (10, 9), (10, 9), (9, 8), (9, 8), (5, 4), (9, 7), (7, 4)]
TREATED += [(10, 5), (6, 3), (10, 3), (7, 0)]


@pytest.mark.parametrize("litters", [CONTROL, TREATED])
def test_litters_are_told_as_greatest_likelihood_and_the_spread_between_them_have_it(litters):
    frames, kept = np.array(litters).T

    def unlikely(at):
        rate, sameness = expit(at)
        worth = (1 - sameness) / sameness
        return -betabinom.logpmf(kept, frames, rate * worth, (1 - rate) * worth).sum()

    likely = expit(minimize(unlikely, [1.0, -1.0], method="Nelder-Mead").x)
    told = known_rate(count_bursts(frames.tolist(), kept.tolist()))
    # A mean over all that is likely, not the likeliest.
    assert told.sameness == pytest.approx(likely[1], abs=0.06)
    # The robust interval of clustered counts, as generalised estimating equations with independence give it, on the
    # scale of log-odds, with Student's t for the few litters.
    share, n = kept.sum() / frames.sum(), len(litters)
    error = np.sqrt(((kept - share * frames) ** 2).sum() * n / (n - 1)) / frames.sum() / (share * (1 - share))
    wide = student.ppf(0.975, n - 1) * error
    low, high = expit(logit(share) - wide), expit(logit(share) + wide)
    limits_told = told.limits()
    assert limits_told.likely == pytest.approx(share)
    assert (limits_told.low, limits_told.high) == pytest.approx((low, high), abs=0.04)


def test_treated_litters_are_more_alike_within():
    control, treated = (known_rate(count_bursts(*zip(*litters, strict=True))) for litters in (CONTROL, TREATED))
    assert treated.sameness > control.sameness + 0.1
    assert treated.worth_frames < control.worth_frames


def test_bursts_of_one_frame_are_plain_counts():
    # Nothing can be alike within a burst of one: Jeffreys' interval, Brown, Cai and DasGupta 2001, Stat. Sci. 16:101.
    told = limits([(1, 1)] * 7 + [(1, 0)] * 13)
    plain = burst_share(count_bursts([1] * 20, [1] * 7 + [0] * 13))
    assert (told.low, told.high) == pytest.approx((plain.low, plain.high), abs=0.002)


def test_alike_frames_of_a_burst_tell_as_much_as_one_frame():
    told = known_rate(count_bursts([40] * 20, [40] * 8 + [0] * 12))
    assert told.sameness > 0.9
    assert 20 <= told.worth_frames <= 23
    one_each = limits([(1, 1)] * 8 + [(1, 0)] * 12)
    assert told.limits().high - told.limits().low == pytest.approx(one_each.high - one_each.low, rel=0.06)


def test_a_finer_grid_moves_no_end_by_more_than_it_says(monkeypatch):
    coarse = [limits([(10, 4), (8, 0), (10, 1), (12, 0)]), limits([(30, 2)] * 40), limits([(20, 0)] * 12)]
    angles = np.arange(4 * burstrates.N_GRID + 1) * (np.pi / 8 / burstrates.N_GRID)
    monkeypatch.setattr(burstrates, "GRID_EDGES", np.sin(angles) ** 2)
    fine = [limits([(10, 4), (8, 0), (10, 1), (12, 0)]), limits([(30, 2)] * 40), limits([(20, 0)] * 12)]
    for one, other in zip(coarse, fine, strict=True):
        assert (one.low, one.high) == pytest.approx((other.low, other.high), abs=0.002)


def test_few_bursts_with_nothing_kept_leave_much_open():
    none, all_kept = limits([(20, 0)] * 3), limits([(20, 20)] * 3)
    assert (none.likely, none.low, all_kept.likely, all_kept.high) == (0, 0, 1, 1)
    # 60 frames of their own would say at most 5 %, three bursts of one frame at most 63 % (rule of three).
    assert 0.1 < none.high < 0.632
    assert all_kept.low == pytest.approx(1 - none.high, abs=1e-6)


def test_share_of_bursts_holds_what_it_claims():
    # Summed over all that can happen, not drawn.
    for n in (3, 10, 30):
        ends = [burst_share(count_bursts([1] * n, [1] * k + [0] * (n - k))) for k in range(n + 1)]
        held = [
            sum(
                mass
                for mass, each in zip(binom.pmf(range(n + 1), n, p), ends, strict=True)
                if each.low <= p <= each.high
            )
            for p in np.linspace(0.02, 0.6, 59)
        ]
        assert np.mean(held) > 0.945
        assert min(held) > 0.86


@settings(max_examples=30, deadline=None)
@given(BURSTS, st.randoms())
def test_the_order_of_bursts_makes_no_difference(bursts, random):
    shuffled = list(bursts)
    random.shuffle(shuffled)
    one, other = limits(bursts), limits(shuffled)
    assert (one.likely, one.low, one.high) == pytest.approx((other.likely, other.low, other.high))


@settings(max_examples=30, deadline=None)
@given(BURSTS)
def test_an_interval_holds_the_share_and_widens_with_what_it_claims(bursts):
    narrow, wide = limits(bursts, 0.8), limits(bursts, 0.95)
    assert 0 <= wide.low <= narrow.low + 1e-9
    assert narrow.high <= wide.high + 1e-9 <= 1 + 1e-9
    assert wide.low - 0.002 <= wide.likely <= wide.high + 0.002


@settings(max_examples=30, deadline=None)
@given(BURSTS)
def test_twice_the_bursts_narrow_an_interval(bursts):
    one, twice = limits(bursts), limits(bursts * 2)
    assert twice.likely == pytest.approx(one.likely)
    assert twice.high - twice.low < one.high - one.low + 0.002


@settings(max_examples=30, deadline=None)
@given(BURSTS)
def test_bursts_swapped_for_what_was_left_give_the_other_side(bursts):
    kept, left = limits(bursts), limits([(n, n - k) for n, k in bursts])
    assert (left.low, left.high) == pytest.approx((1 - kept.high, 1 - kept.low), abs=1e-6)


def test_a_keeper_more_in_every_burst_gives_a_higher_interval():
    # From some kept to some left: bursts that are all misses tell less of what others would be than bursts alike.
    ends = [limits([(20, k)] * 8) for k in range(2, 20, 2)]
    assert all(a.low < b.low and a.high < b.high for a, b in itertools.pairwise(ends))


@pytest.mark.parametrize("law", ["two kinds", "beta"])
@pytest.mark.parametrize("sameness", [0.1, 0.3, 0.5])
@pytest.mark.parametrize("n_bursts", [2, 3, 5, 12])
def test_where_no_frame_was_kept_no_rate_is_left_out_that_is_likely_to_give_none(law, sameness, n_bursts):
    high, rate = limits([(12, 0)] * n_bursts).high, np.linspace(0.01, 0.99, 99)
    hit_rate = rate + sameness * (1 - rate)
    worth = (1 - sameness) / sameness
    none = {
        "two kinds": 1 - rate / hit_rate * (1 - (1 - hit_rate) ** 12),
        "beta": betabinom.pmf(0, 12, rate * worth, (1 - rate) * worth),
    }[law]
    assert (none**n_bursts)[rate > high].max() < 0.075


def test_where_no_frame_was_kept_the_rate_is_at_most_that_of_bursts_with_a_keeper():
    for n_bursts, names in ((1, ["a"]), (6, ["a"] * 6), (6, list("aabbcc")), (30, [str(at) for at in range(30)])):
        counts = count_bursts([12, 30, 4] * 10 if n_bursts == 30 else [12] * n_bursts, [0] * n_bursts, names)
        assert 0.5 * burst_share(counts).high < known_rate(counts).limits().high < burst_share(counts).high


def test_bursts_of_few_outings_tell_less_than_as_many_on_more():
    frames, kept = [12] * 24, [2, 4, 0, 3, 1, 2] * 4
    wide = []
    for n_outings in (1, 3, 8, 24):
        counts = count_bursts(frames, kept, [str(at % n_outings) for at in range(24)])
        told = known_rate(counts).limits()
        wide.append(told.high - told.low)
    assert wide == sorted(wide, reverse=True)
    assert wide[0] > 2 * wide[-1]


def test_outings_apart_widen_the_interval_and_outings_alike_do_not():
    outings = [name for name in "abcdefgh" for _ in range(4)]
    alike, apart = [3, 2, 4, 3] * 8, [0] * 16 + [6, 7, 5, 6] * 4
    told = [known_rate(count_bursts([12] * 32, kept, outings)) for kept in (alike, apart)]
    assert told[0].worth_frames > 200
    # Eight outings of two kinds are some ten looks; so far apart is thought unlikely beforehand.
    assert told[1].worth_frames < 25


def test_what_outings_share_drops_out_of_a_comparison():
    days = ["a"] * 4 + ["b"] * 4
    one = known_rate(count_bursts([12] * 8, [1, 2, 1, 0, 7, 6, 8, 5], days))
    same = known_rate(count_bursts([12] * 8, [3, 2, 4, 3, 9, 8, 9, 10], days))
    other = known_rate(count_bursts([12] * 8, [3, 2, 4, 3, 9, 8, 9, 10], [f"other {day}" for day in days]))
    assert one.beside(same).outing_concentration == pytest.approx(0.0)
    assert one.beside(other).outing_concentration == pytest.approx(one.outing_concentration)
    assert one.beside(same).worth_frames > 2 * one.worth_frames
    assert one.beside(same).limits().likely == one.limits().likely
