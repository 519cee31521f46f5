from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from fieldbook.sightingstrategies import HAWKER, sightings
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.records.coarsening import COARSE_SIDE_M, coarsened, for_others
from stillwing.records.grid import square_at

WGS84 = Geod(ellps="WGS84")
PLACES = st.builds(
    Where, st.floats(-79, 83), st.floats(-180, 180), st.none() | st.floats(0.1, 3000), st.none(), st.just("Pond")
)
SIDES = st.sampled_from([1_000, 10_000, 100_000])
SECRET = replace(HAWKER, sensitive=True)


def test_a_sensitive_record_is_coarsened_by_default_and_says_so() -> None:
    given_away = for_others(SECRET)
    assert given_away == coarsened(SECRET, COARSE_SIDE_M)
    assert "10 km square TL25 of the National Grid of Great Britain" in given_away.generalized
    assert given_away.withheld == (
        "Exact coordinates, name of the place, pictures, remarks, other columns withheld to protect the place; the "
        "recorder holds them"
    )
    assert given_away.where.uncertainty_m > 7071.1 + 8.5  # half the diagonal of 10 km, and what was not known before
    assert given_away.where.precision_deg == 0.0001


def test_others_are_given_away_as_they_are() -> None:
    assert for_others(HAWKER) is HAWKER
    assert for_others(SECRET, None) is SECRET


@given(PLACES, SIDES)
@settings(deadline=None)
def test_the_truth_lies_within_the_uncertainty_that_is_told(where: Where, side_m: int) -> None:
    coarse = coarsened(replace(SECRET, where=where), side_m).where
    _, _, off_m = WGS84.inv(where.longitude, where.latitude, coarse.longitude, coarse.latitude)
    assert off_m + (where.uncertainty_m or 0) <= coarse.uncertainty_m


@given(PLACES, st.floats(0, 1), st.floats(0, 1))
@settings(deadline=None)
def test_places_of_one_square_cannot_be_told_apart(where: Where, east: float, north: float) -> None:
    square = square_at(where.latitude, where.longitude, 10_000)
    other = Where(where.latitude + 0.01 * north, where.longitude + 0.01 * east if where.longitude < 179 else 0.0)
    one, two = (coarsened(replace(SECRET, where=replace(place, uncertainty_m=5.0))) for place in (where, other))
    if square_at(other.latitude, other.longitude, 10_000).reference == square.reference:
        assert one.where == two.where
    else:
        assert one.generalized != two.generalized


@given(sightings(where=PLACES | st.builds(Where, name=st.just("Long Pond"))))
@settings(deadline=None)
def test_nothing_that_tells_the_place_is_left_and_once_is_enough(sighting: Sighting) -> None:
    coarse = coarsened(sighting)
    assert (coarse.pictures, coarse.remarks, coarse.others) == ((), "", ())
    assert "Pond" not in coarse.where.name
    assert coarse.generalized
    assert coarse.withheld
    assert coarsened(coarse) == coarse
    assert (coarse.id, coarse.when, coarse.count) == (sighting.id, sighting.when, sighting.count)


def test_an_uncertainty_that_nobody_knew_is_told() -> None:
    vague = replace(SECRET, where=Where(52.2053, -0.1218))
    assert "none was known before" in coarsened(vague).generalized


@pytest.mark.parametrize("side_m", [1_000, 2_000, 100_000])
def test_the_square_asked_for_is_the_square_told(side_m: int) -> None:
    assert f"{side_m // 1000} km square" in coarsened(SECRET, side_m).generalized
