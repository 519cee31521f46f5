import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.place.sunside import LightSide, light_side, sun_side

angles, heights = st.floats(0, 359), st.floats(-5, 85)


@pytest.mark.parametrize(
    ("azimuth", "bearing", "off_shoulder", "right"),
    [(180, 0, 0, False), (180, 180, 180, False), (90, 0, 90, True), (270, 0, 90, False), (225, 30, 15, False)],
)
def test_the_sun_off_the_shoulder(azimuth, bearing, off_shoulder, right):
    side = sun_side(20, azimuth, bearing)
    assert float(side.off_shoulder_deg) == pytest.approx(off_shoulder)
    if off_shoulder not in (0, 180):
        assert bool(side.on_your_right) is right


def test_a_high_sun_is_never_quite_behind_you():
    # Level line of sight, sun 60 degrees up behind you: 60 degrees between sun and camera, seen from the animal.
    side = sun_side(60, 180, 0)
    assert float(side.off_shoulder_deg) == 0
    assert float(side.light_angle_deg) == pytest.approx(60)
    assert float(side.to_sun_deg) == pytest.approx(120)


@given(heights, angles, angles, st.floats(-60, 60))
def test_light_angle_follows_the_law_of_cosines_on_the_sphere(altitude, azimuth, bearing, elevation):
    side = sun_side(altitude, azimuth, bearing, elevation)
    a, e, across = np.radians(altitude), np.radians(elevation), np.radians(azimuth - bearing)
    cosine = np.sin(a) * np.sin(e) + np.cos(a) * np.cos(e) * np.cos(across)
    assert np.cos(np.radians(float(side.to_sun_deg))) == pytest.approx(cosine, abs=1e-9)
    assert float(side.to_sun_deg + side.light_angle_deg) == pytest.approx(180)


@given(heights, angles, angles, st.floats(-360, 360))
def test_turning_everything_changes_nothing_and_a_mirror_swaps_sides(altitude, azimuth, bearing, by):
    plain, turned = sun_side(altitude, azimuth, bearing), sun_side(altitude, azimuth + by, bearing + by)
    mirrored = sun_side(altitude, -azimuth, -bearing)
    for other in (turned, mirrored):
        assert float(other.off_shoulder_deg) == pytest.approx(float(plain.off_shoulder_deg), abs=1e-6)
        assert float(other.light_angle_deg) == pytest.approx(float(plain.light_angle_deg), abs=1e-6)
    if 1e-3 < float(plain.off_shoulder_deg) < 179.999:
        assert bool(mirrored.on_your_right) != bool(plain.on_your_right)


def test_the_sun_near_the_line_of_sight_is_dangerous_while_it_is_up():
    side = sun_side([10, 10, -2, 30, np.nan], [0, 40, 0, 0, 0], 0.0)
    assert side.is_dangerous.tolist() == [True, False, False, False, False]
    assert np.isnan(side.to_sun_deg[-1])


def test_front_side_and_back_share_the_half_turn():
    assert [light_side(a) for a in (0, 59, 61, 119, 121, 180)] == [
        LightSide.FRONT, LightSide.FRONT, LightSide.SIDE, LightSide.SIDE, LightSide.BACK, LightSide.BACK,
    ]  # fmt: skip
