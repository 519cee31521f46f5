import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon, Polygon

from stillwing.place.bearings import towards
from stillwing.place.sightlines import sightlines

from .waters import circle, rectangle

POND = MultiPolygon([Polygon(rectangle(100, 60))])
BAY = [(0, 0), (100, 0), (100, 80), (60, 80), (60, 30), (40, 30), (40, 80), (0, 80)]


def first_stretch(water, start, bearing):
    """The same from general intersections: the pieces of a long line within the water, nearest first."""
    line = LineString([start, np.asarray(start) + 1e4 * towards(bearing)])
    pieces = [p for p in shapely.get_parts(line.intersection(water)) if p.length > 1e-9]
    ends = sorted(sorted(shapely.Point(start).distance(shapely.Point(c)) for c in p.coords) for p in pieces)
    return (ends[0][0], ends[0][-1]) if ends else (np.nan, np.nan)


@given(
    st.tuples(st.floats(-150, 150), st.floats(-150, 150)),
    st.lists(st.floats(0, 360), min_size=1, max_size=8),
    st.sampled_from(
        [
            POND,
            MultiPolygon([Polygon(BAY)]),
            MultiPolygon([Polygon(circle(80), [rectangle(20, 30)]), Polygon(rectangle(20, 20, 130))]),
        ]
    ),
)
def test_stretches_are_those_of_a_general_intersection(start, bearings, water):
    lines = sightlines(water, start, bearings)
    for bearing, enters, leaves in zip(bearings, lines.enters_m, lines.leaves_m, strict=True):
        expected = first_stretch(water, start, bearing)
        if not np.isnan(expected[0]) and expected[1] - expected[0] < 1e-3:
            continue  # a line that only grazes a corner
        np.testing.assert_allclose((enters, leaves), expected, atol=1e-5)


@given(st.floats(0, 360), st.floats(0.1, 50))
def test_rotation_and_scale_carry_over(by, scale):
    bearings = np.arange(0.0, 360.0, 7.0) + 0.123
    plain = sightlines(POND, (3.0, -35.0), bearings)
    east, north = towards(90 + by), towards(by)
    spun = [x * east * scale + y * north * scale for x, y in rectangle(100, 60)]
    start = (3.0 * east - 35.0 * north) * scale
    turned = sightlines(MultiPolygon([Polygon(spun)]), start, bearings + by)
    np.testing.assert_allclose(turned.leaves_m, plain.leaves_m * scale, rtol=1e-6, atol=1e-6)
    np.testing.assert_allclose(turned.enters_m, plain.enters_m * scale, rtol=1e-6, atol=1e-6)


def test_the_far_bank_of_a_pond_is_where_the_line_leaves_it():
    # From 2 m south of a pond 60 m long from south to north.
    lines = sightlines(POND, (0.0, -32.0), [0.0, 180.0, 90.0])
    np.testing.assert_allclose(lines.enters_m, [2.0, np.nan, np.nan])
    np.testing.assert_allclose(lines.leaves_m, [62.0, np.nan, np.nan])
    np.testing.assert_allclose(lines.over_water_m, [60.0, 0.0, 0.0])


def test_an_island_is_a_background():
    water = MultiPolygon([Polygon(circle(80), [rectangle(20, 30)])])
    assert float(sightlines(water, (0, -70.0), 0.0).leaves_m) == pytest.approx(55.0)


def test_a_line_through_corners_crosses_once():
    diamond = MultiPolygon([Polygon([(0, -10), (10, 0), (0, 10), (-10, 0)])])
    line = sightlines(diamond, (0.0, -15.0), 0.0)
    assert (float(line.enters_m), float(line.leaves_m)) == pytest.approx((5.0, 25.0))


def test_a_corner_that_is_only_grazed_is_passed_over():
    tip = Polygon([(-5, 9), (1e-4, 10), (-5, 11)])
    line = sightlines(MultiPolygon([tip, Polygon(rectangle(20, 20, 0, 30))]), (0.0, 0.0), 0.0)
    assert (float(line.enters_m), float(line.leaves_m)) == pytest.approx((20.0, 40.0))


def test_whoever_stands_in_the_water_is_over_it_at_once():
    line = sightlines(POND, (0.0, 0.0), 90.0)
    assert (float(line.enters_m), float(line.leaves_m)) == pytest.approx((0.0, 50.0))


def test_shapes_are_broadcast_and_no_water_is_no_stretch():
    assert sightlines(POND, np.zeros((4, 1, 2)), np.zeros(6)).leaves_m.shape == (4, 6)
    assert np.isnan(sightlines(MultiPolygon([]), (0.0, 0.0), 0.0).leaves_m)
