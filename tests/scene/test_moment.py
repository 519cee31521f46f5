from dataclasses import replace

import numpy as np
import pytest

from stillwing.scene.moment import may_show, moment_of

from .edges import card_scene


def test_the_middle_of_the_path_is_the_place():
    scene = card_scene(velocity_m_s=(0.5, 0, 0))
    moment = moment_of(scene, scene.actors[0], 0.0)
    assert moment.path_px[len(moment.path_px) // 2] == pytest.approx([0, 0], abs=1e-9)
    length = np.linalg.norm(moment.path_px[-1] - moment.path_px[0])
    scale = moment.length_px / scene.actors[0].length_m
    assert length == pytest.approx(0.5 * scene.camera.exposure_s * scale, rel=1e-3)


def test_panning_with_the_animal_takes_the_motion_out():
    scene = card_scene(velocity_m_s=(0.5, 0, 0))
    moment = moment_of(scene, scene.actors[0], 0.0)
    pan = np.outer(scene.pan_times_s, [moment.speed_px[0], 0.0])
    followed = moment_of(replace(scene, pan_px=pan), scene.actors[0], 0.0)
    assert np.abs(followed.path_px).max() < 0.02


def test_rows_read_later_see_the_animal_later():
    fast = card_scene(velocity_m_s=(1.0, 0, 0))
    rolling = replace(fast, camera=replace(fast.camera, readout_s=1 / 50))
    early, late = (moment_of(s, s.actors[0], 0.0) for s in (fast, rolling))
    # The card is half way down the frame: half a read-out later.
    assert late.middle_s - early.middle_s == pytest.approx(1 / 100, rel=0.02)
    assert late.place_px[0] > early.place_px[0]


def test_an_animal_far_outside_cannot_show():
    scene = card_scene()
    assert may_show(scene.camera, moment_of(scene, scene.actors[0], 0.0))
    away = replace(scene, pan_px=scene.pan_px + 9000.0)
    assert not may_show(away.camera, moment_of(away, away.actors[0], 0.0))
