import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import Geod, Proj

from stillwing.errors import InputError
from stillwing.place.local import LocalPlane, middle_of
from stillwing.place.position import Position

GEOD = Geod(ellps="WGS84")
middles = st.builds(Position, st.floats(-180, 180), st.floats(-90, 90))
offsets = st.floats(-5000, 5000)


@given(middles, offsets, offsets, offsets, offsets)
def test_distances_over_five_kilometres_are_right_to_one_in_ten_thousand(middle, x1, y1, x2, y2):
    # Between two points neither of which is the middle; the truth is the geodesic on the ellipsoid.
    one, other = LocalPlane(middle).to_positions([(x1, y1), (x2, y2)])
    *_, truth = GEOD.inv(one.longitude_deg, one.latitude_deg, other.longitude_deg, other.latitude_deg)
    assert np.hypot(x2 - x1, y2 - y1) == pytest.approx(truth, rel=1e-4, abs=0.01)


@given(middles, offsets, offsets)
def test_there_and_back_is_the_same_point(middle, x, y):
    plane = LocalPlane(middle)
    np.testing.assert_allclose(plane.to_metres(plane.to_positions([(x, y)]))[0], (x, y), atol=1e-4)


@pytest.mark.parametrize("middle", [(0.1, 52.0), (179.9999, -16.8), (18.9, 78.2), (-70.0, -33.0)])
def test_the_map_is_the_azimuthal_equidistant_one(middle):
    proj = Proj(proj="aeqd", lon_0=middle[0], lat_0=middle[1], datum="WGS84")
    xy = np.array([(1200.0, -3400.0), (-20.0, 5.0), (4000.0, 4000.0)])
    lonlat = np.array([(p.longitude_deg, p.latitude_deg) for p in LocalPlane(Position(*middle)).to_positions(xy)])
    expected = np.stack(proj(xy[:, 0], xy[:, 1], inverse=True), axis=-1)
    np.testing.assert_allclose((lonlat - expected + 180) % 360 - 180, 0, atol=1e-9)


@pytest.mark.parametrize("middle", [Position(0.1, 52.0), Position(25.0, 80.0), Position(-60.0, -45.0)])
def test_true_north_away_from_the_middle_lies_where_a_step_north_leads(middle):
    plane = LocalPlane(middle)
    here = np.array([[3000.0, 2000.0]])
    at = plane.to_positions(here)[0]
    step = plane.to_metres([Position(at.longitude_deg, at.latitude_deg + 1e-4)])[0] - here[0]
    assert float(plane.convergence_deg(here)[0]) == pytest.approx(np.degrees(np.arctan2(*step)), abs=1e-3)
    assert float(plane.convergence_deg([(0, 0)])[0]) == 0


def test_the_middle_is_found_across_the_antimeridian_and_round_the_pole():
    across = middle_of([Position(179.9, -17), Position(-179.9, -17)])
    assert abs(across.longitude_deg) == pytest.approx(180)
    assert across.latitude_deg == pytest.approx(-17, abs=1e-4)
    round_pole = middle_of([Position(longitude, 89.9) for longitude in (0, 90, 180, -90)])
    assert round_pole.latitude_deg == pytest.approx(90, abs=1e-6)


def test_no_points_and_points_all_round_the_earth_have_no_middle():
    with pytest.raises(InputError, match="no points were given"):
        middle_of([])
    with pytest.raises(InputError, match="all round the earth"):
        middle_of([Position(0, 0), Position(180, 0)])
