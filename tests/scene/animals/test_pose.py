import numpy as np
import pytest

from stillwing.scene.animals.pose import Light, Pose, View, body_to_camera, to_sun

FORWARD, LEFT, UP = np.eye(3)


@pytest.mark.parametrize(
    ("pose", "axis", "seen"),
    [
        (Pose(), FORWARD, (1, 0, 0)),
        (Pose(), UP, (0, -1, 0)),
        (Pose(), LEFT, (0, 0, 1)),
        (Pose(yaw_deg=90), FORWARD, (0, 0, -1)),
        (Pose(yaw_deg=180), FORWARD, (-1, 0, 0)),
        (Pose(pitch_deg=90), FORWARD, (0, -1, 0)),
        (Pose(elevation_deg=90), UP, (0, 0, -1)),
    ],
)
def test_axes_point_where_the_words_say(pose, axis, seen):
    assert body_to_camera(pose) @ axis == pytest.approx(np.array(seen), abs=1e-12)


def test_a_roll_lifts_the_left_side():
    assert (body_to_camera(Pose(roll_deg=20)) @ LEFT)[1] < 0


def test_every_attitude_is_a_rotation():
    rng = np.random.default_rng(0)
    for yaw, pitch, roll, elevation in rng.uniform(-180, 180, (20, 4)):
        r = body_to_camera(Pose(yaw, pitch, roll, elevation))
        assert r @ r.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(r) == pytest.approx(1)


@pytest.mark.parametrize(
    ("azimuth", "altitude", "seen"), [(0, 0, (0, 0, -1)), (90, 0, (1, 0, 0)), (180, 0, (0, 0, 1)), (0, 90, (0, -1, 0))]
)
def test_the_sun_stands_where_the_words_say(azimuth, altitude, seen):
    assert to_sun(Light(azimuth, altitude)) == pytest.approx(np.array(seen), abs=1e-6)


def test_a_view_scales_shears_and_shifts():
    view = View(np.eye(3), 100.0, (0.25, 0.5), ((1.0, 0.1), (0.0, 1.0)))
    assert view.picture(np.array([[1.0, 2.0, 3.0]]))[0] == pytest.approx([120.25, 200.5, 300.0])
