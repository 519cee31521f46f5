"""Bursts with a known flight: what a camera would have measured of them, drawn from a rendered scene's own truth."""

import math
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from stillwing.flight.seen import FlightKit, SeenFrame
from stillwing.frames.chunk import measure_chunk
from stillwing.frames.frame import Burst
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Box, MeasuredFrame, Slip
from stillwing.optics.framing import sensor_distance
from stillwing.optics.prediction import sharpest_distance
from stillwing.optics.scale import FOCAL_SHARE
from stillwing.optics.spread import MOSAIC_VARIANCE, PIXEL_VARIANCE, disc_variance, path_covariance
from stillwing.optics.subject import Range
from stillwing.review.burstseen import placed, seen_animal
from stillwing.scene.actors import Actor, Scene, pan_at, pose_at
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import Camera, camera_of
from stillwing.scene.moment import Moment, moment_of
from stillwing.scene.scenarios import Wishes, plan_scene

__all__ = ["FlightCase", "case_of", "half_depth_mm", "measured_case"]

CENTRE_SHARE, SIZE_SHARE, BLUR_SHARE, SLIP_PX = 0.015, 0.04, 0.09, 0.5
"""Errors as standard deviations: of centre and size over the size, of the blur as a share, of the background. Places
and blur as flight_boxes.py finds them on rendered outings, blur without what a burst's readings share."""
COMMON_BLUR_SHARE = 0.06
"""By which all readings of blur of a burst go wrong alike."""
WINGS_SHARE = 0.04
"""By which the box grows and shrinks with the wings."""
THICKNESS_SHARE = 0.15
LENS_SHARE = 0.02
FEWEST_FRAMES = 8
WIDEST_TURN_DEG = 12.0
"""The scenes turn no focal plane with the camera, so that longer pans are left out."""
TAIL = 1.645
MOTION_SEEN = 1.5
"""The direction of a blur shows where the way in the exposure is so many times the rest of it."""


@dataclass(frozen=True, slots=True)
class FlightCase:
    """What was seen of one burst, and what is true: places (n, 3) in mm, the third from the focal plane."""

    scenario: str
    frames: tuple[SeenFrame, ...]
    kit: FlightKit
    focus_m: Range
    times_s: np.ndarray
    places_mm: np.ndarray

    @property
    def mean_speed_m_s(self) -> float:
        """Way from frame to frame over the time."""
        steps = np.linalg.norm(np.diff(self.places_mm, axis=0), axis=1)
        return float(steps.sum() / (self.times_s[-1] - self.times_s[0]) / 1000)

    @property
    def angle_deg(self) -> float:
        """Of the way from first to last frame to the focal plane, positive towards the lens."""
        way = self.places_mm[-1] - self.places_mm[0]
        return math.degrees(math.atan2(-way[2], math.hypot(way[0], way[1])))


def case_of(scenario: str, seed: int) -> FlightCase | None:
    """Return a burst with measurements drawn from truth and their errors; ``None`` where too little of it shows."""
    scene, rng = _scene(scenario, seed, Camera()), np.random.default_rng([seed, 11])
    n = np.arange(scene.n_frames)
    moments = [moment_of(scene, scene.actors[0], k / scene.camera.frames_per_s) for k in n]
    shown = [k for k in n if _inside(scene.camera, moments[k])]
    if len(shown) < FEWEST_FRAMES or np.ptp(shown) + 1 != len(shown) or _turns_far(scene, moments, shown):
        return None
    common = math.exp(rng.normal(0, COMMON_BLUR_SHARE))
    frames = [_drawn(scene, moments[k], int(k), common, rng) for k in shown]
    return _case(scenario, scene, [moments[k] for k in shown], frames, rng)


def measured_case(scenario: str, seed: int) -> FlightCase | None:
    """Return a burst that is rendered, small, and measured by the pipeline with its true boxes unknown to it."""
    scene, rng = _scene(scenario, seed, camera_of(5.0)), np.random.default_rng([seed, 11])
    with tempfile.TemporaryDirectory(prefix="flight-") as scratch:
        folder = Path(scratch) / "burst"
        truth = render_scene(scene, folder, seed)
        listed = list_frames(folder).frames
        chunk = measure_chunk(Burst(folder.name, tuple(listed)), use_previews=False)
    moments = [moment_of(scene, scene.actors[0], k / scene.camera.frames_per_s) for k in range(scene.n_frames)]
    boxes = {f["file"]: Box(*map(float, f["animals"][0]["box"])) for f in truth["frames"] if f["animals"]}
    seen, at = [], []
    for k, frame in enumerate(chunk.frames):
        box = boxes.get(frame.path.name)
        # A person confirms that the box is on the animal, and leaves out those that the edge cuts.
        if frame.animals and box and frame.animals[0].box.overlap(box) > 0.5 and not frame.animals[0].edge_clipped:
            one = seen_animal(k / scene.camera.frames_per_s, frame.animals[0].box, frame.animals[0].blur)
            slip = frame.slip
            seen.append(one if slip is None else _with_slips(one, [slip]))
            at.append(k)
    if len(at) < FEWEST_FRAMES or _turns_far(scene, moments, at):
        return None
    found = placed(_bridged(seen, at, chunk.frames), [chunk.frames[k].animals[0] for k in at])
    return _case(scenario, scene, [moments[k] for k in at], found, rng)


def _scene(scenario: str, seed: int, camera: Camera) -> Scene:
    rng = np.random.default_rng([seed, 5])
    rate = float(rng.choice([18.0, 30.0, 50.0]))
    camera = replace(camera, frames_per_s=rate, f_number=float(rng.choice([5.6, 6.7, 8.0, 11.0])))
    n_frames = {"pass": 24, "hover": 30}.get(scenario, 36)
    return plan_scene(scenario, camera, n_frames, seed, Wishes())


def _inside(camera: Camera, moment: Moment) -> bool:
    half, (x, y) = moment.length_px / 2, moment.place_px
    return bool(half < x < camera.width_px - half and half < y < camera.height_px - half)


def _turns_far(scene: Scene, moments: Sequence[Moment], shown: Sequence[int]) -> bool:
    across = np.array([moments[k].position_m[:2] for k in shown])
    return bool(np.degrees(np.ptp(across, axis=0).max() / scene.camera.focus_distance_m) > WIDEST_TURN_DEG)


def _case(
    scenario: str, scene: Scene, moments: Sequence[Moment], frames: Sequence[SeenFrame], rng: np.random.Generator
) -> FlightCase:
    camera = scene.camera
    sensor_m = float(sensor_distance(camera.focal_length_mm, 1000 * camera.focus_distance_m)) / 1000
    told_m = sensor_m * math.exp(rng.normal(0, LENS_SHARE / TAIL))
    focal = camera.focal_length_mm * math.exp(rng.normal(0, FOCAL_SHARE / TAIL))
    kit = FlightKit(
        camera.pitch_mm,
        Range(focal * (1 - FOCAL_SHARE), focal, focal * (1 + FOCAL_SHARE)),
        camera.f_number,
        camera.exposure_s,
        camera.width_px,
        camera.height_px,
        row_s=camera.readout_s / camera.height_px,
        own_blur_px=camera.lens_sigma_px,
    )
    focus = Range(told_m * (1 - LENS_SHARE), told_m, told_m * (1 + LENS_SHARE))
    places = 1000 * (np.array([m.position_m for m in moments]) - [0, 0, camera.focus_distance_m])
    return FlightCase(scenario, tuple(frames), kit, focus, np.array([m.middle_s for m in moments]), places)


def _drawn(scene: Scene, moment: Moment, number: int, common: float, rng: np.random.Generator) -> SeenFrame:
    camera, actor = scene.camera, scene.actors[0]
    pose = pose_at(actor, moment.middle_s)
    turned, half = math.radians(pose.yaw_deg), _half_depth_mm(actor, moment.middle_s)
    offset = 1000 * (moment.distance_m - camera.focus_distance_m)
    away = float(sharpest_distance(np.array(half), np.array(offset)))
    # The disc of a point so far off, on the animal's own side.
    side = math.copysign(away, offset) / 1000
    disc = float(disc_variance(camera.disc_px(camera.focus_distance_m + side)))
    rest = camera.optics_variance_px + PIXEL_VARIANCE + MOSAIC_VARIANCE + disc
    values, vectors = np.linalg.eigh(path_covariance(moment.path_px) + rest * np.eye(2))
    minor, major = np.sqrt(values)
    err = common * math.exp(rng.normal(0, BLUR_SHARE))
    size = moment.length_px * (abs(math.cos(turned)) + THICKNESS_SHARE * abs(math.sin(turned)))
    beat = WINGS_SHARE * math.sin(2 * math.pi * pose.wing_phase) * (not pose.is_perched)
    moved = math.sqrt(max(major**2 - minor**2, 0.0) * 12)
    # The background is read over the whole frame: its rows are those of the middle, on average.
    middle = camera.readout_s / 2 + camera.exposure_s / 2
    starts = np.array([number - 1, number]) / camera.frames_per_s + middle
    slip = -np.diff(pan_at(scene, starts), axis=0)[0] + rng.normal(0, SLIP_PX, 2)
    blur, wide = math.hypot(minor, major) / math.sqrt(2) * err, math.exp(TAIL * BLUR_SHARE)
    centre_sd = CENTRE_SHARE * size
    return SeenFrame(
        number / camera.frames_per_s,
        float(moment.place_px[0] + rng.normal(0, centre_sd)),
        float(moment.place_px[1] + rng.normal(0, centre_sd)),
        centre_sd,
        size * (1 + beat) * math.exp(rng.normal(0, SIZE_SHARE)),
        math.hypot(SIZE_SHARE, WINGS_SHARE) * size,
        float(minor * err),
        float(major * err),
        blur / wide,
        blur * wide,
        float(np.degrees(np.arctan2(vectors[1, 1], vectors[0, 1])) % 180) if moved > MOTION_SEEN * minor else math.nan,
        float(slip[0]) if number else math.nan,
        float(slip[1]) if number else math.nan,
        SLIP_PX if number else math.nan,
    )


def half_depth_mm(scenario: str, seed: int) -> float:
    """Return half of what the body takes up along the line of sight in the middle of the burst of `case_of`. [mm]"""
    scene = _scene(scenario, seed, Camera())
    return _half_depth_mm(scene.actors[0], scene.n_frames / scene.camera.frames_per_s / 2)


def _half_depth_mm(actor: Actor, when_s: float) -> float:
    turned = math.radians(pose_at(actor, when_s).yaw_deg)
    return 1000 * actor.length_m * (abs(math.sin(turned)) + THICKNESS_SHARE * abs(math.cos(turned))) / 2


def _bridged(seen: Sequence[SeenFrame], at: Sequence[int], frames: Sequence[MeasuredFrame]) -> list[SeenFrame]:
    """Return frames whose background shift reaches back over those between that were left out."""
    out = [seen[0]]
    for frame, before, here in zip(seen[1:], at, at[1:], strict=False):
        slips = [frames[k].slip for k in range(before + 1, here + 1)]
        if any(slip is None for slip in slips):
            out.append(replace(frame, background_x_px=math.nan))
            continue
        known = [slip for slip in slips if slip is not None]
        out.append(_with_slips(frame, known))
    return out


def _with_slips(frame: SeenFrame, slips: Sequence[Slip]) -> SeenFrame:
    return replace(
        frame,
        background_x_px=sum(slip.x_px for slip in slips),
        background_y_px=sum(slip.y_px for slip in slips),
        background_sd_px=math.hypot(*(slip.sd_px for slip in slips)),
    )
