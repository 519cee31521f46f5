import pytest

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.conditions import conditions_of, drop_condition, type_condition
from stillwing.fieldbook.traces import burst_summaries

from .invented import burst_of, listed_outing


@pytest.fixture
def outing(book, photos):
    return listed_outing(book, photos, burst_of(photos / "a", 2), burst_of(photos / "b", 2, first=50, minutes=5))


@pytest.fixture
def bursts(book, outing):
    return [one.id for one in burst_summaries(book, outing.id)]


def test_conditions_are_kept_for_the_outing_and_for_single_bursts(book, outing, bursts):
    type_condition(book, outing.id, "Support", " long   tripod ")
    type_condition(book, outing.id, "stance", "seated", burst_id=bursts[1])
    assert conditions_of(book, outing.id) == {None: {"support": "long tripod"}, bursts[1]: {"stance": "seated"}}


def test_what_is_typed_again_takes_the_place_of_what_was_typed(book, outing):
    type_condition(book, outing.id, "support", "hand")
    type_condition(book, outing.id, "SUPPORT", "tripod")
    assert conditions_of(book, outing.id) == {None: {"support": "tripod"}}


def test_a_condition_can_be_forgotten(book, outing, bursts):
    type_condition(book, outing.id, "support", "hand")
    type_condition(book, outing.id, "support", "tripod", burst_id=bursts[0])
    drop_condition(book, outing.id, "Support")
    drop_condition(book, outing.id, "never typed")
    assert conditions_of(book, outing.id) == {bursts[0]: {"support": "tripod"}}


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("  ", "hand", "the condition's name has 0 signs"),
        ("support", "", "the condition's word has 0 signs"),
        ("support", "x" * 61, "the condition's word has 61 signs; it has 1 to 60"),
    ],
)
def test_conditions_without_words_are_refused(book, outing, name, value, sentence):
    with pytest.raises(InputError, match=sentence):
        type_condition(book, outing.id, name, value)


def test_conditions_of_what_is_not_there_are_refused(book, outing):
    with pytest.raises(UnknownThing, match="no outing number 9"):
        type_condition(book, 9, "support", "hand")
    with pytest.raises(UnknownThing, match=f"outing number {outing.id} holds no burst number 99"):
        drop_condition(book, outing.id, "support", burst_id=99)
