import pytest
from sqlalchemy import text

from stillwing.animals.catalogue import Group
from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook.looks import Look, groups_of_bursts, keep_look, list_picked_last, look_of
from stillwing.fieldbook.traces import burst_summaries

from .invented import burst_of, listed_outing
from .write_stored_book import stored_look


@pytest.fixture
def burst_id(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2))
    return burst_summaries(book, outing.id)[0].id


def test_nothing_was_said_of_a_new_burst(book, burst_id):
    assert look_of(book, burst_id) == Look()


def test_what_was_said_is_kept_to_the_last_word(book, burst_id):
    keep_look(book, burst_id, stored_look(1))
    assert look_of(book, burst_id) == stored_look(1)


def test_what_is_said_later_takes_the_place_of_what_was_said(book, burst_id):
    keep_look(book, burst_id, stored_look(1))
    keep_look(book, burst_id, Look(sex="female"))
    assert look_of(book, burst_id) == Look(sex="female")
    keep_look(book, burst_id, Look())
    assert look_of(book, burst_id) == Look()


def test_an_answer_takes_the_place_of_the_one_before_and_can_be_taken_back():
    look = Look().answered("eye_colour", ("blue",)).answered("leg_colour", ("black",))
    assert look.answered("eye_colour", ("green",)).answers == (("leg_colour", ("black",)), ("eye_colour", ("green",)))
    assert look.answered("eye_colour", ()).answers == (("leg_colour", ("black",)),)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"sex": "both"}, 'the sex is "both"; it is any, male, female'),
        ({"most_tilt_deg": 81.0}, "a tilt of 81° was given; it lies between 0 and 80°"),
        ({"most_tilt_deg": float("nan")}, "a tilt of nan° was given"),
    ],
)
def test_what_cannot_be_said_is_refused(wrong, sentence):
    with pytest.raises(InputError, match=sentence):
        Look(**wrong)


def test_a_burst_that_is_not_there_has_no_look(book):
    with pytest.raises(UnknownThing, match="no burst number 7"):
        look_of(book, 7)
    with pytest.raises(UnknownThing, match="no burst number 7"):
        keep_look(book, 7, Look(sex="male"))


@pytest.mark.parametrize("document", ["{", "{}", '{"ends": [1, 2], "group": null, "answers": []}', '["x"]'])
def test_a_damaged_look_is_named(book, burst_id, document):
    keep_look(book, burst_id, stored_look(1))
    with book.writing() as connection:
        connection.execute(text("UPDATE burst_look SET document = :document"), {"document": document})
    with pytest.raises(FieldBookError, match=f"said of burst number {burst_id} cannot be used"):
        look_of(book, burst_id)


def test_the_list_picked_last_is_that_of_the_burst_said_something_of_last(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2), burst_of(photos, 2, first=9, minutes=5))
    first, second = (burst.id for burst in burst_summaries(book, outing.id))
    assert list_picked_last(book) == ""
    keep_look(book, second, Look(region="here"))
    keep_look(book, first, Look(region="there"))
    assert list_picked_last(book) == "there"
    keep_look(book, second, Look(sex="male"))
    assert list_picked_last(book) == "there"
    keep_look(book, second, Look(region="here", sex="male"))
    assert list_picked_last(book) == "here"


def test_groups_that_were_picked_are_told_by_burst(book, photos):
    outing = listed_outing(book, photos, burst_of(photos, 2), burst_of(photos, 2, first=9, minutes=5))
    first, second = (burst.id for burst in burst_summaries(book, outing.id))
    keep_look(book, first, Look(group=Group.DAMSELFLY))
    keep_look(book, second, Look(sex="male"))
    assert groups_of_bursts(book, [first, second]) == {first: Group.DAMSELFLY}
    assert groups_of_bursts(book, []) == {}
