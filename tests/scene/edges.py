"""A card with slanted edges through the whole pipeline, and the spread measured on its edges (after ISO 12233)."""

from dataclasses import replace

import cv2
import numpy as np

from stillwing.scene.actors import Actor, Scene
from stillwing.scene.animals.pose import Light
from stillwing.scene.animals.target import SLANT_DEG
from stillwing.scene.backdrop import Backdrop
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import camera_of
from stillwing.scene.sensor import tone_curve

LEVEL = Light(sun=(0.9, 0.9, 0.9), sky=(0.5, 0.5, 0.5), ground=(0.5, 0.5, 0.5), sun_azimuth_deg=0)
STEP_PX = 0.125


def card_scene(camera=None, *, offset_m=0.0, velocity_m_s=(0.0, 0.0, 0.0), roll_deg=0.0):
    """Return one frame of a card that is ``offset_m`` off the focal plane and moves."""
    # A third of a 20 MP sensor's width: its pixels, so the optics' blur in pixels is a usual one.
    small = replace(
        camera_of(2), full_well_e=24000.0, sensor_width_mm=5.5, iso=200, jpeg_quality=99, preview_px=0, readout_s=0.0
    )
    camera = camera or small
    times = np.arange(-0.05, 0.1, 0.0005)
    start = np.array([0.0007, 0.0003, camera.focus_distance_m + offset_m])
    path = start + np.outer(times - camera.exposure_s / 2, velocity_m_s)
    angles = np.tile([90.0, 0.0, roll_deg], (len(times), 1))
    actor = Actor("card", 1, 0.024, times, path, angles, np.zeros(len(times)), 30.0, 0.0)
    far = Backdrop("sky", 1e5, 1, 0.12)
    return Scene("card", camera, LEVEL, (actor,), far, (), times, np.zeros((len(times), 2)), 1)


def measured(scene, folder, roll_deg=0.0):
    """Return (truth of the card, measured sigma across its upright edges, across its level ones). [px]"""
    truth = render_scene(scene, folder, 1, workers=1)
    frame = truth["frames"][0]
    card = frame["animals"][0]
    picture = cv2.imread(str(folder / frame["file"])).astype(np.float64) / 255
    luma = picture @ np.array([0.114, 0.587, 0.299])
    level = np.arange(65536) / 65535
    linear = np.interp(luma, tone_curve(level), level)
    centre, half = np.array(card["points_px"]["thorax"]), 0.35 * card["length_px"]
    reach = 4.5 + 2.2 * card["sharpest"]["major_px"]
    variances = []
    for quarter in range(4):
        turn = np.radians(-SLANT_DEG - roll_deg) + quarter * np.pi / 2
        normal = np.array([np.cos(turn), np.sin(turn)])
        variances.append(_variance_across(linear, centre + normal * half, normal, 0.8 * half, reach))
    across_upright, across_level = np.mean(variances[0::2]) ** 0.5, np.mean(variances[1::2]) ** 0.5
    return card, float(across_upright), float(across_level)


def _variance_across(linear, middle, normal, half_length, reach):
    y, x = np.mgrid[0 : linear.shape[0], 0 : linear.shape[1]]
    across = (x - middle[0]) * normal[0] + (y - middle[1]) * normal[1]
    along = -(x - middle[0]) * normal[1] + (y - middle[1]) * normal[0]
    near = (np.abs(across) < reach) & (np.abs(along) < half_length)
    cell = np.round((across[near] + reach) / STEP_PX).astype(int)
    count = np.bincount(cell)
    edge = np.bincount(cell, linear[near])[count > 0] / count[count > 0]
    at = (np.flatnonzero(count) * STEP_PX - reach).astype(float)
    line = np.diff(edge)
    middles = (at[1:] + at[:-1]) / 2
    line = line / line.sum()
    mean = (line * middles).sum()
    return (line * (middles - mean) ** 2).sum()
