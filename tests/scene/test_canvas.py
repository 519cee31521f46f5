from dataclasses import replace

import numpy as np
import pytest

from stillwing.scene.actors import pose_at
from stillwing.scene.camera import camera_of
from stillwing.scene.canvas import Canvas
from stillwing.scene.moment import moment_of
from stillwing.scene.pieces import pieces_of
from stillwing.scene.scenarios import Wishes, plan_scene


def _canvas(scene, fine):
    actor = scene.actors[0]
    moment = moment_of(scene, actor, 0.1)
    pieces, _ = pieces_of(scene, actor, moment, pose_at(actor, moment.middle_s), fine)
    return Canvas(pieces, scene.camera, moment, actor.length_m), pieces


@pytest.fixture(scope="module")
def scene():
    return plan_scene("perched", camera_of(1), 4, 5, Wishes("dragonfly", size_in_frame=0.35))


def test_finer_drawing_gives_the_same_picture(scene):
    coarse, fine = _canvas(scene, 1)[0], _canvas(scene, 2)[0]
    dy, dx = fine.y - coarse.y, fine.x - coarse.x
    assert abs(dx) <= 2
    assert abs(dy) <= 2
    assert float(coarse.rgba[..., 3].sum()) == pytest.approx(float(fine.rgba[..., 3].sum()), rel=0.06)


def test_alpha_stays_a_share_where_slices_of_depth_meet(scene):
    actor = scene.actors[0]
    towards = replace(actor, angles_deg=np.tile([65.0, 0, 0], (len(actor.times_s), 1)))
    canvas, _ = _canvas(replace(scene, actors=(towards,)), 2)
    alpha = canvas.rgba[..., 3]
    assert alpha.max() <= 1.0001
    # No seam: somewhere inside the body it is solid throughout.
    assert np.percentile(alpha[alpha > 0.5], 60) > 0.97


def test_beating_wings_are_averaged_over_the_exposure(scene):
    slow, quick = (
        plan_scene("hover", replace(camera_of(1), exposure_s=e), 4, 8, Wishes("dragonfly", size_in_frame=0.35))
        for e in (1 / 250, 1 / 8000)
    )

    def peak(of):
        actor = of.actors[0]
        moment = moment_of(of, actor, 0.1)
        pieces, phases = pieces_of(of, actor, moment, pose_at(actor, moment.middle_s), 1)
        wings = [p.layer for p in pieces if p.layer.name != "body"]
        return len(phases), np.mean([w.alpha.max() for w in wings])

    n_slow, alpha_slow = peak(slow)
    n_quick, alpha_quick = peak(quick)
    assert n_quick == 1 < n_slow
    assert alpha_slow < alpha_quick
