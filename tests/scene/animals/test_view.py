import numpy as np
import pytest

from stillwing.scene.animals.draw import build_animal
from stillwing.scene.animals.pose import Light, Pose, View, body_to_camera
from stillwing.scene.animals.sprite import Part
from stillwing.scene.animals.view import view_body, view_layers, view_model, view_wings, wings_in_front

LIGHT = Light()


def _view(pose, px=200.0, **more):
    return View(body_to_camera(pose), px, **more)


def test_seen_from_the_side_the_near_wings_hide_the_body_and_the_far_ones_do_not():
    model = build_animal("dragonfly", Pose(), 200, 3)
    far, near = wings_in_front(model, _view(Pose()))
    assert {name.split("_")[1] for name in near} == {"right"}
    assert {name.split("_")[1] for name in far} == {"left"}
    turned_far, turned_near = wings_in_front(model, _view(Pose(yaw_deg=180)))
    assert {name.split("_")[1] for name in turned_near} == {"left"}
    assert set(turned_far) | set(turned_near) == set(far) | set(near)


def test_layers_run_from_far_to_near_round_the_body():
    names = [layer.name for layer in view_layers(build_animal("dragonfly", Pose(), 200, 3), _view(Pose()), LIGHT)]
    assert names.index("body") == 2
    assert len(names) == 5


def test_a_shift_within_the_pixel_moves_the_drawing_by_as_much():
    model = build_animal("dragonfly", Pose(), 200, 3)
    centres = []
    for dx in (0.0, 0.5):
        body = view_body(model, _view(Pose(), offset_px=(dx, 0.0)), LIGHT)
        centres.append((body.alpha.sum(0) * (np.arange(body.alpha.shape[1]) + body.x)).sum() / body.alpha.sum())
    assert centres[1] - centres[0] == pytest.approx(0.5, abs=0.06)


def test_wings_are_clear_but_cover():
    wings = view_wings(
        build_animal("dragonfly", Pose(elevation_deg=60), 300, 3), _view(Pose(elevation_deg=60), 300), LIGHT
    )
    for wing in wings:
        assert wing.alpha.sum() < 0.7 * wing.cover.sum()
        assert set(np.unique(wing.part)) <= {Part.NONE, Part.WING}


def test_hairs_and_legs_belong_to_a_part_and_lie_at_a_depth_of_the_body():
    body = view_body(build_animal("dragonfly", Pose(is_perched=True), 300, 3), _view(Pose(is_perched=True), 300), LIGHT)
    inked = body.alpha > 0.3
    assert (body.part[inked] != Part.NONE).all()
    assert np.abs(body.depth[inked]).max() < 0.4
    assert (body.part == Part.LEG).sum() > 100


def test_a_sprite_holds_all_its_layers():
    sprite = view_model(
        build_animal("bird", Pose(wing_amplitude_deg=30), 200, 1), Pose(wing_amplitude_deg=30), LIGHT, 200
    )
    for layer in sprite.layers:
        assert layer.x >= 0
        assert layer.y >= 0
        assert layer.x + layer.alpha.shape[1] <= sprite.width
        assert layer.y + layer.alpha.shape[0] <= sprite.height
