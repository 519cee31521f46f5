from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.listed import BLUES, BRITAIN, DARTERS, EYES, MEMORY, region, species, trait
from stillwing.records.region import Sex
from stillwing.records.traitchances import SEXES, answer_chances, like_its_kin, shown_in, state_chances

POND = region(
    species("Una", traits=[trait("blue", sex=Sex.MALE), trait("green;brown")]),
    species("Duo", traits=[trait("brown", origin=MEMORY)]),
    species("Tres", DARTERS),
    species("Quattuor", BLUES, traits=[trait("blue;green;brown;red")]),
)
SHOWN = shown_in(POND)["eye_colour"]


def test_the_flags_are_what_the_species_show_in_each_sex():
    for key, own in shown_in(BRITAIN).items():
        for number, each in enumerate(BRITAIN.species):
            for column, sex in enumerate(SEXES):
                told = {
                    state for state, flag in zip(own.character.states, own.shown[number, column], strict=True) if flag
                }
                assert told == set(each.states(key, sex))


def test_a_shown_state_shares_what_is_not_error_and_the_table_errs_too():
    chances = state_chances(SHOWN, 0.2)
    right = 0.8 * 0.99
    assert chances[0, 0] == pytest.approx([right, *[(1 - right) / 3] * 3])
    assert chances[0, 1] == pytest.approx([(1 - right) / 2, right / 2, right / 2, (1 - right) / 2])
    assert chances[1, 0, EYES.states.index("brown")] == pytest.approx(0.8 * 0.95)
    assert chances[3, 0] == pytest.approx([0.25] * 4)


def test_a_state_alone_is_an_answer_of_one():
    for key, own in shown_in(BRITAIN).items():
        chances = state_chances(own, 0.1)
        for k, state in enumerate(own.character.states):
            told = own.is_told
            assert chances[..., k][told] == pytest.approx(answer_chances(own, (state,), 0.1)[told]), key


@given(st.integers(1, 4), st.floats(0.02, 0.5))
def test_the_chances_of_all_answers_of_so_many_states_sum_to_one(n_states, wrong):
    total = sum(answer_chances(SHOWN, picked, wrong) for picked in combinations(EYES.states, n_states))
    assert total == pytest.approx(np.ones((4, 2)))


def test_a_wrong_state_beside_a_right_one_tells_less_against_than_two_wrong_ones():
    right, half, wrong = (
        answer_chances(SHOWN, picked, 0.1)[0, 1] for picked in (("green", "brown"), ("green", "red"), ("blue", "red"))
    )
    assert right > half > wrong > 0


def test_the_untold_are_like_their_family_then_suborder_then_all():
    chances = np.array([[0.1, 0.3], [0.5, 0.5], [9.0, 9.0], [0.7, 0.7]])
    told = np.array([[True, True], [True, True], [False, False], [True, True]])
    assert like_its_kin(chances, told, POND)[2] == pytest.approx([0.3, 0.4])
    assert like_its_kin(chances, told & np.array([[0], [0], [0], [1]], dtype=bool), POND)[:3] == pytest.approx(
        np.full((3, 2), 0.7)
    )


def test_a_sex_of_which_nothing_is_told_is_like_the_other():
    chances = np.array([[0.1, 9.0], [0.5, 9.0], [0.2, 9.0], [0.7, 9.0]])
    told = np.array([[True, False]] * 4)
    filled = like_its_kin(chances, told, POND)
    assert filled[:, 0] == pytest.approx(chances[:, 0])
    assert filled[:, 1] == pytest.approx([0.3, 0.3, 0.2, 0.7])


def test_what_is_told_of_nobody_tells_nothing():
    assert like_its_kin(np.zeros((4, 2)), np.zeros((4, 2), dtype=bool), POND) == pytest.approx(np.ones((4, 2)))
