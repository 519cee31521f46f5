from dataclasses import replace

import numpy as np
import pytest

from stillwing.errors import OutsideModel, UnknownThing
from stillwing.scene.actors import position_at
from stillwing.scene.camera import camera_of, px_per_metre
from stillwing.scene.heldout import HELD_OUT_ANIMALS, HELD_OUT_BACKGROUNDS
from stillwing.scene.scenarios import LIGHTS, SCENARIOS, Wishes, light_called, plan_scene

CAMERA = camera_of(6)


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_the_same_seed_plans_the_same_scene(scenario):
    first, again, other = (plan_scene(scenario, CAMERA, 10, seed) for seed in (3, 3, 4))
    assert first.camera == again.camera
    assert first.backdrop == again.backdrop
    assert np.array_equal(first.pan_px, again.pan_px)
    assert first.backdrop.seed != other.backdrop.seed


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_nothing_held_out_comes_unasked(scenario):
    for seed in range(12):
        scene = plan_scene(scenario, CAMERA, 4, seed)
        assert not {actor.kind for actor in scene.actors} & set(HELD_OUT_ANIMALS)
        assert scene.backdrop.family not in HELD_OUT_BACKGROUNDS
        assert abs(scene.light.sun_azimuth_deg) <= 120


def test_what_is_wished_for_comes():
    wishes = Wishes("hoverfly", "gravel", "backlit", size_in_frame=0.2, background_near_focus=True)
    scene = plan_scene("hover", CAMERA, 4, 1, wishes)
    assert scene.actors[0].kind == "hoverfly"
    assert scene.backdrop.family == "gravel"
    assert abs(scene.light.sun_azimuth_deg) > 120
    length_px = scene.actors[0].length_m * px_per_metre(scene.camera, scene.camera.focus_distance_m)
    assert length_px / CAMERA.width_px == pytest.approx(0.2, rel=0.01)
    assert float(scene.camera.disc_px(scene.backdrop.distance_m)) < 12


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 60.0])
def test_the_launch_leaves_at_the_angle_asked_for(angle_deg):
    scene = plan_scene("take-off", CAMERA, 30, 5, Wishes("dragonfly", angle_deg=angle_deg))
    actor = scene.actors[0]
    start, end = position_at(actor, np.array([0.0, 30 / CAMERA.frames_per_s]))
    away = end - start
    assert np.degrees(np.arctan2(-away[2], abs(away[0]))) == pytest.approx(angle_deg, abs=3)


def test_an_empty_burst_has_no_animal_and_several_have_more_than_one():
    assert plan_scene("empty", CAMERA, 4, 1).actors == ()
    assert len(plan_scene("several", CAMERA, 4, 1).actors) >= 2
    assert len(plan_scene("tandem", CAMERA, 4, 1).actors) == 2


def test_a_tandem_flies_as_one():
    scene = plan_scene("tandem", CAMERA, 20, 2)
    when = np.linspace(0, 1, 9)
    first, second = (position_at(actor, when) for actor in scene.actors)
    apart = np.linalg.norm(first - second, axis=1)
    assert apart == pytest.approx(scene.actors[0].length_m, rel=0.1)


def test_the_photographer_follows_a_pass():
    scene = plan_scene("pass", CAMERA, 20, 2, Wishes("dragonfly"))
    moved = position_at(scene.actors[0], np.array([0.0, 1.0]))[:, 0] * px_per_metre(
        scene.camera, scene.camera.focus_distance_m
    )
    turned = np.interp([0.0, 1.0], scene.pan_times_s, scene.pan_px[:, 0])
    assert 0.7 < (turned[1] - turned[0]) / (moved[1] - moved[0]) < 1.2


def test_a_good_share_of_backgrounds_is_sharp_where_the_animal_may_not_be():
    near = [
        float(scene.camera.disc_px(scene.backdrop.distance_m)) < 12
        for scene in (plan_scene("hover", CAMERA, 2, seed) for seed in range(60))
    ]
    assert 0.15 < np.mean(near) < 0.55


def test_light_conditions_by_name():
    rng = np.random.default_rng(0)
    assert abs(light_called("front", rng).sun_azimuth_deg) <= 35
    assert sum(light_called("cloudy", rng).sun) < 0.3
    assert light_called("low", rng).sun_altitude_deg < 15
    with pytest.raises(UnknownThing, match="moonlight"):
        light_called("moonlight", rng)
    assert "backlit" in LIGHTS


def test_unknown_scenarios_and_absurd_counts_are_named():
    with pytest.raises(UnknownThing, match="waltz"):
        plan_scene("waltz", CAMERA, 4, 1)
    with pytest.raises(OutsideModel, match="n_frames"):
        plan_scene("hover", CAMERA, 0, 1)
    with pytest.raises(UnknownThing, match="griffin"):
        plan_scene("hover", CAMERA, 4, 1, Wishes("griffin"))


def test_a_longer_lens_stands_farther_off_for_the_same_size():
    near, far = (
        plan_scene(
            "perched", replace(CAMERA, focal_length_mm=f), 2, 1, Wishes("bird", size_in_frame=0.2)
        ).camera.focus_distance_m
        for f in (300.0, 600.0)
    )
    assert far == pytest.approx(2 * near, rel=0.02)
