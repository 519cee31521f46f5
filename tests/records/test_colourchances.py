import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from records.listed import BRITAIN
from stillwing.records.colourchances import EFFECTIVE_PATCHES, STEADINESS, colour_chances, expected_shares
from stillwing.records.seen import colour_names
from stillwing.records.traitchances import shown_in

SHOWN = shown_in(BRITAIN)
NAMES = colour_names(BRITAIN)
NUMBER = {each.name: number for number, each in enumerate(BRITAIN.species)}


def test_expected_shares_sum_to_one_and_leave_no_colour_out():
    shares, told = expected_shares(BRITAIN, SHOWN)
    assert told.all()
    assert shares.sum(axis=-1) == pytest.approx(np.ones(told.shape))
    assert shares.min() > 0


def test_the_law_is_the_dirichlet_multinomial_up_to_a_factor_that_no_species_changes():
    counts = np.zeros(len(NAMES), dtype=int)
    counts[[NAMES.index("red"), NAMES.index("black")]] = 4, 2
    own, any_colours = colour_chances(
        BRITAIN, SHOWN, {"red": 4 / EFFECTIVE_PATCHES, "black": 2 / EFFECTIVE_PATCHES}, 0.0
    )
    shares, _ = expected_shares(BRITAIN, SHOWN)
    other = [stats.dirichlet_multinomial.pmf(counts, STEADINESS * each, 6) for each in shares.reshape(-1, len(NAMES))]
    even = stats.dirichlet_multinomial.pmf(counts, np.full(len(NAMES), STEADINESS / len(NAMES)), 6)
    assert own.ravel() / any_colours == pytest.approx(np.array(other) / even, rel=1e-9)


def test_of_doubted_colours_the_doubted_share_says_nothing():
    (sure, anything), (doubted, same) = (colour_chances(BRITAIN, SHOWN, {"red": 1.0}, wrong) for wrong in (0.0, 0.5))
    assert same == anything
    assert doubted == pytest.approx(0.5 * sure + 0.5 * anything)


def test_a_red_body_goes_with_a_red_darter_and_a_blue_one_does_not():
    red, _ = colour_chances(BRITAIN, SHOWN, {"red": 0.8, "black": 0.2})
    blue, _ = colour_chances(BRITAIN, SHOWN, {"blue": 0.8, "black": 0.2})
    darter = NUMBER["Ruddy Darter"]
    assert red[darter, 0] > 4 * blue[darter, 0]


def test_a_colour_like_it_tells_less_against_than_another():
    like, other = (
        colour_chances(BRITAIN, SHOWN, {name: 1.0})[0][NUMBER["Keeled Skimmer"], 0] for name in ("blue", "red")
    )
    assert like > other


@given(st.dictionaries(st.sampled_from(NAMES), st.floats(0.0, 1.0), max_size=5))
def test_no_colours_rule_a_species_out(shares):
    total = max(sum(shares.values()), 1.0)
    chances, _ = colour_chances(BRITAIN, SHOWN, {name: share / total for name, share in shares.items()})
    assert np.isfinite(chances).all()
    assert chances.min() > 0
