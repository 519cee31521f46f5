"""What is typed of an animal, read."""

import math
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.cli.identifywords import answers_asked, day_asked, length_asked, region_asked
from stillwing.errors import InputError, UnknownThing
from stillwing.records.pack import pack_folders, region_named
from stillwing.records.seen import Answer

BRITAIN = region_named("britain-and-ireland", own=Path("none"))


@pytest.mark.parametrize(
    ("words", "length_mm"),
    [
        ("33-38", (33, 35.5, 38)),
        (" 33 – 38 mm ", (33, 35.5, 38)),
        ("35", (35, 35, 35)),
        ("33.5-", (33.5, 33.5, math.inf)),
        ("33.5-mm", (33.5, 33.5, math.inf)),
    ],
)
def test_a_length_is_one_figure_two_or_the_least(words, length_mm):
    assert tuple(length_asked(words)) == length_mm


@pytest.mark.parametrize("words", ["", "-38", "long", "33-38-40", "3,5", "33-38 cm", "٣٣", "9" * 5000])
def test_another_length_is_refused(words):
    with pytest.raises(InputError, match="write millimetres, such as 33-38"):
        length_asked(words)


@given(st.integers(100, 9000), st.integers(0, 999))
def test_the_middle_of_a_length_lies_between_its_ends(low, more):
    length_mm = length_asked(f"{low / 100}-{(low + more) / 100}")
    assert length_mm.low <= length_mm.likely <= length_mm.high


@pytest.mark.parametrize("words", ["abdomen colour=red", "abdomen_colour=red", " Abdomen  Colour = RED "])
def test_blanks_underscores_and_capitals_do_not_matter(words):
    assert answers_asked(BRITAIN, [words]) == (Answer("abdomen_colour", ("red",)),)


def test_several_states_are_one_answer():
    assert answers_asked(BRITAIN, ["leg colour=black and yellow, black"]) == (
        Answer("leg_colour", ("black and yellow", "black")),
    )


def test_an_unknown_character_names_those_there_are():
    with pytest.raises(UnknownThing, match='no character is called "tail"; there are abdomen_colour; abdomen_pattern'):
        answers_asked(BRITAIN, ["tail=long"])


def test_an_unknown_state_names_those_there_are():
    with pytest.raises(UnknownThing, match='leg_colour is never "purple"; it is black; black and yellow; brown'):
        answers_asked(BRITAIN, ["leg colour=black,purple"])


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (["abdomen red"], "write a character and its state"),
        (["leg colour=black", "leg_colour=pale"], "answered twice"),
    ],
)
def test_what_is_no_answer_is_refused(typed, sentence):
    with pytest.raises(InputError, match=sentence):
        answers_asked(BRITAIN, typed)


def test_a_day_is_read_and_another_word_refused():
    assert day_asked("2024-08-10") == date(2024, 8, 10)
    with pytest.raises(InputError, match="such as 2024-08-10"):
        day_asked("10.8.2024")


def test_a_list_is_named_by_key_or_folder_and_else_by_what_was_remembered():
    assert region_asked("south-east-australia").key == "south-east-australia"
    assert region_asked(None, "south-east-australia").key == "south-east-australia"
    assert region_asked("britain-and-ireland", "south-east-australia").key == "britain-and-ireland"
    assert region_asked(str(pack_folders()["britain-and-ireland"])).key == "britain-and-ireland"


def test_where_nothing_tells_the_list_those_there_are_are_named():
    with pytest.raises(InputError, match="--region: britain-and-ireland, south-east-australia"):
        region_asked(None)
    with pytest.raises(UnknownThing, match='no region is called "atlantis"; there are britain-and-ireland'):
        region_asked("atlantis")
