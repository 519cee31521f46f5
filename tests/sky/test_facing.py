import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.optics.light import LIT_FROM, ev_of_illuminance
from stillwing.sky.daylight import daylight, on_surface
from stillwing.sky.facing import facing_camera, round_body_share
from stillwing.sky.observer import Observer
from stillwing.sky.sun import direction

PLACE = Observer(52.2, 0.1)
# Sun at 45 degrees in the south-east.
MORNING = np.array(["2024-06-20T09:00"], "datetime64[s]")
SUN = 114.5


def over_the_visible_half(light, bearing, elevation, albedo):
    """Average flat surfaces over a sphere, weighted by how large the camera sees each."""
    rng = np.random.default_rng(5)
    normals = rng.normal(size=(200_000, 3))
    normals /= np.linalg.norm(normals, axis=-1, keepdims=True)
    seen = normals @ direction(-elevation, bearing + 180)
    normals, seen = normals[seen > 0], seen[seen > 0]
    tilts = np.degrees(np.arccos(np.clip(normals[:, 2], -1, 1)))
    azimuths = np.degrees(np.arctan2(normals[:, 0], normals[:, 1]))
    return float(np.average(on_surface(light, tilts, azimuths, albedo), weights=seen))


@pytest.mark.parametrize(
    ("bearing", "elevation", "albedo"),
    [(SUN + 180, 0, 0.2), (SUN + 90, -20, 0.1), (SUN, 10, 0.3), (20, 45, 0.5), (250, -80, 0)],
)
def test_the_mean_is_that_of_flat_surfaces_all_over_the_visible_half(bearing, elevation, albedo):
    light = daylight(PLACE, MORNING, 0.2, 3.0)
    facing = facing_camera(light, bearing, elevation, albedo)
    assert float(facing.mean_lx[0]) == pytest.approx(over_the_visible_half(light, bearing, elevation, albedo), rel=0.01)


def test_light_from_side_and_back_costs_what_the_tables_say():
    # ANSI PH2.7 as encyclopaedias quote it: side light -1, back light -2 stops; whole stops, so half a stop either way.
    light = daylight(PLACE, MORNING, 0.0, 3.0)
    front, side, back = (float(facing_camera(light, SUN + turn).ev[0]) for turn in (180, 90, 0))
    assert side - front == pytest.approx(LIT_FROM["side"], abs=0.5)
    assert back - front == pytest.approx(LIT_FROM["back"], abs=0.5)


def test_front_light_has_the_exposure_value_of_the_tables():
    # ANSI PH2.7: full sun 15; the rule f/16 at 1/ISO is 14.64. The mean over a round body is below that of a flat one.
    light = daylight(PLACE, MORNING, 0.0, 3.0)
    front = facing_camera(light, SUN + 180)
    assert float(front.ev[0]) == pytest.approx(14.64, abs=0.5)
    assert float(ev_of_illuminance(front.lit_lx)[0]) == pytest.approx(15.0, abs=0.4)


def test_shade_and_contrast_are_those_of_the_tables():
    # ANSI PH2.7: open shade under a clear sky 12; with the sunlit 15 three stops of contrast.
    facing = facing_camera(daylight(PLACE, MORNING, 0.0, 3.0), SUN + 90)
    assert float(ev_of_illuminance(facing.shadow_lx)[0]) == pytest.approx(12, abs=0.6)
    assert float(facing.contrast_stops[0]) == pytest.approx(3, abs=0.6)


def test_overcast_light_is_the_same_from_everywhere_and_without_contrast():
    light = daylight(PLACE, MORNING, 1.0)
    facing = facing_camera(light, np.arange(0.0, 360.0, 30.0))
    assert np.ptp(facing.ev) == pytest.approx(0, abs=1e-9)
    assert np.all(facing.contrast_stops == pytest.approx(0, abs=1e-9))
    assert np.all(facing.uncertainty_stops == 1.0)


def test_a_sunlit_share_is_a_phase_of_the_moon():
    # New, half and full: (1 + cos) / 2 (any almanac). The sun stands behind the camera, beside it and behind the
    # animal.
    light = daylight(PLACE, MORNING)
    level = float(light.sun.apparent_altitude_deg[0])
    azimuth = float(light.sun.azimuth_deg[0])
    behind = facing_camera(light, azimuth + 180, -level)
    into = facing_camera(light, azimuth, level)
    beside = facing_camera(light, azimuth + 90, 0.0)
    assert [float(x.sun_angle_deg[0]) for x in (behind, beside, into)] == pytest.approx([0, 90, 180], abs=1e-5)
    assert [float(x.sunlit_share[0]) for x in (behind, beside, into)] == pytest.approx([1, 0.5, 0], abs=1e-6)
    assert float(into.mean_lx[0]) == pytest.approx(float(into.shadow_lx[0]))


def test_at_night_nothing_is_sunlit():
    facing = facing_camera(daylight(PLACE, np.array(["2024-06-20T00:00"], "datetime64[s]")), 0.0)
    assert facing.sunlit_share.tolist() == [0.0]
    assert facing.contrast_stops.tolist() == [0.0]
    assert float(facing.ev[0]) < 0


def test_a_bright_ground_fills_the_shadow():
    light = daylight(PLACE, MORNING, 0.0, 3.0)
    grass, snow = (facing_camera(light, SUN, 20.0, albedo) for albedo in (0.2, 0.85))
    assert float(snow.shadow_lx[0]) > 1.8 * float(grass.shadow_lx[0])
    assert float(snow.contrast_stops[0]) < float(grass.contrast_stops[0])


def test_hours_and_bearings_make_a_table():
    hours = np.arange("2024-06-20T04:00", "2024-06-20T20:00", np.timedelta64(1, "h"), "datetime64[s]")
    facing = facing_camera(daylight(PLACE, hours), np.arange(0.0, 360.0, 45.0)[:, None])
    for values in (facing.ev, facing.lit_lx, facing.sunlit_share, facing.contrast_stops, facing.uncertainty_stops):
        assert values.shape == (8, 16)
    # The best bearing at nine has the sun behind the camera.
    assert int(np.argmax(facing.ev[:, 5])) == int(((SUN + 180) % 360) // 45)


@given(st.floats(0, 180), st.floats(0, 180))
def test_the_further_round_the_sun_the_less_of_it(one, other):
    less, more = sorted((one, other))
    assert 0 <= float(round_body_share(more)) <= float(round_body_share(less)) + 1e-12


def test_unknown_cloud_is_unknown_light():
    facing = facing_camera(daylight(PLACE, MORNING, np.nan), 0.0)
    assert np.isnan(facing.ev[0])
    assert np.isnan(facing.sunlit_share[0])
    assert np.isfinite(facing.sun_angle_deg[0])


def test_a_camera_cannot_look_higher_than_up():
    with pytest.raises(OutsideModel, match="elevation_deg is 95 deg"):
        facing_camera(daylight(PLACE, MORNING), 0.0, 95.0)
