"""The benchmark of advice: bursts are changed as advised and in nothing else, figures add up what was won."""

import math
from dataclasses import replace

import numpy as np
import pytest

from flight_advice import Together, Tried, figures_of, outing_table, table
from flight_advice_scenes import PLANNED, changed, scene_of
from stillwing.review.changes import Change
from stillwing.scene.actors import pan_at, position_at
from stillwing.scene.camera import px_per_metre


@pytest.fixture(scope="module")
def slanting():
    """A pass at an angle, followed."""
    return scene_of(next(one for one in PLANNED if one.scenario == "pass"))


def places(scene):
    times = np.arange(scene.n_frames) / scene.camera.frames_per_s
    return position_at(scene.actors[0], times)


def angle_deg(scene):
    x, y, z = places(scene)[-1] - places(scene)[0]
    return math.degrees(math.atan2(abs(z), math.hypot(x, y)))


def test_a_setting_changes_by_its_stops_and_the_light_is_made_up_by_iso(slanting):
    short, closed = changed(slanting, Change.EXPOSURE, 1.0), changed(slanting, Change.F_NUMBER, 2.0)
    camera = slanting.camera
    assert short.camera == replace(camera, exposure_s=camera.exposure_s / 2, iso=2 * camera.iso)
    assert closed.camera == replace(camera, f_number=2 * camera.f_number, iso=4 * camera.iso)
    assert short.actors == slanting.actors


def test_a_turned_flight_lies_nearer_to_the_plane_by_the_angle_and_is_as_fast(slanting):
    turned = changed(slanting, Change.ANGLE, 10.0)
    assert angle_deg(turned) == pytest.approx(angle_deg(slanting) - 10, abs=1.0)
    steps = [np.linalg.norm(np.diff(places(scene), axis=0), axis=1) for scene in (slanting, turned)]
    assert steps[1] == pytest.approx(steps[0])
    # Beyond along the plane it is not turned, and who follows it stays as far behind it.
    assert angle_deg(changed(slanting, Change.ANGLE, 80.0)) < 3
    times = np.arange(slanting.n_frames) / slanting.camera.frames_per_s
    scale = px_per_metre(slanting.camera, slanting.camera.focus_distance_m)
    behind = [places(scene)[:, :2] * scale - pan_at(scene, times) for scene in (slanting, turned)]
    assert behind[1] == pytest.approx(behind[0], abs=1e-6)


def test_from_further_off_focus_is_as_well_set_and_the_animal_smaller(slanting):
    far = changed(slanting, Change.DISTANCE, 1.25)
    assert far.camera.focus_distance_m == pytest.approx(1.25 * slanting.camera.focus_distance_m)
    off = [places(scene)[:, 2] - scene.camera.focus_distance_m for scene in (slanting, far)]
    assert off[1] == pytest.approx(off[0])
    assert far.backdrop.distance_m - places(far)[0, 2] == pytest.approx(
        slanting.backdrop.distance_m - places(slanting)[0, 2]
    )


def test_nobody_can_render_a_burst_that_began_sooner(slanting):
    with pytest.raises(ValueError, match="sooner"):
        changed(slanting, Change.SOONER, 0.2)


def test_figures_add_up_what_was_won_over_all_and_by_change():
    exposure = Tried("a", "exposure", 1.0, 3.0, 3, 4.0, 3.5, 4, (1.0, 1.3, 1.8, 1.2))
    closed = Tried("b", "f-number", 2.0, 2.0, 2, 2.0, 0.5, 1)
    figures = figures_of([exposure, closed])
    assert (figures["n_tried"], figures["n_bursts"]) == (2, 2)
    assert (figures["predicted_all"], figures["measured_all"], figures["true_all"]) == (6.0, 4.0, 5.0)
    assert (figures["predicted_f_number"], figures["measured_exposure"]) == (2.0, 3.5)
    assert figures["error_median_frames"] == pytest.approx(1.0)
    assert "told, and measured, px: 1.3 (1.0 to 1.8), 1.2" in table(figures, [exposure, closed])


def test_what_is_won_over_all_bursts_stands_beside_its_interval():
    words = outing_table(
        [Together("f-number", 1.0, 12.3, (4.2, 21.0), 9.8, 11), Together("angle", 15.0, 4.0, None, 3.0, 4)]
    )
    assert "f-number   1.00  +12.3 (4.2 to 21.0)   +9.8  +11" in words
    assert "(nan to nan)" in words
