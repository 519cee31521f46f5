import pytest

from stillwing.errors import InputError
from stillwing.place.position import Position, position_from


def test_a_latitude_that_only_a_longitude_can_be_is_told_as_swapped():
    with pytest.raises(InputError, match=r"latitude is 151\.2 deg; it must be -90 to 90; longitude and latitude seem"):
        Position(-33.9, 151.2)


@pytest.mark.parametrize(
    ("longitude", "latitude", "told"),
    [
        (0, 200, r"^latitude is 200 deg; it must be -90 to 90$"),
        (181, 0, "longitude is 181 deg"),
        (float("nan"), 0, "both must be numbers"),
        (0, float("inf"), "both must be numbers"),
    ],
)
def test_what_is_not_on_earth_is_refused(longitude, latitude, told):
    with pytest.raises(InputError, match=told):
        Position(longitude, latitude)


@pytest.mark.parametrize(("given", "same"), [(181.5, -178.5), (-190, 170), (180, 180), (-180, -180), (360, 0)])
def test_longitudes_that_run_on_mean_the_same_place(given, same):
    assert position_from(given, 10).longitude_deg == pytest.approx(same)


def test_words_say_which_half_of_the_earth():
    assert Position(-0.119, -52.205).words == "52.20500 S, 0.11900 W"
