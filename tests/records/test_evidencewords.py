import math
from dataclasses import replace
from datetime import date

import pytest

from records.listed import BLUES, READ, species, trait
from stillwing.animals.catalogue import Group
from stillwing.optics.subject import Range
from stillwing.records.evidencewords import (
    character_words,
    colour_words,
    group_words,
    length_words,
    listed,
    place_words,
    season_words,
    sex_words,
    status_words,
)
from stillwing.records.grid import read_square
from stillwing.records.nearby import Nearby
from stillwing.records.placefacts import KnownSquare
from stillwing.records.region import Sex
from stillwing.records.seen import Answer

UNA = species(
    "Una",
    length=(60.0, 70.5),
    flight=("Late June", "September"),
    status="Rare",
    traits=[
        trait("blue", sex=Sex.MALE),
        trait("green;brown", sex=Sex.FEMALE),
        trait("blue;black", "abdomen_colour"),
        trait("black;green", "thorax_colour"),
    ],
)
DUO = species("Duo", BLUES)


@pytest.mark.parametrize(
    ("words", "una", "duo"),
    [
        (status_words(None), "rare in the county", "the pack does not tell how rare it is"),
        (
            season_words(date(2024, 8, 3)),
            "3 August is in its flight season, Late June to September",
            "3 August; the pack does not tell when it flies",
        ),
        (
            length_words(Range(55.0, 61.0, 66.0)),
            "61 mm (55 to 66) goes with its 60 to 70.5 mm",
            "61 mm (55 to 66); the pack does not tell its length",
        ),
        (
            group_words(Group.DRAGONFLY),
            "it looks like a dragonfly; this species is a dragonfly",
            "it looks like a dragonfly; this species is a damselfly",
        ),
        (
            character_words(Answer("eye_colour", ("blue",)), Sex.ANY),
            "eye colour: blue, as this species can show",
            "eye colour: blue; the pack does not tell its own",
        ),
        (
            colour_words({"blue": 0.2, "red": 0.5, "white": 0.0}, Sex.ANY),
            "measured 50 % red and 20 % blue; its body can be blue, black or green",
            "measured 50 % red and 20 % blue; the pack does not tell its colours",
        ),
    ],
)
def test_each_piece_says_what_was_seen_and_what_the_species_has(words, una, duo):
    assert (words(UNA), words(DUO)) == (una, duo)


@pytest.mark.parametrize(
    ("counts", "una", "duo"),
    [
        (
            {"Genus una": 12, "Genus tres": 128},
            "recorded 12 times within the 10 km square TL45, of 140 records of 2 species",
            "not among the 140 records of 2 species within the 10 km square TL45",
        ),
        (
            {"Genus una": 1},
            "recorded once within the 10 km square TL45, of 1 record of 1 species",
            "not among the 1 record of 1 species within the 10 km square TL45",
        ),
        (
            {"Genus una": 2, "Genus duo": 1},
            "recorded twice within the 10 km square TL45, of 3 records of 2 species",
            "recorded once within the 10 km square TL45, of 3 records of 2 species",
        ),
    ],
)
def test_a_place_says_how_often_a_species_was_recorded_there(counts, una, duo):
    words = place_words(Nearby(read_square("TL45"), counts))
    assert (words(UNA), words(DUO)) == (una, duo)


def test_a_place_says_what_the_pack_s_squares_tell():
    here = replace(UNA, squares=(KnownSquare(read_square("TL45"), None, READ),))
    away = replace(DUO, squares=(KnownSquare(read_square("SU12"), None, READ),))
    words = place_words(Nearby(read_square("TL45"), {}, frozenset({"Genus una"})))
    assert words(here) == "the pack knows it from the 10 km square TL45"
    assert words(away) == "the pack knows it from other squares, not from the 10 km square TL45"
    assert words(DUO) == "the pack does not tell from which squares it is known"
    both = place_words(Nearby(read_square("TL45"), {"Genus una": 3}, frozenset({"Genus una"})))
    start = "recorded 3 times within the 10 km square TL45, of 3 records of 1 species"
    assert both(here) == f"{start}; the pack knows it from there"
    assert both(away) == (
        "not among the 3 records of 1 species within the 10 km square TL45; "
        "the pack knows it from other squares, not from there"
    )
    assert both(DUO) == "not among the 3 records of 1 species within the 10 km square TL45"


def test_a_status_of_another_area_is_not_told():
    assert status_words("elsewhere")(UNA) == "the pack does not tell how rare it is in elsewhere"


def test_a_day_outside_the_season_is_said_to_be():
    assert season_words(date(2024, 12, 24))(UNA).startswith("24 December is outside its flight season")


@pytest.mark.parametrize(
    ("length_mm", "told"),
    [
        (Range(71.0, 75.0, 80.0), "75 mm (71 to 80) too long for its"),
        (Range(40.0, 45.0, 50.0), "45 mm (40 to 50) too short for its"),
        (Range(40.0, 45.0, math.inf), "40 mm or longer goes with its"),
        (Range(72.0, 75.0, math.inf), "72 mm or longer too long for its"),
    ],
)
def test_a_length_that_does_not_go_with_it_is_said_to_be(length_mm, told):
    assert length_words(length_mm)(UNA).startswith(told)


def test_a_state_of_the_other_sex_does_not_count():
    assert character_words(Answer("eye_colour", ("blue",)), Sex.FEMALE)(UNA) == (
        "eye colour: blue; this species shows green or brown"
    )


def test_the_sex_tells_which_traits_hold():
    assert sex_words(Sex.MALE)(UNA) == "taken for a male; its other traits are those of a male"


def test_words_are_listed_as_in_a_sentence():
    assert [listed(["a", "b", "c"][:n]) for n in range(4)] == ["", "a", "a and b", "a, b and c"]
