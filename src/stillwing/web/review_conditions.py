"""The part of the Review page where one types how one photographed."""

from dataclasses import dataclass

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.conditions import USUAL_CONDITIONS, conditions_of
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import trace

__all__ = ["ConditionsPart", "TypedCondition", "conditions_part"]


@dataclass(frozen=True, slots=True)
class TypedCondition:
    """One condition that is kept."""

    name: str
    word: str
    burst: str
    """Its name; empty where the condition holds for the whole outing."""
    burst_id: int | None


@dataclass(frozen=True, slots=True)
class ConditionsPart:
    """What is typed of one outing, and the form that types more."""

    outing_id: int
    outing: str
    typed: tuple[TypedCondition, ...]
    usual: tuple[tuple[str, tuple[str, ...]], ...]
    """Names with their usual words."""
    name: str
    """As it was sent, where it could not be kept."""
    word: str
    wrong: str


def conditions_part(
    book: FieldBook, outing: Outing, *, name: str = "", word: str = "", wrong: str = ""
) -> ConditionsPart:
    """Return what is typed of an outing; what could not be kept stands in the form again."""
    typed = tuple(
        TypedCondition(each, kept, "" if burst_id is None else trace(book, burst_id).name, burst_id)
        for burst_id, words in conditions_of(book, outing.id).items()
        for each, kept in words.items()
    )
    return ConditionsPart(outing.id, outing.name, typed, tuple(USUAL_CONDITIONS.items()), name, word, wrong)
