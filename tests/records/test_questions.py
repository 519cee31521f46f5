import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.records.questions import information_bits, ordered_questions

EVEN = np.full((4, 2), 1 / 8)


def both(answers):
    return np.repeat(np.asarray(answers, dtype=float)[:, None, :], 2, axis=1)


def entropy_bits(chances):
    chances = np.asarray(chances)[np.asarray(chances) > 0]
    return float(-(chances * np.log2(chances)).sum())


def test_four_species_alike_and_an_answer_for_each_is_two_bits():
    assert information_bits(EVEN, both(np.eye(4))) == pytest.approx(2.0)


@pytest.mark.parametrize("wrong", [0.02, 0.11, 0.3, 0.5])
def test_yes_or_no_with_errors_is_the_capacity_of_the_binary_symmetric_channel(wrong):
    # 1 - H(p): Shannon, Bell Syst. Tech. J. 27 (1948), from memory; 0.11 is known to leave one half.
    answers = both([[1 - wrong, wrong]] * 2 + [[wrong, 1 - wrong]] * 2)
    told = information_bits(EVEN, answers)
    assert told == pytest.approx(1 - entropy_bits([wrong, 1 - wrong]), abs=1e-12)
    assert wrong != 0.11 or told == pytest.approx(0.5, abs=1e-3)


def test_an_answer_that_tells_the_sex_alone_tells_nothing_of_the_species():
    answers = np.zeros((4, 2, 2))
    answers[:, 0, 0] = answers[:, 1, 1] = 1.0
    assert information_bits(EVEN, answers) == pytest.approx(0.0, abs=1e-12)


@given(st.integers(0, 10**6))
def test_information_is_never_more_than_the_species_are_unsure(seed):
    rng = np.random.default_rng(seed)
    classes = rng.dirichlet(np.full(10, 0.3)).reshape(5, 2)
    told = information_bits(classes, rng.dirichlet(np.full(4, 0.3), (5, 2)))
    assert -1e-12 <= told <= entropy_bits(classes.sum(axis=1)) + 1e-9


def test_it_is_what_the_species_become_less_unsure_on_average():
    rng = np.random.default_rng(3)
    classes, answers = rng.dirichlet(np.ones(10)).reshape(5, 2), rng.dirichlet(np.ones(3), (5, 2))
    after = 0.0
    for k in range(3):
        joint = (classes * answers[..., k]).sum(axis=1)
        after += joint.sum() * entropy_bits(joint / joint.sum())
    assert information_bits(classes, answers) == pytest.approx(entropy_bits(classes.sum(axis=1)) - after)


def test_the_question_that_tells_most_comes_first():
    answers = {"dull": both([[0.5, 0.5]] * 4), "sharp": both(np.eye(4))}
    words = {"dull": ("Dull?", ("yes", "no")), "sharp": ("Sharp?", ("a", "b", "c", "d"))}
    first, second = ordered_questions(EVEN, answers, words)
    assert (first.character, first.question, first.states) == ("sharp", "Sharp?", ("a", "b", "c", "d"))
    assert (second.character, second.gain_bits) == ("dull", 0.0)
