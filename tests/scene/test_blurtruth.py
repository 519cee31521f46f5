"""The truth told of a burst against what a slanted edge shows in the written file."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.scene.camera import camera_of

from .edges import card_scene, measured

FEW_PER_CENT = 0.04


@pytest.mark.parametrize("offset_m", [0.0, 0.004, 0.010, -0.016])
def test_defocus_reads_as_the_truth_says(tmp_path, offset_m):
    # Demosaicing blurs an edge more or less by its direction; the truth holds for the mean over directions.
    shown, told = [], []
    for roll_deg in (0.0, 12.0, 25.0, 40.0):
        card, across, level = measured(card_scene(offset_m=offset_m, roll_deg=roll_deg), tmp_path / "b", roll_deg)
        shown.append((across**2 + level**2) / 2)
        told.append(card["sharpest"]["blur_px"])
    assert np.sqrt(np.mean(shown)) == pytest.approx(np.mean(told), rel=FEW_PER_CENT)


def test_motion_blurs_along_its_direction_only(tmp_path):
    card, across_upright, across_level = measured(card_scene(velocity_m_s=(0.35, 0, 0)), tmp_path / "b")
    found = card["sharpest"]
    assert found["kind"] == "motion"
    assert found["direction_deg"] % 180 == pytest.approx(0, abs=0.01)
    # The edges stand 5 degrees off the motion: cos and sin of that mix the axes a little.
    mixed = np.hypot(found["major_px"] * np.cos(np.radians(5)), found["minor_px"] * np.sin(np.radians(5)))
    assert across_upright == pytest.approx(mixed, rel=FEW_PER_CENT)
    assert across_level < 0.5 * across_upright


def test_a_fall_is_told_as_ninety_degrees_and_a_fall_to_the_right_as_forty_five(tmp_path):
    down = measured(card_scene(velocity_m_s=(0, 0.8, 0)), tmp_path / "a")[0]["sharpest"]
    assert down["direction_deg"] == pytest.approx(90, abs=0.01)
    slanting = measured(card_scene(velocity_m_s=(0.5, 0.5, 0)), tmp_path / "b")[0]["sharpest"]
    assert slanting["direction_deg"] == pytest.approx(45, abs=0.01)


def test_defocus_and_motion_add_as_variances(tmp_path):
    card, across_upright, across_level = measured(card_scene(offset_m=0.008, velocity_m_s=(0.25, 0, 0)), tmp_path / "b")
    found = card["sharpest"]
    assert found["kind"] in ("motion", "mixed")
    both = np.sqrt((across_upright**2 + across_level**2) / 2)
    assert both == pytest.approx(found["blur_px"], rel=FEW_PER_CENT)


def test_a_finer_sensor_sees_the_same_blur_in_more_pixels(tmp_path):
    coarse, fine = (replace(camera_of(mp), sensor_width_mm=5.5, iso=200, preview_px=0, readout_s=0.0) for mp in (1, 4))
    blur = [
        measured(card_scene(camera, offset_m=0.02), tmp_path / str(camera.width_px))[0]["sharpest"]["defocus_px"]
        for camera in (coarse, fine)
    ]
    assert blur[1] / blur[0] == pytest.approx(fine.width_px / coarse.width_px, rel=1e-6)
