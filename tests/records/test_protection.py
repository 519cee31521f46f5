from dataclasses import replace

import pytest

from records.listed import BRITAIN, MEMORY, READ, species
from stillwing.animals.catalogue import Mark
from stillwing.records.placefacts import Origin, Protection
from stillwing.records.protection import protected, sensitive_words

ACT = Protection("Pond Act", "the county", MEMORY)
OTHER_ACT = Protection("Lake Act", "the kingdom", READ)
UNA = replace(species("Una", status="Common"), protections=(ACT, OTHER_ACT))


def test_the_protection_is_that_of_the_area_or_the_first_without_one():
    assert protected(UNA, "the county") is protected(UNA, None) is ACT
    assert protected(UNA, "the kingdom") is OTHER_ACT
    assert protected(UNA, "elsewhere") is None
    assert protected(species("Duo"), None) is None


def test_the_two_british_species_of_schedule_5_are_protected_in_great_britain_alone():
    told = {each.name: protected(each, "Great Britain") for each in BRITAIN.species}
    assert {name for name, law in told.items() if law} == {"Norfolk Hawker", "Southern Damselfly"}
    for law in filter(None, told.values()):
        assert law.law == "Wildlife and Countryside Act 1981, Schedule 5"
        assert law.origin.mark is Mark.MEMORY
    assert not any(protected(each, "Ireland") for each in BRITAIN.species)


@pytest.mark.parametrize(
    ("law", "told"),
    [
        (ACT, "Una is protected by law in the county (Pond Act, from memory)"),
        (replace(ACT, origin=READ), "Una is protected by law in the county (Pond Act)"),
        (
            replace(ACT, origin=Origin(Mark.READ_SECONDARY, "a list")),
            "Una is protected by law in the county (Pond Act, read at second hand)",
        ),
    ],
)
def test_a_protected_species_is_sensitive_and_says_how_that_is_known(law, told):
    assert sensitive_words(replace(UNA, protections=(law,)), "the county") == told


@pytest.mark.parametrize("word", ["Rare", "very rare"])
def test_a_rare_species_is_sensitive_where_it_is_rare(word):
    rare = species("Una", status=word)
    assert sensitive_words(rare, "the county") == f"Una is {word.lower()} in the county"
    assert sensitive_words(rare, "elsewhere") is None


@pytest.mark.parametrize("word", ["Scarce", "Local", "Very widespread", "Vagrant", None])
def test_other_species_are_not(word):
    assert sensitive_words(species("Una", status=word), "the county") is None


def test_the_law_goes_before_the_rarity():
    both = replace(species("Una", status="Rare"), protections=(ACT,))
    told = sensitive_words(both, "the county")
    assert told is not None and "protected by law" in told
