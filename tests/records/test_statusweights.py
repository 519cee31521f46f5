import pytest

from records.listed import AUSTRALIA, BRITAIN, region, species
from stillwing.records.statusweights import STATUS_WEIGHTS, status_told, status_weights


def test_all_words_of_the_published_status_are_known():
    assert {status.word.casefold() for each in BRITAIN.species for status in each.statuses} <= set(STATUS_WEIGHTS)


def test_the_rarer_word_weighs_less():
    order = ("very widespread", "widespread", "local", "scarce", "rare", "very rare", "vagrant")
    weights = [STATUS_WEIGHTS[word] for word in order]
    assert weights == sorted(weights, reverse=True)
    assert len(set(weights)) == len(weights)


def test_a_species_without_a_known_word_weighs_as_the_others_in_the_geometric_mean():
    pond = region(species("Una", status="Common"), species("Duo", status="Rare"), species("Tres", status="so so"))
    assert status_weights(pond, None) == pytest.approx([0.5, 0.04, (0.5 * 0.04) ** 0.5])


def test_where_nothing_is_told_all_weigh_alike():
    assert set(status_weights(AUSTRALIA, None)) == {1.0}
    assert len(set(status_weights(BRITAIN, "Ireland"))) == 1


def test_the_status_is_that_of_the_area_asked_for():
    una = species("Una", status="rare")
    assert status_told(una, None) is status_told(una, "the county") is una.statuses[0]
    assert status_told(una, "elsewhere") is None
