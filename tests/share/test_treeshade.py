"""The shade of trees on a water, held against the horizon that the plan reckons with, and against a wall by hand."""

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from place.waters import circle, outline
from stillwing.place.example import example_site
from stillwing.place.horizon import EYE_HEIGHT_M, Horizon, HorizonEntry, entry_by_height, skyline
from stillwing.place.site import Site
from stillwing.share.treeshade import tree_shade

POND = example_site()


@pytest.mark.parametrize(
    ("altitude_deg", "azimuth_deg"), [(10, 240), (17, 275), (25, 225), (8, 300), (5, 100), (40, 250)]
)
def test_shade_is_where_the_skyline_of_the_spot_hides_the_sun(altitude_deg, azimuth_deg):
    shade = tree_shade(POND, altitude_deg, azimuth_deg)
    rng = np.random.default_rng(5)
    low_x, low_y, high_x, high_y = POND.water.bounds
    spots = rng.uniform((low_x, low_y), (high_x, high_y), (150, 2))
    told = []
    for spot in spots:
        point = shapely.Point(*spot)
        # A skyline is told at whole degrees: near the edge either may be right.
        if POND.water.contains(point) and (shade.is_empty or shade.boundary.distance(point) > 1.5):
            hides = not skyline(POND.horizon, spot, -EYE_HEIGHT_M).sun_is_clear(altitude_deg, azimuth_deg)
            assert hides == shade.contains(point), spot
            told.append(hides)
    assert len(told) > 60


def test_the_shadow_of_a_wall_is_its_height_over_the_tangent():
    # A wall 50 m from the middle all round, its top 10 m above the eye; the sun due south at 45 degrees.
    wall = Horizon(tuple(entry_by_height(float(b), 50.0, 10.0) for b in range(0, 360, 10)))
    shade = tree_shade(Site("ring", outline(circle(49.0, 360)), horizon=wall), 45.0, 180.0)
    edge = shapely.LineString([(0, -49), (0, 49)]).intersection(shade)
    assert edge.bounds[3] == pytest.approx(-50 + 10 + EYE_HEIGHT_M, abs=0.1)


@given(st.floats(1, 80), st.floats(0, 360))
def test_a_lower_sun_throws_more_shade(altitude_deg, azimuth_deg):
    assume(altitude_deg < 79)
    higher, lower = (tree_shade(POND, altitude, azimuth_deg).area for altitude in (altitude_deg + 1, altitude_deg))
    assert lower >= higher - 1e-6


def test_far_hills_darken_all_of_the_water_or_none():
    hills = Horizon((HorizonEntry(90.0, 12.0), HorizonEntry(270.0, 12.0)))
    site = Site("valley", outline(circle(40.0)), horizon=hills)
    assert tree_shade(site, 11.5, 180.0).area == pytest.approx(site.water.area, rel=1e-6)
    assert tree_shade(site, 12.5, 180.0).area == pytest.approx(0.0, abs=1e-6)


def test_without_sun_or_horizon_there_is_no_shade():
    assert tree_shade(POND, 0.0, 270.0).is_empty
    assert tree_shade(Site("open", POND.outline), 10.0, 270.0).is_empty
