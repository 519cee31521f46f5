from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.listed import AUSTRALIA, BLUES, BRITAIN, READ, region, species, trait
from stillwing.animals.catalogue import Group
from stillwing.optics.subject import Range
from stillwing.records.grid import read_square
from stillwing.records.identify import CannotTell, identify
from stillwing.records.nearby import Nearby
from stillwing.records.placefacts import KnownSquare
from stillwing.records.questions import Question
from stillwing.records.region import Sex
from stillwing.records.seen import LINE_WRONG, Answer, Seen
from stillwing.records.verdict import cautions, chance_words, doubt_sentence, misfit_sentence, set_sentence

UNA = species("Una", traits=[trait("blue", sex=Sex.MALE), trait("green;brown", sex=Sex.FEMALE)])
DUO = species("Duo", BLUES, traits=[trait("red")])


@given(st.floats(0.0, 1.0))
def test_no_chance_is_said_to_be_none_or_certain(chance):
    told = chance_words(chance)
    assert told.endswith(" in 100")
    assert not told.startswith(("0", "100"))


@pytest.mark.parametrize(("chance", "told"), [(0.994, "over 99"), (0.99, "99"), (0.01, "1"), (0.009, "under 1")])
def test_chances_at_both_ends(chance, told):
    assert chance_words(chance) == f"{told} in 100"


def test_the_set_is_named_with_its_chance_and_condition():
    found = identify(BRITAIN, Seen(date(2024, 9, 20), length_mm=Range(67.0, 73.0, 80.0)))
    assert set_sentence(found).startswith("Brown Hawker, Southern Hawker or Common Hawker: 9")
    assert set_sentence(found).endswith(" in 100, if it is on the list")


def test_a_doubt_says_what_to_look_at_and_how_it_looks_in_each():
    eyes = Question("eye_colour", "What colour are the eyes?", ("blue", "green", "brown", "red"), 0.7)
    start = "cannot tell between Una and Duo from this picture"
    assert doubt_sentence(CannotTell(UNA, DUO, eyes)) == (
        f"{start}: look at the eye colour (Una: blue, green or brown; Duo: red)"
    )
    assert doubt_sentence(CannotTell(UNA, DUO, eyes), Sex.MALE).endswith("(Una: blue; Duo: red)")
    suborder = Question("suborder", "Is it a dragonfly or a damselfly?", ("dragonfly", "damselfly"), 0.7)
    assert doubt_sentence(CannotTell(UNA, DUO, suborder)) == (
        f"{start}: look at the suborder (Una: dragonfly; Duo: damselfly)"
    )
    assert doubt_sentence(CannotTell(UNA, DUO, None)) == f"{start}, and no character of the list tells them apart"


def test_a_character_that_the_pack_lacks_of_one_is_said_to_be_missing():
    eyes = Question("eye_colour", "What colour are the eyes?", ("blue", "red"), 0.7)
    assert "Tres: not in the pack" in doubt_sentence(CannotTell(UNA, species("Tres"), eyes))


def test_a_misfit_names_the_best_of_the_list_and_the_two_oddest_things():
    odd = Seen(
        date(2024, 1, 10), length_mm=Range(95.0, 105.0, 115.0), answers=(Answer("wing_colour", ("dark all over",)),)
    )
    told = misfit_sentence(identify(BRITAIN, odd))
    assert told is not None
    assert told.startswith("none of the 43 species of Britain and Ireland fits well; against the best of them, ")
    assert "105 mm (95 to 115) too long for its" in told
    assert "10 January is outside its flight season" in told


def test_an_animal_that_fits_gets_no_such_sentence():
    assert misfit_sentence(identify(BRITAIN, Seen(date(2024, 7, 14), group=Group.DRAGONFLY))) is None


def test_cautions_say_what_does_not_count_and_end_with_the_specialist():
    plain = cautions(identify(BRITAIN, Seen()))
    assert plain == (
        "where in the region a species lives is not in the pack and does not count",
        "how rare a species is holds for Great Britain",
        "a specialist verifies",
    )
    assert len(cautions(identify(BRITAIN, Seen(area="Great Britain")))) == 2
    ireland = cautions(identify(BRITAIN, Seen(area="Ireland")))
    assert "how rare the species are in Ireland is not in the pack; all count alike before anything is seen" in ireland
    answered = cautions(identify(BRITAIN, Seen(answers=(Answer("leg_colour", ("black",)),))))
    assert "characters in the pack are from memory or estimated, and may be wrong" in answered
    assert any("is not in the pack; all count alike" in told for told in cautions(identify(AUSTRALIA, Seen())))


def test_the_place_is_said_not_to_count_only_where_nothing_is_known_of_it():
    square = read_square("TL45")
    recorded = Nearby(square, {"Genus una": 3})
    mapped = region(replace(UNA, squares=(KnownSquare(square, None, READ),)), DUO)
    not_in_pack = "where in the region a species lives is not in the pack and does not count"
    told = {
        "nothing known": (region(UNA, DUO), Nearby(square, {}), not_in_pack),
        "place not told": (mapped, None, "where in the region a species lives does not count: the place is not told"),
        "not mapped": (
            mapped,
            Nearby(square, {}),
            "where in the region a species lives does not count: the pack lists nothing for the 10 km square TL45",
        ),
        "records": (
            region(UNA, DUO),
            recorded,
            "what was not recorded within the 10 km square TL45 may live there all the same",
        ),
    }
    for listed, known, sentence in told.values():
        assert cautions(identify(listed, Seen(nearby=known)))[0] == sentence


@pytest.mark.parametrize(("wrong", "told"), [(LINE_WRONG, False), (0.5, True)])
def test_a_length_whose_line_nobody_confirmed_is_said_to_be_doubted(wrong, told):
    seen = Seen(length_mm=Range(30.0, 33.0, 36.0), length_wrong=wrong)
    said = cautions(identify(region(UNA, DUO), seen))
    assert any("as if 50 in 100 such lines were of a wing" in each for each in said) is told


def test_characters_that_were_read_need_no_caution():
    pond = region(species("Una", traits=[trait("blue", origin=READ)]))
    told = cautions(identify(pond, Seen(answers=(Answer("eye_colour", ("blue",)),))))
    assert not any("from memory" in each for each in told)
