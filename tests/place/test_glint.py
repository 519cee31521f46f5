import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import dblquad

from stillwing.errors import OutsideModel
from stillwing.place.glint import fresnel, glint_angle, glitter_over_white, slope_variance, water_met

angles = st.floats(0, 359)


@pytest.mark.parametrize(("altitude", "azimuth"), [(5, 90), (30, 180), (60, 271)])
def test_the_suns_picture_lies_as_far_below_the_horizon(altitude, azimuth):
    assert float(glint_angle(altitude, azimuth, azimuth, -altitude)) == pytest.approx(0, abs=1e-9)
    # Mirror: a ray down from the sun, its vertical part turned round, goes into the eye along the line of sight.
    a, z = np.radians(altitude), np.radians(azimuth)
    down = -np.array([np.cos(a) * np.sin(z), np.cos(a) * np.cos(z), np.sin(a)])
    up = down * [1, 1, -1]
    sight = np.array([np.cos(-a) * np.sin(z), np.cos(-a) * np.cos(z), np.sin(-a)])
    np.testing.assert_allclose(up, -sight, atol=1e-12)


def test_with_the_sun_behind_or_down_there_is_no_glint_to_fear():
    assert float(glint_angle(20, 180, 0, -20)) == pytest.approx(140)
    assert np.isnan(glint_angle(-1, 180, 180, -1))
    assert float(glitter_over_white(20, 180, 0, -20, 3.0)) < 1e-6
    assert float(glitter_over_white(-1, 180, 180, -5, 3.0)) == 0
    assert float(glitter_over_white(20, 180, 180, 5, 3.0)) == 0


def test_a_line_of_sight_meets_the_water_by_its_triangle():
    assert water_met(1.6, [-45, -np.degrees(np.arctan(0.1)), 0, 10]) == pytest.approx([1.6, 16.0, np.inf, np.inf])


@pytest.mark.parametrize(
    ("incidence", "published", "tolerance", "source"),
    [
        (0.0, 0.0211, 0.0001, "((n - 1) / (n + 1))^2 for n = 1.34: Hecht, Optics, 4th ed. (2002), from memory"),
        (90.0, 1.0, 1e-9, "grazing light is all reflected: Hecht 2002, from memory"),
    ],
)
def test_reflectance_of_water(incidence, published, tolerance, source):
    assert float(fresnel(incidence)) == pytest.approx(published, abs=tolerance), source


def test_at_brewsters_angle_half_of_what_one_polarisation_gives_is_left():
    # tan i = n: the part along the plane of incidence is gone, the other is ((n^2 - 1) / (n^2 + 1))^2.
    n = 1.34
    assert float(fresnel(np.degrees(np.arctan(n)))) == pytest.approx(((n**2 - 1) / (n**2 + 1)) ** 2 / 2, rel=1e-9)


@pytest.mark.parametrize(
    ("wind", "published", "tolerance", "source"),
    [
        (0.0, 0.003, 1e-12, "Cox and Munk 1954: 0.003 + 0.00512 W, read in texts that quote it"),
        (10.0, 0.0542, 1e-12, "same"),
        (
            14.0,
            np.tan(np.radians(16.0)) ** 2,
            0.01,
            "Cox and Munk 1954, abstract: (tan 16)^2 for 14 m/s; tan 15.3 = line",
        ),
    ],
)
def test_slopes_grow_with_the_wind(wind, published, tolerance, source):
    assert float(slope_variance(wind)) == pytest.approx(published, abs=tolerance), source


def test_beyond_what_was_measured_the_slopes_stay():
    assert float(slope_variance(30)) == float(slope_variance(14))
    with pytest.raises(OutsideModel, match="wind_m_s is -1 m/s"):
        slope_variance(-1)


@pytest.mark.parametrize(("altitude", "wind"), [(60.0, 4.0), (30.0, 10.0)])
def test_straight_down_the_law_of_cox_and_munk_has_its_simplest_form(altitude, wind):
    # Looking straight down, facets tilted by half of the sun's zenith distance shine: rho p / (4 cos^4 b) over 1 / pi.
    # The law: C. Cox, W. Munk, J. Opt. Soc. Am. 44 (1954) 838, from memory.
    tilt, variance = np.radians((90 - altitude) / 2), 0.003 + 0.00512 * wind
    density = np.exp(-(np.tan(tilt) ** 2) / variance) / (np.pi * variance)
    reflected = float(fresnel(np.degrees(tilt)))
    expected = np.pi * reflected * density / (4 * np.cos(tilt) ** 4)
    assert float(glitter_over_white(altitude, 200.0, 77.0, -90.0, wind)) == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("altitude", [40.0, 65.0])
def test_glitter_sends_out_what_the_water_reflects(altitude):
    # Energy: radiance over all directions upwards, each with its cosine, is the reflected share of what comes in,
    # sin(altitude) times the reflectance, to the order of the slopes.
    def outgoing(elevation, bearing):
        e = np.radians(elevation)
        over_white = float(glitter_over_white(altitude, 0.0, bearing, -elevation, 0.0))
        return over_white / np.pi * np.sin(e) * np.cos(e) * np.radians(1) ** 2

    flux, _ = dblquad(outgoing, -60, 60, max(altitude - 30, 1), min(altitude + 25, 89), epsrel=1e-3, epsabs=1e-6)
    assert flux == pytest.approx(np.sin(np.radians(altitude)) * float(fresnel(90 - altitude)), rel=0.06)


@given(st.floats(1, 80), angles, angles, st.floats(-80, -1), st.floats(0, 14), st.floats(-360, 360))
def test_turning_and_mirroring_change_no_glitter(altitude, azimuth, bearing, elevation, wind, by):
    plain = float(glitter_over_white(altitude, azimuth, bearing, elevation, wind))
    turned = float(glitter_over_white(altitude, azimuth + by, bearing + by, elevation, wind))
    mirrored = float(glitter_over_white(altitude, -azimuth, -bearing, elevation, wind))
    assert plain >= 0
    assert turned == pytest.approx(plain, rel=1e-6, abs=1e-12)
    assert mirrored == pytest.approx(plain, rel=1e-6, abs=1e-12)


def test_wind_spreads_the_glitter_and_dims_its_middle():
    middle = glitter_over_white(30, 180, 180, -30, [0, 2, 8])
    aside = glitter_over_white(30, 180, 215, -30, [0, 2, 8])
    assert np.all(np.diff(middle) < 0)
    assert np.all(np.diff(aside) > 0)
    assert middle[0] > 1 > aside[0]


def test_an_unknown_sun_gives_no_figure():
    assert np.isnan(glitter_over_white([30, np.nan], 180, 180, -10, 2.0)).tolist() == [False, True]
