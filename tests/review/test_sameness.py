"""How alike frames and bursts are, against the same model summed with scipy and against draws of known likeness."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta, betabinom

from stillwing.review import sameness
from stillwing.review.burstcounts import count_bursts
from stillwing.review.sameness import OUTING_SAMENESS, SAMENESS, burst_sameness, known_sameness


def expected_weight(frames, kept, outings):
    """Return the weight of each sameness, with scipy's laws on finer grids of rates."""
    rate = np.sin((np.arange(600) + 0.5) * (np.pi / 1200)) ** 2
    edges = np.sin(np.arange(601) * (np.pi / 1200)) ** 2
    middles = np.sin((np.arange(128) + 0.5) * (np.pi / 256)) ** 2
    weight = np.zeros((SAMENESS.size, OUTING_SAMENESS.size))
    for j, of_outings in enumerate(OUTING_SAMENESS):
        worth = (1 - of_outings) / of_outings
        likely = np.diff(beta.cdf(edges[:, None], middles * worth, (1 - middles) * worth), axis=0)
        for i, of_bursts in enumerate(SAMENESS):
            spread = (1 - of_bursts) / of_bursts
            evidence = np.ones(middles.size)
            for outing in set(outings):
                of_rate = np.ones(rate.size)
                for n, k, where in zip(frames, kept, outings, strict=True):
                    if where == outing:
                        of_rate *= betabinom.pmf(k, n, rate * spread, (1 - rate) * spread)
                evidence *= of_rate @ likely
            weight[i, j] = evidence.sum()
    return weight / weight.sum()


def test_sameness_is_learned_as_the_beta_binomial_of_scipy_has_it():
    burst = [12, 30, 5, 40, 22, 9], [0, 11, 1, 3, 0, 4], list("aabbcc")
    told = known_sameness(count_bursts(*burst))
    assert told == pytest.approx(expected_weight(*burst), abs=3e-4)


def test_outings_that_differ_are_told_from_outings_alike():
    alike = [3, 4, 3, 2, 4, 3, 3, 4, 2, 3, 4, 3]
    apart = [0, 0, 0, 0, 0, 0, 6, 7, 5, 6, 7, 7]
    outings = [name for name in "abcdef" for _ in range(2)]
    likely = [
        float(known_sameness(count_bursts([12] * 12, kept, outings)).sum(0) @ OUTING_SAMENESS)
        for kept in (alike, apart)
    ]
    assert likely[0] < 0.05 < 0.2 < likely[1]


def test_one_outing_tells_nothing_of_how_outings_differ():
    told = known_sameness(count_bursts([12] * 20, [2, 3] * 10, ["a"] * 20)).sum(0)
    # All but what its rate is likely to be: outings far apart have rates near 0 or 1 more often.
    assert told[:4] == pytest.approx(np.full(4, 1 / 8), abs=0.06)
    assert (told @ OUTING_SAMENESS) == pytest.approx(OUTING_SAMENESS.mean(), abs=0.05)


def test_frames_of_a_burst_are_never_less_alike_than_bursts_of_an_outing():
    assert (burst_sameness() >= OUTING_SAMENESS).all()
    assert (burst_sameness() < 1).all()


def test_a_finer_grid_tells_the_same(monkeypatch):
    counts = count_bursts([10, 8, 10, 12, 9], [4, 0, 1, 0, 2], ["a", "a", "b", "c", "c"])
    coarse = known_sameness(counts)
    for name, size in (("N_RATES", 160), ("N_MIDDLES", 80)):
        monkeypatch.setattr(sameness, name, size)
    for made in (sameness._outing_rates, sameness._logarithms):
        made.cache_clear()
    fine = known_sameness(counts)
    for made in (sameness._outing_rates, sameness._logarithms):
        made.cache_clear()
    assert coarse == pytest.approx(fine, abs=5e-4)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 12), st.sampled_from("abc")), min_size=1, max_size=10))
def test_kept_and_left_swapped_are_as_alike(bursts):
    kept, outings = [k for k, _ in bursts], [name for _, name in bursts]
    one = known_sameness(count_bursts([12] * len(kept), kept, outings))
    other = known_sameness(count_bursts([12] * len(kept), [12 - k for k in kept], outings))
    assert one.sum() == pytest.approx(1)
    assert one == pytest.approx(other, abs=1e-9)
