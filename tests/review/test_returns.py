"""The chance of a return."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from stillwing.errors import InputError
from stillwing.review import returns as subject
from stillwing.review.intervals import End
from stillwing.review.returns import learn_returns

BACK, ELSEWHERE, CUT_OFF = End.HAPPENED, End.ELSEWHERE, End.CUT_OFF


def test_with_returns_only_the_chance_is_the_closed_form():
    # The integral over the share is Beta, the one over the rate Gamma: u = (T / (T + t))^R.
    lengths, gone = np.array([4, 9, 6, 5, 7, 8.0]), np.array([0.0, 5.0, 20.0, 40.0, 90.0])
    u = (lengths.sum() / (lengths.sum() + gone)) ** 6
    chance = learn_returns(lengths, [BACK] * 6).chance_back(gone)
    assert chance == pytest.approx(7 * u / (7 * u + 1), abs=0.001)


def test_one_return_leaves_the_chance_wide_open():
    u = 10 / (10 + 60)
    assert learn_returns([10.0], [BACK]).chance_back(60.0) == pytest.approx(2 * u / (2 * u + 1), abs=0.01)


def test_absences_cut_off_count_as_the_integral_says():
    lengths, ends = [5.0, 8.0, 3.0, 20.0, 11.0], [BACK, BACK, ELSEWHERE, CUT_OFF, CUT_OFF]

    def likelihood(share, rate):
        cut = np.prod([(1 - share) + share * np.exp(-rate * c) for c in (20.0, 11.0)])
        return share**2 * rate**2 * np.exp(-13 * rate) * (1 - share) * cut

    def integral(value):
        return dblquad(lambda share, x: likelihood(share, np.exp(x)) * value(share, np.exp(x)), -9, 3, 0, 1)[0]

    coming = integral(lambda share, rate: share * np.exp(-15 * rate))
    still = integral(lambda share, rate: 1 - share + share * np.exp(-15 * rate))
    hazard = integral(lambda share, rate: rate * share * np.exp(-15 * rate))
    known = learn_returns(lengths, ends)
    assert float(known.chance_back(15.0)) == pytest.approx(coming / still, abs=0.002)
    assert float(known.hazard_per_s(15.0)) == pytest.approx(hazard / still, rel=0.01)


def test_a_finer_grid_changes_nothing_that_is_shown(monkeypatch):
    lengths, ends = [5.0, 8.0, 30.0, 3.0, 20.0], [BACK, BACK, BACK, ELSEWHERE, CUT_OFF]
    gone = np.array([0.0, 10.0, 60.0, 300.0])
    coarse = learn_returns(lengths, ends).chance_back(gone)
    monkeypatch.setattr(subject, "N_GRID", 256)
    assert coarse == pytest.approx(learn_returns(lengths, ends).chance_back(gone), abs=0.002)


@given(
    st.lists(st.tuples(st.floats(0.1, 600.0), st.sampled_from(End)), min_size=1, max_size=20).filter(
        lambda seen: any(end is BACK for _, end in seen)
    )
)
def test_the_chance_and_the_rate_of_a_return_only_fall_while_it_is_gone(seen):
    known = learn_returns(*zip(*seen, strict=True))
    gone = np.geomspace(0.1, 3600.0, 30)
    for value in (known.chance_back(gone), known.hazard_per_s(gone)):
        assert (np.diff(value) <= 1e-12).all()
    chance = known.chance_back(gone)
    assert (chance >= 0.0).all()
    assert (chance <= 1.0).all()


def test_each_landing_elsewhere_lowers_the_chance():
    chances = [
        float(learn_returns([5.0, 8.0] + [4.0] * n, [BACK] * 2 + [ELSEWHERE] * n).chance_back(5)) for n in (0, 1, 4)
    ]
    assert chances == sorted(chances, reverse=True)
    assert len(set(chances)) == 3


def test_stated_chances_come_true_as_often_as_stated():
    # Animals drawn as the prior has them; the rate from a wide but proper part of it.
    rng = np.random.default_rng(7)
    told, came = [], []
    for _ in range(15000):
        share, rate = rng.uniform(), np.exp(rng.uniform(np.log(1 / 20000), np.log(2)))
        comes, times = rng.uniform(size=9) < share, rng.exponential(1 / rate, 9)
        watched = rng.exponential(200.0, 9)
        lengths, ends = [], []
        for i in range(8):
            is_seen = comes[i] and times[i] <= watched[i]
            lengths.append(times[i] if is_seen else watched[i])
            ends.append(BACK if is_seen else CUT_OFF)
        gone = rng.exponential(60.0)
        if BACK in ends and not (comes[8] and times[8] < gone):
            told.append(float(learn_returns(lengths, ends).chance_back(gone)))
            came.append(comes[8])
    told, came = np.array(told), np.array(came)
    for low, high in ((0.0, 0.1), (0.1, 0.4), (0.4, 0.7), (0.7, 0.85), (0.85, 1.0)):
        here = (told >= low) & (told < high)
        assert here.sum() > 40, low
        error = 3 * np.sqrt(told[here].mean() * (1 - told[here].mean()) / here.sum())
        assert came[here].mean() == pytest.approx(told[here].mean(), abs=error), low


@pytest.mark.parametrize(
    ("lengths", "ends", "sentence"),
    [
        ([5.0, 6.0], [CUT_OFF, ELSEWHERE], "no absence ended in a return"),
        ([], [], "no absence ended in a return"),
        ([5.0], [BACK, BACK], "1 lengths came with 2 ends"),
        ([-5.0], [BACK], "length"),
    ],
)
def test_what_tells_nothing_is_refused(lengths, ends, sentence):
    with pytest.raises(InputError, match=sentence):
        learn_returns(lengths, ends)
