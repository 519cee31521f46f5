import numpy as np
import pytest

from stillwing.scene.actors import pan_at, pose_at, position_at
from stillwing.scene.camera import camera_of
from stillwing.scene.scenarios import Wishes, plan_scene

SCENE = plan_scene("take-off", camera_of(2), 20, 7, Wishes("damselfly"))
ACTOR = SCENE.actors[0]


def test_places_between_samples_lie_on_the_straight_line():
    i = 900
    t0, t1 = ACTOR.times_s[i : i + 2]
    middle = position_at(ACTOR, np.array([(t0 + t1) / 2]))[0]
    assert middle == pytest.approx(ACTOR.positions_m[i : i + 2].mean(0))
    turned = pan_at(SCENE, np.array([(t0 + t1) / 2]))[0]
    assert turned == pytest.approx(SCENE.pan_px[i : i + 2].mean(0))


def test_the_wings_are_folded_before_the_take_off_and_beat_after_it():
    before, after = pose_at(ACTOR, 0.0), pose_at(ACTOR, float(ACTOR.times_s[-1]))
    assert before.is_perched
    assert before.wing_amplitude_deg == 0
    assert before.wing_spread == 0
    assert not after.is_perched
    assert after.wing_amplitude_deg > 20


def test_the_wings_come_round_after_one_beat():
    at = float(ACTOR.times_s[-1]) - 0.1
    first, later = pose_at(ACTOR, at), pose_at(ACTOR, at + 1 / ACTOR.wingbeat_hz)
    assert np.sin(2 * np.pi * first.wing_phase) == pytest.approx(np.sin(2 * np.pi * later.wing_phase), abs=1e-6)
