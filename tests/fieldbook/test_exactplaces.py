"""A place that is kept exactly outlives files that tell less of it."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldbook.sightingstrategies import HAWKER, sightings
from stillwing.fieldbook.exactplaces import as_taken, tells_less
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.records.coarsening import coarsened

PLACES = st.builds(
    Where, st.floats(-79, 83), st.floats(-180, 180), st.none() | st.floats(0.1, 3000), st.none(), st.just("Pond")
)
SPOT = HAWKER.where


@given(sightings(where=PLACES | st.builds(Where, name=st.just("Long Pond"))))
@settings(deadline=None)
def test_ones_own_coarsened_record_changes_nothing(kept: Sighting) -> None:
    assert as_taken(kept, coarsened(kept)) == kept


@given(sightings(where=PLACES))
@settings(deadline=None)
def test_a_coarser_place_is_taken_where_that_is_asked_for(kept: Sighting) -> None:
    came = coarsened(kept)
    assert as_taken(kept, came, replaces_exact=True) is came


def test_what_others_changed_in_a_coarsened_record_is_taken_in() -> None:
    came = replace(coarsened(HAWKER), scientific_name="Aeshna subarctica", count=3, remarks="checked by photograph")
    taken = as_taken(HAWKER, came)
    assert (taken.scientific_name, taken.count, taken.remarks) == ("Aeshna subarctica", 3, "checked by photograph")
    assert (taken.where, taken.pictures, taken.others) == (SPOT, HAWKER.pictures, HAWKER.others)
    assert (taken.generalized, taken.withheld) == ("", "")


@pytest.mark.parametrize(
    ("where", "why"),
    [
        (Where(name="Long Pond"), "the coordinates are lost"),
        (Where(52.21, -0.12, name="Long Pond"), "the coordinates are rounded"),
        (Where(52.206, -0.122, 500, name="Long Pond"), "the spot is somewhere within 500 m"),
    ],
)
def test_a_place_that_tells_less_without_saying_so_is_known(where: Where, why: str) -> None:
    came = replace(HAWKER, where=where)
    assert tells_less(HAWKER, came), why
    assert as_taken(HAWKER, came).where == SPOT


@pytest.mark.parametrize(
    ("where", "why"),
    [
        (replace(SPOT, uncertainty_m=50.0), "the same spot with more doubt is a correction"),
        (replace(SPOT, name="Short Pond"), "another name of the place"),
        (Where(52.3, -0.2, 500, name="Far Pond"), "somewhere else"),
        (Where(52.20531, -0.12181, 2, name="Long Pond"), "told better"),
    ],
)
def test_another_place_that_is_no_coarser_is_taken(where: Where, why: str) -> None:
    came = replace(HAWKER, where=where)
    assert as_taken(HAWKER, came) is came, why


def test_a_finer_square_is_taken_in_place_of_a_coarse_one() -> None:
    kept, came = coarsened(HAWKER), coarsened(HAWKER, 1_000)
    assert as_taken(kept, came) is came


def test_a_coordinate_next_to_the_date_line_is_near_the_one_beyond_it() -> None:
    kept, came = Where(0.0, 179.9999, 5), Where(0.0, -179.9999, 500)
    assert tells_less(replace(HAWKER, where=kept), replace(HAWKER, where=came))
