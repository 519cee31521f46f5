"""What to look at next: the characters ordered by how much an answer would tell."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Question", "information_bits", "ordered_questions"]

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Question:
    """A character that nobody has answered yet, and how much an answer is expected to tell of the species. [bit]"""

    character: str
    question: str
    states: tuple[str, ...]
    gain_bits: float


def information_bits(classes: Reals, answers: Reals) -> float:
    r"""Return the mutual information of the species and an answer.

    Parameters
    ----------
    classes : ndarray, shape (species, sex)
        Chances, sum 1.
    answers : ndarray, shape (species, sex, state)
        Chance of each answer, the errors of who answers counted in; sum 1 over the states.

    Returns
    -------
    float
        Never negative; at most the entropy of the species. [bit]

    Notes
    -----
    .. math:: I = \sum_{s,a} p(s) p(a|s) \log_2 \frac{p(a|s)}{p(a)}

    with :math:`p(a|s)` over both sexes. Among questions of one cost it is the one to ask first [1]_.

    References
    ----------
    .. [1] D. V. Lindley, "On a Measure of the Information Provided by an Experiment", Ann. Math. Statist. 27 (1956)
       986-1005, from memory.
    """
    joint = np.einsum("sx,sxa->sa", classes, answers)
    species, answer = joint.sum(axis=1, keepdims=True), joint.sum(axis=0, keepdims=True)
    apart = species * answer
    ratio = np.divide(joint, apart, out=np.ones_like(joint), where=(joint > 0) & (apart > 0))
    return max(float(np.sum(joint * np.log2(ratio))), 0.0)


def ordered_questions(
    classes: Reals, answers: Mapping[str, Reals], words: Mapping[str, tuple[str, tuple[str, ...]]]
) -> tuple[Question, ...]:
    """Return the questions, the one that tells most first.

    Parameters
    ----------
    classes : ndarray, shape (species, sex)
        Chances, sum 1.
    answers : mapping of str to ndarray, shape (species, sex, state)
        Chances of the answers to each open question, by its key.
    words : mapping of str to (str, tuple of str)
        The question and its states by the same key.
    """
    open_ones = (Question(key, *words[key], information_bits(classes, chances)) for key, chances in answers.items())
    return tuple(sorted(open_ones, key=lambda each: (-each.gain_bits, each.character)))
