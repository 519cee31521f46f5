import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stillwing.errors import InputError, OutsideModel
from stillwing.place.bearings import towards
from stillwing.place.shadow import Person, Target, shadow_at, shadow_corners, shadow_length

ME = Person(1.8, 0.6)
angles = st.floats(0, 359)


@pytest.mark.parametrize(
    ("height", "altitude", "drop", "length"),
    [
        (1.8, 45, 0, 1.8),  # hand triangle: as long as high
        (1.8, np.degrees(np.arctan(0.5)), 0, 3.6),  # slope 1 in 2
        (1.8, 45, 0.5, 2.3),  # the water lies half a metre lower
        (1.8, 90, 0.5, 0.0),
        (1.8, 0, 0, np.inf),
    ],
)
def test_the_length_of_a_shadow(height, altitude, drop, length):
    assert float(shadow_length(height, altitude, drop)) == pytest.approx(length, abs=1e-9)


def test_below_the_horizon_there_is_no_shadow():
    assert np.isnan(shadow_length(1.8, -1))
    assert np.isnan(shadow_corners(-1, 0)).all()
    assert not shadow_at(Target(3, 0), -5, 180).touches


def test_the_shadow_on_an_animal_in_front_of_you():
    # Sun behind you, 30 degrees high; the head is 2.1 m above the water: at 3 m the edge is 2.1 - 3 tan 30 = 0.368 m.
    shadow = shadow_at(Target(3.0, 0.0, [0.30, 0.40, 0.45], 0.05), 30.0, 180.0, ME, 0.3)
    assert shadow.touches.tolist() == [True, True, False]
    assert shadow.top_m == pytest.approx(2.1 - 3 * np.tan(np.radians(30)))
    assert shadow.beside_m == pytest.approx(0, abs=1e-12)


def test_a_ball_touches_the_slanting_edge_before_its_middle_is_below_it():
    # At 60 degrees and 1 m the edge is 2.1 - tan 60 = 0.368 m up and slants by 60 degrees: a ball of 0.1 m whose
    # middle is 0.1 / cos 60 = 0.2 m above it just touches it.
    edge = 2.1 - np.tan(np.radians(60.0))
    shadow = shadow_at(Target(1.0, 0.0, [edge + 0.199, edge + 0.201], 0.1), 60.0, 180.0, ME)
    assert shadow.touches.tolist() == [True, False]


def test_stepping_aside_frees_the_animal():
    # At 3 m and 10 degrees off the shadow the animal is 3 sin 10 = 0.52 m beside its middle line; the body takes 0.3 m.
    target = Target(3.0, [0.0, 10.0, -10.0, 5.0], 0.1, 0.0)
    shadow = shadow_at(target, 30.0, 180.0, ME)
    assert shadow.touches.tolist() == [True, False, False, True]
    assert shadow.beside_m[1:3] == pytest.approx([3 * np.sin(np.radians(10)), -3 * np.sin(np.radians(10))])


def test_a_shadow_never_falls_towards_the_sun():
    shadow = shadow_at(Target(3.0, 0.0), 30.0, 0.0, ME)
    assert not shadow.touches
    assert np.isnan(shadow.top_m)


def in_shadow(point, sun, height, width, feet):
    """Meet the ray towards the sun with the plane through the origin, square to the sun's bearing."""
    level = np.array([sun[0], sun[1], 0.0]) / np.hypot(sun[0], sun[1])
    steps = -np.dot(point, level) / np.dot(sun, level)
    at = point + steps * sun
    across = np.dot(at, np.cross(level, [0, 0, 1]))
    return bool(steps > 0 and abs(across) <= width / 2 and feet <= at[2] <= feet + height)


@given(st.floats(1, 8), angles, st.floats(0, 3), st.floats(3, 80), angles, st.floats(0, 2), st.floats(1.2, 2.2))
def test_shadow_is_where_a_ray_meets_the_body(distance, bearing, up, altitude, azimuth, feet, height):
    # Directly in line often enough: take the bearing from the sun in half of the cases.
    bearing = azimuth + 180 + (bearing - 180) / 20
    level = np.cos(np.radians(altitude))
    sun = np.array([*(level * towards(azimuth)), np.sin(np.radians(altitude))])
    point = np.array([*(distance * towards(bearing)), up])
    person = Person(height, 0.6)
    # Clear of edges, where rounding decides.
    around = {
        bool(shadow_at(Target(distance, bearing, up + dz, 0.0), altitude, azimuth + da, person, feet).touches)
        for dz, da in ((0, 0), (1e-6, 0), (-1e-6, 0), (0, 1e-6), (0, -1e-6))
    }
    assume(len(around) == 1)
    assert around == {in_shadow(point, sun, height, 0.6, feet)}


@given(st.floats(1, 8), angles, st.floats(0.1, 2), st.floats(3, 80), angles, st.floats(-360, 360), st.floats(0.3, 1.5))
def test_turning_mirroring_and_scaling_change_nothing(distance, bearing, up, altitude, azimuth, by, scale):
    plain = shadow_at(Target(distance, bearing, up, 0.05), altitude, azimuth, ME, 0.3)
    turned = shadow_at(Target(distance, bearing + by, up, 0.05), altitude, azimuth + by, ME, 0.3)
    mirrored = shadow_at(Target(distance, -bearing, up, 0.05), altitude, -azimuth, ME, 0.3)
    scaled = shadow_at(
        Target(distance * scale, bearing, up * scale, 0.05 * scale),
        altitude, azimuth, Person(1.8 * scale, 0.6 * scale), 0.3 * scale,
    )  # fmt: skip
    assert float(turned.beside_m) == pytest.approx(float(plain.beside_m), abs=1e-8)
    assert float(mirrored.beside_m) == pytest.approx(-float(plain.beside_m), abs=1e-8)
    assert float(scaled.beside_m) == pytest.approx(scale * float(plain.beside_m), abs=1e-8)
    edge = (
        abs(abs(float(plain.beside_m)) - 0.35) < 1e-6
        or abs(float(plain.top_m) + 0.05 / np.cos(np.radians(altitude)) - up) < 1e-6
    )
    if not edge:
        assert bool(scaled.touches) == bool(plain.touches) == bool(turned.touches) == bool(mirrored.touches)


@given(st.floats(5, 80), angles, st.floats(0, 1.5))
def test_the_corners_on_the_water_lie_on_rays_past_the_body(altitude, azimuth, feet):
    corners = shadow_corners(altitude, azimuth, ME, feet)
    sun = np.array([*(np.cos(np.radians(altitude)) * towards(azimuth)), np.sin(np.radians(altitude))])
    for corner, height in zip(corners, (feet, feet + 1.8, feet + 1.8, feet), strict=True):
        at = np.array([*corner, 0.0]) + sun * height / sun[2]
        assert np.hypot(at[0], at[1]) == pytest.approx(0.3, abs=1e-9)
    left, right = corners[1], corners[2]
    along = towards(azimuth + 180)
    assert along[0] * (right - left)[1] - along[1] * (right - left)[0] < 0  # right lies to the right


def test_many_times_and_animals_at_once():
    shadow = shadow_at(Target(np.array([[2.0], [3.0]]), 0.0), np.array([10.0, 20.0, np.nan]), 180.0)
    assert shadow.touches.shape == shadow.top_m.shape == shadow.beside_m.shape == (2, 3)
    assert not shadow.touches[:, 2].any()


def test_nobody_casts_no_shadow():
    with pytest.raises(InputError, match="height_m of the photographer is 0 m; it must be above 0, up to 3 m"):
        Person(0.0)
    with pytest.raises(OutsideModel, match="distance_m is 0 m"):
        shadow_at(Target(0.0, 0.0), 30, 180)
