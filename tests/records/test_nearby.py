import random
from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldbook.sightingstrategies import sightings
from records.listed import AUSTRALIA, BRITAIN, READ, region, species
from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Establishment, Verification
from stillwing.records.grid import Grid, read_square, square_at
from stillwing.records.nearby import LeftOut, Nearby, area_at, nearby
from stillwing.records.placefacts import KnownSquare, Protection

LATITUDE, LONGITUDE = 52.2053, 0.1218
"""In the north of the 10 km square TL45."""
POND = region(replace(species("Una"), also=("Genus unum", "First One")), species("Duo"), species("Tres"))


def sighting(name="Genus una", latitude=LATITUDE, longitude=LONGITUDE, **more):
    when = more.pop("when", When(date(2024, 7, 6)))
    where = Where(latitude, longitude, more.pop("uncertainty_m", None))
    return Sighting(scientific_name=name, when=when, where=where, id=UUID(int=1), **more)


def at(*told, pond=POND, side_m=10_000):
    return nearby(pond, told, LATITUDE, LONGITUDE, side_m)


def known(reference, n_records=None):
    return KnownSquare(read_square(reference), n_records, READ)


def mapped(**squares):
    return region(
        *(replace(species(name), squares=tuple(known(*each) for each in told)) for name, told in squares.items())
    )


def test_records_within_the_square_are_counted_by_species():
    told = at(
        sighting(),
        sighting(when=When(date(2024, 7, 7))),
        sighting("Genus duo"),
        sighting(latitude=LATITUDE + 0.2),
        sighting(longitude=LONGITUDE - 0.15),
    )
    assert told.square.reference == "TL45"
    assert told.counts == {"Genus una": 2, "Genus duo": 1}
    assert (told.n_records, told.is_known, told.left_out) == (3, True, {})
    assert told.square_words == "the 10 km square TL45"


@pytest.mark.parametrize(
    "name", ["genus UNA", "Genus unum", "GENUS UNUM", "Genus una (Linnaeus, 1758)", "Genus una Ött, 1900"]
)
def test_other_names_and_other_letters_are_the_same_species(name):
    assert at(sighting(name)).counts == {"Genus una": 1}


@pytest.mark.parametrize("name", ["Genus", "Odonata", "Genus una or duo", "Genus una x duo", "Genus cf. una"])
def test_what_is_no_single_species_of_the_pack_is_left_out(name):
    assert at(sighting(name)).left_out == {LeftOut.UNLISTED: 1}


@pytest.mark.parametrize(
    ("left_out", "why"),
    [
        (sighting(count=0), LeftOut.NOT_FOUND),
        (sighting(verification=Verification.REFUTED), LeftOut.REFUTED),
        (sighting(verification=Verification.DOUBTED), LeftOut.DOUBTED),
        (sighting(qualifier="cf. una"), LeftOut.DOUBTED),
        (sighting(establishment=Establishment.RELEASED), LeftOut.BROUGHT),
        (sighting(uncertainty_m=12_000.0), LeftOut.TOO_COARSE),
        (replace(sighting(), where=Where(name="some pond")), LeftOut.NO_COORDINATES),
    ],
    ids=lambda value: value.name if isinstance(value, LeftOut) else "",
)
def test_what_tells_nothing_of_the_place_is_left_out_and_says_why(left_out, why):
    told = at(left_out, sighting("Genus duo"))
    assert told.counts == {"Genus duo": 1}
    assert told.left_out == {why: 1}


def test_a_record_made_as_coarse_as_the_square_counts_but_not_in_a_smaller_one():
    coarse = sighting(uncertainty_m=7_100.0)
    assert at(coarse).n_records == 1
    assert at(coarse, side_m=1_000).left_out == {LeftOut.TOO_COARSE: 1}


def test_the_same_species_at_the_same_place_and_day_counts_once():
    instant = When(datetime(2024, 7, 6, 9, 0, tzinfo=UTC))
    same = [sighting(), sighting(when=instant), sighting(latitude=LATITUDE + 0.0005)]
    told = at(*same, sighting(latitude=LATITUDE - 0.02), sighting(when=When(date(2024, 7, 6), date(2024, 7, 8))))
    assert told.counts == {"Genus una": 3}
    assert told.left_out == {LeftOut.REPEATED: 2}


def test_where_nothing_was_recorded_nothing_is_known():
    told = at(sighting(latitude=10.0))
    assert (told.counts, told.listed, told.n_records, told.is_known) == ({}, frozenset(), 0, False)


def test_a_side_that_the_grid_does_not_write_is_refused():
    with pytest.raises(InputError, match="a square of 5000 m is not written"):
        at(side_m=5_000)


@settings(max_examples=40, deadline=None)
@given(st.lists(sightings(), max_size=6), st.randoms(use_true_random=False), st.floats(-79, 83), st.floats(-179, 179))
def test_any_sightings_anywhere_are_counted_or_left_out_in_any_order(told, mixer, latitude, longitude):
    near = [replace(one, where=Where(latitude, longitude), scientific_name="Genus duo") for one in told]
    found = nearby(POND, [*told, *near], latitude, longitude)
    mixed = [*told, *near]
    mixer.shuffle(mixed)
    again = nearby(POND, mixed, latitude, longitude)
    assert again == replace(found, left_out=again.left_out)
    assert sum(again.left_out.values()) == sum(found.left_out.values())
    assert found.n_records + sum(found.left_out.values()) >= len(near)
    assert set(found.counts) <= {each.scientific_name for each in POND.species}


def test_an_order_of_thousands_matters_no_more():
    rng = random.Random(4)
    told = [
        sighting(rng.choice(["Genus una", "Genus duo"]), 52.2 + rng.uniform(-1, 1), 0.1 + rng.uniform(-1, 1))
        for _ in range(2000)
    ]
    inside = [
        one
        for one in told
        if square_at(one.where.latitude, one.where.longitude, 10_000, Grid.BRITISH).reference == "TL45"
    ]
    found = at(*told)
    assert len(inside) > 5
    assert found.n_records + found.left_out.get(LeftOut.REPEATED, 0) == len(inside)


# --- the pack's squares -------------------------------------------------------------------------------------------


def test_the_pack_lists_a_species_by_the_square_itself_a_larger_or_a_smaller_one():
    pond = mapped(
        Una=[("TL45",)], Duo=[("TL",)], Tres=[("TL45W",)], Quattuor=[("TL46",)], Quinque=[("TM",), ("SU4512",)], Sex=[]
    )
    assert at(pond=pond).listed == {"Genus una", "Genus duo", "Genus tres"}
    assert at(pond=pond).is_known


def test_a_square_of_another_grid_counts_by_its_place():
    mgrs = square_at(LATITUDE, LONGITUDE, 10_000, Grid.MGRS)
    assert at(pond=mapped(Una=[(mgrs.reference,)], Duo=[("31UCT00",)])).listed == {"Genus una"}


def test_the_pack_s_counts_come_from_squares_no_larger_and_the_larger_count_holds():
    pond = mapped(Una=[("TL45", 4)], Duo=[("TL", 900)], Tres=[("TL4558", 2), ("TL4459", 1)])
    assert at(sighting(), sighting("Genus duo"), pond=pond).counts == {"Genus una": 4, "Genus duo": 1, "Genus tres": 3}


# --- areas --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("latitude", "longitude", "area"),
    [
        (52.31, 0.28, "Great Britain"),
        (57.5, -4.2, "Great Britain"),
        (60.2, -1.2, "Great Britain"),
        (55.42, -5.6, "Great Britain"),  # Kintyre, where the Irish grid has letters too
        (53.35, -6.26, "Ireland"),
        (54.6, -5.9, "Ireland"),
        (55.29, -6.2, "Ireland"),  # Rathlin Island, where the national grid of Great Britain has letters too
        (54.2, -4.5, None),  # Isle of Man
        (49.2, -2.1, None),  # Jersey
        (50.95, 1.85, None),  # Calais
        (-37.8, 145.0, None),
    ],
)
def test_the_area_is_that_of_the_island(latitude, longitude, area):
    assert area_at(BRITAIN, latitude, longitude) == area


def test_a_pack_that_tells_of_neither_island_has_no_area_there():
    assert area_at(AUSTRALIA, 52.31, 0.28) is None
    assert area_at(region(species("Una", status="rare")), 52.31, 0.28) is None
    law = replace(species("Una"), protections=(Protection("an Act", "Ireland", READ),))
    assert area_at(region(law), 53.35, -6.26) == "Ireland"


def test_a_place_without_records_or_squares_can_be_told_by_hand():
    told = Nearby(read_square("SU4512"), {"Genus una": 3})
    assert (told.n_records, told.is_known, told.square_words) == (3, True, "the 1 km square SU4512")
