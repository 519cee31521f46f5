from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from records.listed import BRITAIN, READ, region, species
from stillwing.records.grid import read_square
from stillwing.records.identify import identify
from stillwing.records.nearby import Nearby
from stillwing.records.placechances import SAYS_NOTHING, place_ratios
from stillwing.records.placefacts import KnownSquare
from stillwing.records.seen import Seen
from stillwing.records.statusweights import status_weights

SQUARE = read_square("TL45")
NAMES = [each.scientific_name for each in BRITAIN.species]
COUNTS = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 5000), max_size=20)


def ratios(counts, listed=(), pond=BRITAIN, area=None):
    told = place_ratios(pond, Nearby(SQUARE, counts, frozenset(listed)), area)
    return dict(zip([each.scientific_name for each in pond.species], told.tolist(), strict=True))


def mapped(**squares):
    return region(
        *(
            replace(
                species(name, status="common"),
                squares=tuple(KnownSquare(read_square(each), None, READ) for each in told),
            )
            for name, told in squares.items()
        )
    )


@settings(deadline=None, max_examples=60)
@given(COUNTS, st.sampled_from([None, "Ireland"]))
def test_a_place_adds_nothing_to_the_whole_list_and_rules_nobody_out(counts, area):
    weights = status_weights(BRITAIN, area)
    told = np.array(list(ratios(counts, area=area).values()))
    assert weights @ told / weights.sum() == pytest.approx(1.0)
    assert told.min() >= SAYS_NOTHING


@settings(deadline=None, max_examples=40)
@given(COUNTS, st.sampled_from(NAMES))
def test_one_more_record_of_a_species_speaks_for_it(counts, name):
    more = counts | {name: counts.get(name, 0) + 1}
    assert ratios(more)[name] > ratios(counts)[name]


def test_without_a_record_the_status_alone_holds():
    assert list(ratios({}).values()) == pytest.approx([1.0] * 43)


def test_records_as_the_status_tells_them_change_little():
    weights = status_weights(BRITAIN, None)
    as_told = {name: max(round(400 * share), 1) for name, share in zip(NAMES, weights / weights.sum(), strict=True)}
    told = ratios(as_told)
    common = [name for name, weight in zip(NAMES, weights, strict=True) if weight >= 0.5]
    assert all(0.8 < told[name] < 1.25 for name in common)


def test_few_records_say_little_and_many_say_much():
    few, many = ratios({"Aeshna grandis": 2}), ratios({"Aeshna grandis": 200})
    assert 0.8 < few["Aeshna cyanea"] < 1
    assert SAYS_NOTHING < many["Aeshna cyanea"] < 0.25
    assert many["Aeshna grandis"] > few["Aeshna grandis"] > 1


def test_one_record_of_a_rarity_may_be_a_mistake_and_ten_are_hardly_one():
    others = {"Aeshna grandis": 50, "Sympetrum striolatum": 60, "Ischnura elegans": 90}
    one, ten = (ratios({**others, "Aeshna isosceles": n})["Aeshna isosceles"] for n in (1, 10))
    assert ten > 12 * one


def test_where_all_are_alike_and_names_are_right_it_is_the_mean_of_the_dirichlet_law_by_hand(monkeypatch):
    monkeypatch.setattr("stillwing.records.placechances.WRONG_NAMES", 0.0)
    monkeypatch.setattr("stillwing.records.placechances.SAYS_NOTHING", 0.0)
    monkeypatch.setattr("stillwing.records.placechances.LIKE_ITS_AREA", 20.0)
    pond = region(species("Una"), species("Duo"), species("Tres"), species("Quattuor"))
    # (20/4 + 30) / (20 + 40) over 1/4, and so on.
    assert list(ratios({"Genus una": 30, "Genus duo": 10}, pond=pond).values()) == pytest.approx(
        [7 / 3, 1, 1 / 3, 1 / 3]
    )


def test_status_does_not_count_twice():
    """With very many records their shares hold, whatever the status says."""
    pond = region(species("Una", status="very rare"), species("Duo", status="very common"))
    seen = Seen(nearby=Nearby(SQUARE, {"Genus una": 5000, "Genus duo": 5000}))
    chances = {each.species.name: each.chance for each in identify(pond, seen).candidates}
    assert chances["Una"] == pytest.approx(0.5, abs=0.05)


# --- the pack's squares -------------------------------------------------------------------------------------------

EVERYWHERE = ("TL45", "TL46", "TL55", "TL56", "SU12", "SU13", "SU14", "SU15")


def test_a_square_that_lists_a_species_speaks_for_it_the_more_the_fewer_list_it():
    pond = mapped(Una=EVERYWHERE, Duo=("TL45",), Tres=EVERYWHERE[1:], Quattuor=("SU12",), Quinque=())
    told = ratios({}, ["Genus una", "Genus duo"], pond)
    assert told["Genus duo"] > told["Genus una"] > told["Genus quinque"]
    assert told["Genus quinque"] > told["Genus tres"] > told["Genus quattuor"] > SAYS_NOTHING


def test_a_square_without_any_species_says_nothing():
    pond = mapped(Una=("SU12", "SU13"), Duo=("SU12",), Tres=())
    assert list(ratios({}, [], pond).values()) == pytest.approx([1.0] * 3)


def test_records_of_one_s_own_outweigh_the_squares():
    pond = mapped(Una=EVERYWHERE, Duo=EVERYWHERE[1:])
    few, many = (ratios({"Genus duo": n, "Genus una": n}, ["Genus una"], pond) for n in (1, 1000))
    assert few["Genus una"] > 1.2 * few["Genus duo"]
    assert many["Genus una"] == pytest.approx(many["Genus duo"], rel=0.05)
