"""The questions on the page of an animal: those open, the one that tells most first, and the answers given."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.fieldbook.looks import SEXES
from stillwing.records.evidencewords import listed
from stillwing.records.identify import SUBORDER, SUBORDER_STATES, Identification
from stillwing.records.questions import Question
from stillwing.records.weightwords import gain_words
from stillwing.web.animal_address import address

__all__ = ["AnsweredView", "QuestionView", "Questions", "StateView", "questions_view"]

LEAST_SCALE_BITS = 1.0
"""The bars of what an answer would tell reach at least so far. [bit]"""
N_FIRST = 3
"""Questions that are open at once."""


@dataclass(frozen=True, slots=True)
class StateView:
    """One answer, and whether it was given."""

    state: str
    is_seen: bool


@dataclass(frozen=True, slots=True)
class QuestionView:
    """An open question."""

    character: str
    question: str
    states: tuple[StateView, ...]
    gain: str
    gain_width: float
    """Of a bar in a drawing of width 100."""
    skip_href: str
    """The page without this question."""


@dataclass(frozen=True, slots=True)
class AnsweredView:
    """A question that was answered; more states may be added to it."""

    character: str
    question: str
    states: tuple[StateView, ...]
    seen: str
    """The states that were seen, in words."""


@dataclass(frozen=True, slots=True)
class Questions:
    """All questions."""

    first: tuple[QuestionView, ...]
    more: tuple[QuestionView, ...]
    answered: tuple[AnsweredView, ...]
    skipped: tuple[QuestionView, ...]
    """What could not be seen; their ``skip_href`` asks again."""
    sexes: tuple[StateView, ...]


def questions_view(found: Identification, skipped: Sequence[str], base: str) -> Questions:
    """Return the questions.

    Parameters
    ----------
    found : Identification
    skipped : sequence of str
        Characters that cannot be seen in the picture.
    base : str
        Address of the page, without what is skipped.
    """
    scale_bits = max(LEAST_SCALE_BITS, *(one.gain_bits for one in found.questions), 0.0)

    def view(question: Question) -> QuestionView:
        key = question.character
        others = [one for one in skipped if one != key]
        return QuestionView(
            key,
            question.question,
            tuple(StateView(state, False) for state in question.states),
            f"{gain_words(question.gain_bits)}, {question.gain_bits:.1f} bit",
            round(100 * question.gain_bits / scale_bits, 1),
            address(base, others if key in skipped else [*others, key]),
        )

    shown = [view(one) for one in found.questions if one.character not in skipped]
    return Questions(
        tuple(shown[:N_FIRST]),
        tuple(shown[N_FIRST:]),
        _answered(found),
        tuple(view(one) for one in found.questions if one.character in skipped),
        tuple(StateView(sex, found.seen.sex == sex) for sex in SEXES),
    )


def _answered(found: Identification) -> tuple[AnsweredView, ...]:
    given = {answer.character: answer.states for answer in found.seen.answers}
    told = [
        _given(one.key, one.question, one.states, given[one.key]) for one in found.region.characters if one.key in given
    ]
    group = found.seen.group
    if group is None:
        return tuple(told)
    groups = tuple(one.value for one in SUBORDER_STATES)
    return (_given(SUBORDER, "Is it a dragonfly or a damselfly?", groups, (group.value,)), *told)


def _given(key: str, question: str, states: Sequence[str], seen: Sequence[str]) -> AnsweredView:
    shown = tuple(StateView(state, state in seen) for state in states)
    return AnsweredView(key, question, shown, listed([one.state for one in shown if one.is_seen]))
