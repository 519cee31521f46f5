import math

import pytest

from records.listed import BRITAIN, EYES, region, species
from stillwing.animals.catalogue import Group
from stillwing.errors import InputError, UnknownThing
from stillwing.optics.subject import Range
from stillwing.records.grid import read_square
from stillwing.records.nearby import Nearby
from stillwing.records.region import Shows
from stillwing.records.seen import Answer, Seen, chance_wrong, check_seen, colour_names

POND = region(species("Una", status="common"))


def nearby_with(name, n_records):
    return Nearby(read_square("TL45"), {name: n_records})


@pytest.mark.parametrize(
    ("seen", "told"),
    [
        (Seen(length_mm=Range(40.0, 30.0, 50.0)), "the length is 30 mm, between 40 and 50 mm; it rises"),
        (Seen(length_mm=Range(math.nan, 30.0, 50.0)), "it rises in that order"),
        (Seen(length_mm=Range(300.0, 300.0, 300.0)), "ends at 250 mm"),
        (Seen(group=Group.BIRD), "a bird was given"),
        (Seen(answers=(Answer("mood", ("good",)),)), 'no character is called "mood"; there are eye_colour'),
        (Seen(answers=(Answer("eye_colour", ("pink",)),)), 'eye_colour is never "pink"; it is blue; green; brown; red'),
        (Seen(answers=(Answer("eye_colour", ()),)), "eye_colour has 0 states"),
        (Seen(answers=(Answer("eye_colour", ("blue", "blue")),)), "name one or more, each once"),
        (Seen(answers=(Answer("eye_colour", ("blue",), 0.0),)), "the chance to err is 0; it lies between 0.02 and 0.5"),
        (Seen(answers=(Answer("eye_colour", ("blue",)),) * 2), "answered twice"),
        (
            Seen(nearby=nearby_with("Genus duo", 1)),
            'the records nearby are of "Genus duo", which the pack does not have',
        ),
        (Seen(nearby=nearby_with("Genus una", 0)), "a species nearby has 0 records; name those with 1 or more alone"),
        (Seen(colours={"blue": 0.5}), "the pack has neither abdomen_colour nor thorax_colour; leave the colours"),
    ],
)
def test_what_cannot_have_been_seen_is_refused_in_one_sentence(seen, told):
    with pytest.raises(InputError) as raised:
        check_seen(POND, seen)
    assert told in str(raised.value)
    assert not str(raised.value).endswith(".")


@pytest.mark.parametrize("shares", [{"blue": 1.2}, {"blue": -0.1}, {"blue": math.nan}, {"blue": 0.6, "black": 0.6}])
def test_shares_that_are_none_are_refused(shares):
    with pytest.raises(InputError, match="the shares of colours sum to"):
        check_seen(BRITAIN, Seen(colours=shares))


def test_a_word_that_the_pack_lacks_is_an_unknown_thing():
    with pytest.raises(UnknownThing, match='no body in the pack is "pink"; the colours are blue; powder blue;'):
        check_seen(BRITAIN, Seen(colours={"pink": 0.1}))


def test_nothing_seen_and_a_length_without_an_upper_end_are_taken():
    check_seen(POND, Seen())
    check_seen(POND, Seen(length_mm=Range(30.0, 33.0, math.inf), area="the county"))


def test_an_answer_s_own_chance_to_err_goes_before_the_usual():
    assert chance_wrong(Answer("eye_colour", ("blue",), 0.3), EYES) == 0.3
    assert chance_wrong(Answer("eye_colour", ("blue",)), EYES) == 0.15
    assert EYES.shows is Shows.COLOUR


def test_colours_are_those_of_the_body_each_once():
    names = colour_names(BRITAIN)
    assert {"blue", "powder blue", "black", "red"} <= set(names)
    assert "clear" not in names
    assert len(set(names)) == len(names)
    assert colour_names(POND) == ()


@pytest.mark.parametrize("wrong", [0.0, 1.0, -0.1, math.nan])
def test_neither_length_nor_colours_are_surely_right_or_surely_wrong(wrong):
    for seen in (Seen(length_wrong=wrong), Seen(colours_wrong=wrong)):
        with pytest.raises(InputError, match="neither is certain"):
            check_seen(POND, seen)
