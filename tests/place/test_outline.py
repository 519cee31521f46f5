import numpy as np
import pytest
from pyproj import Geod

from stillwing.errors import InputError
from stillwing.place.outline import Outline, Water, ring_without_repeats, water_on
from stillwing.place.position import Position

from .waters import circle, outline, rectangle, ring_at

GEOD = Geod(ellps="WGS84")


@pytest.mark.parametrize("middle", [(0.1, 52.0), (180.0, -16.8), (-179.99999, 66.0), (0.0, 89.99), (20.0, -89.995)])
def test_the_area_of_a_water_is_that_on_the_ellipsoid(middle):
    lake = outline(circle(400.0), middle=Position(*middle))
    rim = lake.waters[0].rim
    truth, _ = GEOD.polygon_area_perimeter([p.longitude_deg for p in rim], [p.latitude_deg for p in rim])
    # Near a pole a ring may run round it, where the area outside of it is told; the circle's own is the truth there.
    truth = abs(truth) if abs(middle[1]) < 89 else 72 / 2 * 400**2 * np.sin(2 * np.pi / 72)
    assert water_on(lake.plane, lake).area == pytest.approx(truth, rel=1e-4)


def test_islands_are_no_water():
    lake = outline(rectangle(100, 80), rectangle(10, 20))
    assert water_on(lake.plane, lake).area == pytest.approx(100 * 80 - 10 * 20, rel=1e-5)


def test_a_water_split_at_the_antimeridian_becomes_one():
    west = [Position(179.999, -17), Position(180, -17), Position(180, -16.999), Position(179.999, -16.999)]
    east = [Position(-180, -17), Position(-179.999, -17), Position(-179.999, -16.999), Position(-180, -16.999)]
    both = Outline((Water(tuple(west)), Water(tuple(east))))
    water = water_on(both.plane, both)
    assert len(water.geoms) == 1
    assert len(water.geoms[0].interiors) == 0


def test_rims_run_so_that_water_lies_on_the_left():
    lake = outline(list(reversed(rectangle(100, 80))), rectangle(10, 10))
    piece = water_on(lake.plane, lake).geoms[0]
    assert piece.exterior.is_ccw
    assert not piece.interiors[0].is_ccw


def test_where_an_outline_crosses_itself_is_told():
    with pytest.raises(InputError, match="from point 2 to 3 meets that from point 4 to 1; points go round") as told:
        outline([(0, 0), (100, 0), (0, 100), (100, 100)])
    crossing = ring_at([(50, 50)])[0]
    words = str(told.value).split("near ")[1].split(",")
    assert float(words[0].split()[0]) == pytest.approx(crossing.latitude_deg, abs=1e-5)
    assert float(words[1].split()[0]) == pytest.approx(crossing.longitude_deg, abs=1e-5)


def test_an_outline_that_runs_back_on_itself_crosses_itself():
    with pytest.raises(InputError, match="crosses itself near"):
        outline([(0, 0), (100, 0), (50, 0), (50, 80)])


@pytest.mark.parametrize(
    ("waters", "told"),
    [
        ((), "the outline is empty; it needs at least one"),
        ((Water(()),), "has 0 different points in a ring; it takes at least three"),
        ((Water(ring_at([(0, 0), (50, 0)])),), "has 2 different points in a ring"),
        ((Water(ring_at([(0, 0), (50, 0), (100, 0)])),), "its points lie on one line or in one place"),
        ((Water(ring_at(rectangle(10, 10))), Water(())), "water 2 of the outline has 0 different points"),
        (
            (Water((Position(0.1, 52), Position(0.1, 52.001), Position(52, 0.1))),),
            "longitude and latitude swapped in one",
        ),
        ((Water(ring_at(circle(26_000))),), "a site is up to 50 km across"),
        (
            (Water(ring_at(rectangle(90, 90)), (ring_at(rectangle(10, 10, 60)),)),),
            "an island that is not within its rim",
        ),
        (
            (Water(ring_at(rectangle(90, 90)), (ring_at(rectangle(10, 10)), ring_at(rectangle(10, 10, 5)))),),
            "has two islands that overlap, near",
        ),
        ((Water(ring_at(circle(5_000, 20_001))),), "has 20001 points; up to 20000 are taken"),
    ],
)
def test_what_is_no_outline_is_told_in_one_sentence(waters, told):
    with pytest.raises(InputError, match=told):
        Outline(waters)


def test_a_lake_of_49_km_is_a_site():
    assert outline(circle(24_500)).plane.middle.latitude_deg == pytest.approx(52, abs=0.01)


def test_points_told_twice_count_once():
    a, b, c = ring_at([(0, 0), (10, 0), (0, 10)])
    assert ring_without_repeats([a, a, b, c, c, a, a]) == (a, b, c)
    assert ring_without_repeats([]) == ()
