from dataclasses import replace

import numpy as np
import pytest

from stillwing.scene.camera import camera_of
from stillwing.scene.compose import see
from stillwing.scene.scenarios import Wishes, plan_scene

from .edges import card_scene


def _seen(scene, when=0.0):
    found = see(scene, scene.actors[0], when)
    assert found is not None
    return found


def test_a_sharp_card_is_solid_and_as_large_as_the_lens_makes_it():
    seen = _seen(card_scene())
    side = 0.7 * seen.truth["length_px"]
    assert float(seen.alpha.sum()) == pytest.approx(side**2, rel=0.01)
    assert seen.alpha.max() == pytest.approx(1, abs=1e-4)


def test_blur_spreads_the_card_but_keeps_its_light():
    sharp, soft = _seen(card_scene()), _seen(card_scene(offset_m=0.03))
    assert soft.alpha.shape > sharp.alpha.shape
    scale = (soft.truth["length_px"] / sharp.truth["length_px"]) ** 2
    assert float(soft.alpha.sum()) == pytest.approx(float(sharp.alpha.sum()) * scale, rel=0.01)


def test_a_card_half_out_of_the_frame_says_so():
    scene = card_scene()
    shifted = replace(scene, pan_px=scene.pan_px + np.array([scene.camera.width_px / 2, 0.0]))
    seen = _seen(shifted)
    assert seen.share_in_frame == pytest.approx(0.5, abs=0.05)
    assert seen.x == 0


def test_a_card_outside_is_not_there():
    scene = card_scene()
    assert see(replace(scene, pan_px=scene.pan_px + 5000.0), scene.actors[0], 0.0) is None


def test_the_rolling_read_out_leans_a_fast_card():
    scene = card_scene(velocity_m_s=(2.0, 0, 0))
    rolling = replace(scene, camera=replace(scene.camera, readout_s=1 / 20))

    def lean(of):
        alpha = _seen(of).alpha > 0.5
        rows = np.flatnonzero(alpha.any(1))
        left = [np.flatnonzero(alpha[r])[0] for r in (rows[len(rows) // 4], rows[3 * len(rows) // 4])]
        return left[1] - left[0]

    assert lean(rolling) > lean(scene) + 3


def test_parts_off_the_focal_plane_are_softer():
    camera = replace(camera_of(2), exposure_s=1 / 4000)
    scene = plan_scene("perched", camera, 2, 3, Wishes("dragonfly", size_in_frame=0.4))
    actor = scene.actors[0]
    towards = replace(actor, angles_deg=np.tile([70.0, 0, 0], (len(actor.times_s), 1)))
    position = actor.positions_m.copy()
    position[:, 2] = scene.camera.focus_distance_m + 0.45 * actor.length_m
    blur = _seen(replace(scene, actors=(replace(towards, positions_m=position),))).truth["blur"]
    assert blur["head"]["blur_px"] < blur["thorax"]["blur_px"] < blur["abdomen_tip"]["blur_px"]


def test_beating_wings_blur_more_than_the_body():
    camera = replace(camera_of(2), exposure_s=1 / 500)
    scene = plan_scene("hover", camera, 4, 11, Wishes("dragonfly", size_in_frame=0.3))
    truth = _seen(scene, 0.1).truth
    tips = [tip["blur_px"] for tip in truth["blur"]["wing_tips"].values()]
    assert len(tips) == 4
    assert max(tips) > 4 * truth["blur"]["thorax"]["blur_px"]
