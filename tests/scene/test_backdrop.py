from dataclasses import replace

import numpy as np
import pytest

from stillwing.errors import UnknownThing
from stillwing.scene.animals.pose import Light
from stillwing.scene.backdrop import FAMILIES, TUNING_FAMILIES, Backdrop, Perch, paint_backdrop
from stillwing.scene.camera import camera_of
from stillwing.scene.heldout import HELD_OUT_BACKGROUNDS

CAMERA = replace(camera_of(1), focus_distance_m=3.0)
LIGHT = Light()
NONE = (0, 0, 0, 0)


def _busyness(planes):
    green = planes[1].astype(np.float64)
    return np.abs(np.diff(green, axis=1)).mean() / green.mean()


@pytest.mark.parametrize("family", FAMILIES)
def test_the_farther_behind_the_focal_plane_the_smoother(family):
    sharp, soft, gone = (
        _busyness(paint_backdrop(Backdrop(family, d, 3), (), CAMERA, LIGHT, NONE, (0, 0))) for d in (3.0, 3.3, 9.0)
    )
    assert sharp > soft > gone


@pytest.mark.parametrize("family", ["water", "leaves", "bark"])
def test_the_same_seed_paints_the_same_and_another_seed_another(family):
    first, again, other = (
        paint_backdrop(Backdrop(family, 3.0, seed), (), CAMERA, LIGHT, NONE, (0, 0)) for seed in (4, 4, 5)
    )
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_margins_widen_the_picture():
    planes = paint_backdrop(Backdrop("sky", 900.0, 1), (), CAMERA, LIGHT, (10, 20, 30, 40), (0, 0))
    assert planes.shape == (3, CAMERA.height_px + 60, CAMERA.width_px + 40)


def test_a_turning_camera_smears_the_background_along_its_motion():
    still, moving = (
        paint_backdrop(Backdrop("reeds", 3.0, 2), (), CAMERA, LIGHT, NONE, drift)[1].astype(float)
        for drift in ((0, 0), (12, 0))
    )
    across = [np.abs(np.diff(p, axis=1)).mean() for p in (still, moving)]
    assert across[1] < 0.6 * across[0]


def test_a_perch_in_the_focal_plane_is_sharp_before_a_soft_background():
    bare = paint_backdrop(Backdrop("sky", 900.0, 1), (), CAMERA, LIGHT, NONE, (0, 0)).astype(float)
    perch = Perch((0.0, 0.08, 3.0), (0.0, 0.0, 3.0), 0.002, (0.1, 0.07, 0.03), 1)
    with_it = paint_backdrop(Backdrop("sky", 900.0, 1), (perch,), CAMERA, LIGHT, NONE, (0, 0)).astype(float)
    changed = np.abs(with_it - bare).sum(0) > 500
    rows, cols = CAMERA.height_px, CAMERA.width_px
    assert changed[rows * 3 // 4, cols // 2]
    assert not changed[rows // 4].any()
    assert not changed[:, : cols // 4].any()


def test_held_out_families_are_painted_only_when_named():
    assert set(TUNING_FAMILIES) == set(FAMILIES) - set(HELD_OUT_BACKGROUNDS)
    assert len(HELD_OUT_BACKGROUNDS) == 2


def test_an_unknown_family_is_named():
    with pytest.raises(UnknownThing, match="lava"):
        paint_backdrop(Backdrop("lava", 3.0, 1), (), CAMERA, LIGHT, NONE, (0, 0))
