"""Kept sightings in words."""

from dataclasses import fields, replace

import pytest

from fieldbook.sightingstrategies import HAWKER
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import TakenBack
from stillwing.fieldbook.sightingtime import read_when
from stillwing.records.filedwords import (
    PARTS,
    animals_words,
    changed_parts,
    kept_exact_words,
    place_words,
    step_words,
    when_words,
)


def test_all_that_is_known_of_the_animals_is_told_in_order() -> None:
    assert animals_words(HAWKER) == "2, male and female, teneral, tandem, flying"


def test_nothing_is_made_up_of_animals_of_which_nothing_is_told() -> None:
    assert animals_words(Sighting("Aeshna juncea", HAWKER.when, HAWKER.where)) == ""


def test_each_part_of_a_record_but_its_identity_has_a_name() -> None:
    assert set(PARTS) == {field.name for field in fields(Sighting)} - {"id"}


def test_parts_that_differ_are_named() -> None:
    assert changed_parts(HAWKER, replace(HAWKER, count=9, where=Where(name="Pond"))) == ("place", "number")
    assert changed_parts(HAWKER, HAWKER) == ()


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (Where(name="Long Pond"), "Long Pond"),
        (Where(-52.2053, 0.1218), "52.20530 S, 0.12180 E"),
        (Where(52.2053, 0.1218, 7100), "52.20530 N, 0.12180 E ± 7.1 km"),
    ],
)
def test_a_place_tells_what_is_known_of_it(where: Where, words: str) -> None:
    assert place_words(where) == words


def test_a_span_of_instants_tells_both() -> None:
    when = read_when("2024-07-06T14:30+01:00/2024-07-06T15:00+01:00")
    assert when_words(when) == "6 July 2024, 14:30 to 6 July 2024, 15:00"


def test_numbers_of_several_agree_with_their_words() -> None:
    assert kept_exact_words(1200).startswith("1,200 places are")
    assert step_words(TakenBack(0, 0, 0)) == ""
