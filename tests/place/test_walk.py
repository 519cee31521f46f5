from itertools import pairwise

import numpy as np
import pytest
from pyproj import Geod
from shapely.geometry import LinearRing, Polygon

from stillwing.errors import InputError
from stillwing.place.local import LocalPlane
from stillwing.place.outline import Outline, Water
from stillwing.place.walk import WalkRules, ring_of_walk

from .waters import MIDDLE, circle, rectangle, ring_at

PLANE = LocalPlane(MIDDLE)


def walked(path_m, jitter_m=0.0, seed=1):
    """Return positions along a path as a receiver would tell them, one every 2 m or so."""
    path = np.asarray(path_m, float)
    line = np.concatenate([np.linspace(a, b, max(2, int(np.hypot(*(b - a)) / 2))) for a, b in pairwise(path)])
    return ring_at(line + np.random.default_rng(seed).normal(0, jitter_m, line.shape))


def area(ring):
    return Polygon(PLANE.to_metres(ring)).area


@pytest.mark.parametrize("seed", range(5))
def test_a_walk_with_jitter_gives_the_pond_back(seed):
    square = [*rectangle(120, 90), rectangle(120, 90)[0]]
    ring = ring_of_walk(walked(square, 1.0, seed))
    Outline((Water(ring),))  # it crosses itself nowhere
    assert area(ring) == pytest.approx(120 * 90, rel=0.05)
    edge = LinearRing([*rectangle(120, 90)])
    assert edge.hausdorff_distance(LinearRing(PLANE.to_metres(ring))) < 6
    assert len(ring) < 60  # of 210 points


def test_ends_that_nearly_meet_are_joined():
    ring = ring_of_walk(walked([*rectangle(120, 90), (-60, -30)]))
    assert area(ring) == pytest.approx(120 * 90, rel=0.01)


def test_a_line_that_ends_where_it_began_is_closed():
    square = rectangle(120, 90)
    assert area(ring_of_walk(ring_at([*square, square[0]]))) == pytest.approx(120 * 90, rel=1e-4)


def test_the_gap_of_a_walk_that_does_not_close_is_told_in_metres():
    path = walked(rectangle(120, 90))
    *_, gap = Geod(ellps="WGS84").inv(
        path[0].longitude_deg, path[0].latitude_deg, path[-1].longitude_deg, path[-1].latitude_deg
    )
    assert round(gap) == 90
    with pytest.raises(
        InputError, match=r"track 1 does not close: its ends lie 90 m apart, and up to 25 m are bridged"
    ):
        ring_of_walk(path, "track 1")
    assert area(ring_of_walk(path, "track 1", WalkRules(gap_m=100))) == pytest.approx(120 * 90, rel=0.01)


def test_the_way_home_is_cut_off():
    corners = rectangle(120, 90)
    path = [*corners, corners[0], (-100, -140)]
    assert area(ring_of_walk(walked(path))) == pytest.approx(120 * 90, rel=0.01)


def test_a_few_steps_about_the_start_are_no_lap():
    with pytest.raises(InputError, match="its ends lie 40 m apart"):
        ring_of_walk(ring_at([(0, 0), (22, 0), (0, 20), (35, 20)]))


def test_a_second_lap_is_melted_into_the_first():
    lap = [*rectangle(120, 90), rectangle(120, 90)[0]]
    once, twice = ring_of_walk(walked(lap, 1.0)), ring_of_walk(walked(lap + lap[1:], 1.0))
    assert area(twice) == pytest.approx(area(once), rel=0.05)


def test_a_figure_of_eight_is_refused_with_the_place_where_it_crosses():
    with pytest.raises(InputError, match=r"crosses itself near 52\.0\d+ N.*two loops of 5,000 and 5,000 m2"):
        ring_of_walk(walked([(0, 0), (100, 200), (0, 200), (100, 0), (0, 0)]))


@pytest.mark.parametrize(
    ("path", "told"),
    [
        ([(0, 0), (0, 0)], "has 1 different points; a walk round a water takes at least three"),
        ([(0, 0), (50, 0), (100, 0), (50, 0), (0, 0)], "encloses no water; it runs there and back"),
    ],
)
def test_walks_without_water_are_told(path, told):
    with pytest.raises(InputError, match=told):
        ring_of_walk(ring_at(path))


def test_a_smooth_bank_loses_few_corners_and_no_area():
    ring = ring_of_walk(ring_at([*circle(150, 400), circle(150, 400)[0]]))
    assert area(ring) == pytest.approx(np.pi * 150**2, rel=0.03)
    assert len(ring) < 40
