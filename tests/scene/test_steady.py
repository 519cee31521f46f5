"""A steady scene is as asked: place, offset, speed, and with them the blur that the optics predict."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from stillwing.errors import UnknownThing
from stillwing.optics.diffraction import airy_sigma
from stillwing.optics.focus import blur_disc
from stillwing.optics.framing import magnification, working_f_number
from stillwing.optics.motion import image_speed
from stillwing.optics.spread import MOSAIC_VARIANCE, PIXEL_VARIANCE, disc_variance
from stillwing.scene.actors import position_at
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import Camera, px_per_metre
from stillwing.scene.steady import Steady, steady_scene

CAMERA = Camera(
    width_px=512,
    height_px=384,
    sensor_width_mm=512 * 0.00336,
    focal_length_mm=150.0,
    f_number=5.6,
    exposure_s=1 / 500,
    iso=200,
    focus_distance_m=3.0,
    frames_per_s=10.0,
    readout_s=1 / 400,
    preview_px=0,
)
PASSING = Steady("dragonfly", 0.02, 0.4, 15.0, 0.0, 0.0)
OFFSETS_M = (0.0, -0.03, 0.03, 0.08)


@pytest.fixture(scope="module")
def rendered(tmp_path_factory):
    """Give the truth of one animal in each frame of a burst."""
    folder = tmp_path_factory.mktemp("steady") / "burst"
    truth = render_scene(steady_scene(CAMERA, PASSING, OFFSETS_M, 3), folder, 3, workers=1)
    return [frame["animals"][0] for frame in truth["frames"]]


def predicted_blur(offset_m, body_depth_m):
    """Return the blur of a passing point so far behind the focal plane, by the formulas of the optics. [px]"""
    focus_mm = CAMERA.focus_distance_m * 1000
    m = magnification(CAMERA.focal_length_mm, focus_mm)
    distance_mm = focus_mm + 1000 * (offset_m + body_depth_m)
    disc_px = blur_disc(distance_mm, focus_mm, CAMERA.focal_length_mm, CAMERA.f_number) / CAMERA.pitch_mm
    diffraction_px = airy_sigma(working_f_number(CAMERA.f_number, m)) / CAMERA.pitch_mm
    way_px = image_speed(PASSING.speed_m_s, m, CAMERA.pitch_mm) * CAMERA.exposure_s
    same = diffraction_px**2 + CAMERA.lens_sigma_px**2 + PIXEL_VARIANCE + MOSAIC_VARIANCE
    return float(np.sqrt(disc_variance(disc_px) + way_px**2 / 24 + same))


def test_there_is_a_frame_with_one_whole_animal_for_each_offset(rendered):
    assert len(rendered) == len(OFFSETS_M)
    assert not any(animal["clipped"] for animal in rendered)


def test_the_animal_lies_in_the_middle_at_its_offset(rendered):
    for animal, offset in zip(rendered, OFFSETS_M, strict=True):
        x, y, z = animal["position_m"]
        assert abs(x) < PASSING.speed_m_s * CAMERA.exposure_s / 4
        assert (y, z) == (0.0, pytest.approx(CAMERA.focus_distance_m + offset))
        assert animal["offset_m"] == pytest.approx(offset, abs=1e-9)
        assert animal["yaw_deg"] == PASSING.angle_deg


def test_it_moves_as_fast_as_asked(rendered):
    for animal, offset in zip(rendered, OFFSETS_M, strict=True):
        way_px = PASSING.speed_m_s * CAMERA.exposure_s * px_per_metre(CAMERA, CAMERA.focus_distance_m + offset)
        assert animal["sharpest"]["motion_px"] * np.sqrt(12) == pytest.approx(way_px, rel=0.03)
        assert animal["sharpest"]["direction_deg"] in (pytest.approx(0.0, abs=2), pytest.approx(180.0, abs=2))


def test_its_blur_is_what_the_optics_say(rendered):
    for animal, offset in zip(rendered, OFFSETS_M, strict=True):
        # The head lies nearer than the middle, the abdomen's end farther, or the other way round.
        reach = PASSING.length_m / 2 * np.sin(np.radians(PASSING.angle_deg))
        ends = sorted(predicted_blur(offset, depth) for depth in (-reach, 0.0, reach))
        assert 0.97 * ends[0] <= animal["sharpest"]["blur_px"] <= 1.03 * ends[1]
        assert animal["blur"]["thorax"]["blur_px"] == pytest.approx(ends[1], rel=0.03)


def test_an_animal_that_keeps_still_is_as_sharp_as_the_lens(tmp_path):
    still = replace(PASSING, speed_m_s=0.0, angle_deg=0.0)
    truth = render_scene(steady_scene(CAMERA, still, [0.0], 5), tmp_path / "burst", 5, workers=1)
    (animal,) = truth["frames"][0]["animals"]
    assert animal["sharpest"]["motion_px"] == 0
    floor = np.sqrt(CAMERA.optics_variance_px + PIXEL_VARIANCE + MOSAIC_VARIANCE)
    assert animal["sharpest"]["blur_px"] == pytest.approx(floor, rel=0.03)


def test_wings_beat_where_there_is_a_stroke_and_rest_where_there_is_none():
    beating = replace(PASSING, wingbeat_hz=35.0, amplitude_deg=30.0)
    for animal, flies in ((PASSING, 0), (beating, 1)):
        (actor,) = steady_scene(CAMERA, animal, [0.0], 1).actors
        assert set(actor.beating) == {flies}


def test_frames_lie_apart_enough_for_the_animal_to_be_set_back():
    scene = steady_scene(CAMERA, PASSING, OFFSETS_M, 1)
    (actor,) = scene.actors
    starts = np.arange(len(OFFSETS_M)) / CAMERA.frames_per_s
    begins, ends = starts + CAMERA.readout_s / 2, starts + CAMERA.readout_s / 2 + CAMERA.exposure_s
    ways = position_at(actor, ends)[:, 0] - position_at(actor, begins)[:, 0]
    assert ways == pytest.approx(PASSING.speed_m_s * CAMERA.exposure_s, rel=0.01)
    assert all(later > earlier for earlier, later in pairwise(begins))


def test_the_same_seed_shows_the_same_individual():
    first, again, other = (steady_scene(CAMERA, PASSING, [0.0], seed) for seed in (3, 3, 4))
    assert first.actors[0].seed == again.actors[0].seed != other.actors[0].seed
    assert first.backdrop == again.backdrop


def test_an_animal_that_cannot_be_drawn_is_refused_with_those_that_can():
    with pytest.raises(UnknownThing, match=r"no animal called 'bat'; there are .*dragonfly"):
        steady_scene(CAMERA, replace(PASSING, kind="bat"), [0.0], 1)
