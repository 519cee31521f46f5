import pytest
from pyproj import Geod

from stillwing.place.doubts import doubt_about_place, town_of_zone
from stillwing.place.position import Position


@pytest.mark.parametrize(
    ("longitude", "latitude", "zone", "question"),
    [
        (52.2, 0.1, "Europe/London", "were longitude and latitude swapped?"),
        (0.1, -52.2, "Europe/London", "does its latitude lack a minus sign"),
        (122.4, 37.8, "America/Los_Angeles", "does its longitude lack a minus sign"),
        (151.2, 33.9, "Australia/Sydney", "does its latitude lack a minus sign"),
        (58.4, 34.6, "America/Argentina/Buenos_Aires", "do both its figures lack a minus sign"),
    ],
)
def test_a_usual_mistake_is_asked_about(longitude, latitude, zone, question):
    doubt = doubt_about_place(Position(longitude, latitude), zone)
    assert question in doubt
    town = town_of_zone(zone)
    *_, metres = Geod(ellps="WGS84").inv(longitude, latitude, town.longitude_deg, town.latitude_deg)
    assert f"{metres / 1000:,.0f} km from" in doubt


@pytest.mark.parametrize(
    ("longitude", "latitude", "zone"),
    [
        (0.1, 52.2, "Europe/London"),
        (-3.2, 58.9, "Europe/London"),
        (76.0, 39.5, "Asia/Shanghai"),  # the far west keeps the time of the east
        (179.9, -16.8, "Pacific/Fiji"),
        (-179.9, -16.8, "Pacific/Fiji"),
        (10.0, 50.0, "America/Chicago"),  # far away, but no usual mistake: a journey with a watch not set
        (52.2, 0.1, "UTC"),
    ],
)
def test_nothing_else_is_doubted(longitude, latitude, zone):
    assert doubt_about_place(Position(longitude, latitude), zone) == ""


def test_towns_lie_where_the_table_of_zones_has_them():
    # zone1970.tab of the time zone database: +513030-0000731 for Europe/London.
    london = town_of_zone("Europe/London")
    assert london.latitude_deg == pytest.approx(51.508333, abs=1e-6)
    assert london.longitude_deg == pytest.approx(-0.125278, abs=1e-6)
    assert town_of_zone("Nowhere/At_All") is None
