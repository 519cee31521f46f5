"""A place in one field: coordinates and references, and what their writing leaves open."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.place.position import Position
from stillwing.records.grid import Grid, square_at
from stillwing.records.typedplace import distance_words, read_place


@pytest.mark.parametrize("text", ["TL 45 58", "tl4558", " TL4558 "])
def test_a_reference_is_the_middle_of_its_square_and_as_uncertain_as_it_is_large(text: str) -> None:
    place = read_place(text)
    # Half the diagonal of 1 km is 707.1 m; the change of datum may add 5 m, and the grid's scale 0.3 m.
    assert place.square is not None and place.square.grid is Grid.BRITISH
    assert place.uncertainty_m == pytest.approx(712.5, abs=1)
    assert place.told.startswith("understood as the 1 km square TL 45 58 of the National Grid of Great Britain")


@pytest.mark.parametrize(
    ("text", "grid"), [("O 159 346", Grid.IRISH), ("N 123 456", Grid.IRISH), ("31U CT 059 878", Grid.MGRS)]
)
def test_the_letters_tell_the_grid(text: str, grid: Grid) -> None:
    square = read_place(text).square
    assert square is not None and (square.grid, square.side_m) == (grid, 100)


@pytest.mark.parametrize(
    ("text", "latitude", "longitude", "least_m"),
    [
        # Half a step each way of 111.3 km to a degree of latitude, and 0.613 of it of longitude at 52.2 degrees.
        ("52.2053, 0.1218", 52.2053, 0.1218, 6.6),
        ("52.2, 0.1", 52.2, 0.1, 6548),
        ("52.2053 N 0.1218 W", 52.2053, -0.1218, 6.6),
        ("0°7'12''W 52°12'18\"N", 52.205, -0.12, 18.2),
        ("52°12.3'N 0°7.2'W", 52.205, -0.12, 109),
        ("52 N, 1 W", 52.0, -1.0, 65_000),
    ],
)
def test_coordinates_are_as_fine_as_their_last_figure(
    text: str, latitude: float, longitude: float, least_m: float
) -> None:
    place = read_place(text)
    assert (place.latitude, place.longitude) == pytest.approx((latitude, longitude), abs=1e-9)
    assert place.least_uncertainty_m == pytest.approx(least_m, rel=0.06)
    assert (place.square, place.uncertainty_m) == (None, None)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("by the pond", "is no place that can be read; write latitude and longitude such as 52.2053"),
        ("", "is no place that can be read"),
        ("TL 45 5", "groups of 2 and 1 figures"),
        ("95, 3", "seem to be swapped"),
        ("1", "is no point"),
    ],
)
def test_what_is_no_place_is_told(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_place(text)


@given(st.floats(-79, 83), st.floats(-179.9, 179.9), st.sampled_from([10, 100, 1000, 10_000]))
def test_the_place_is_never_farther_than_is_told(latitude: float, longitude: float, side_m: int) -> None:
    place = read_place(square_at(latitude, longitude, side_m, Grid.MGRS).spaced)
    assert place.uncertainty_m is not None and place.square is not None
    assert place.uncertainty_m >= place.square.uncertainty_m > side_m / 2
    assert Position(place.longitude, place.latitude)


def test_distances_keep_three_digits() -> None:
    assert [distance_words(one) for one in (0.66, 9.94, 713.2, 70_744.0)] == ["0.66 m", "9.9 m", "713 m", "70.7 km"]
