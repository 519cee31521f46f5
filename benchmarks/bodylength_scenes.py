"""Rendered animals whose body length is known, each in a few poses from the side, small enough to be quick."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.framing import focus_distance_for
from stillwing.scene.actors import Actor, Scene, pose_at
from stillwing.scene.animals.draw import build_animal
from stillwing.scene.animals.pose import Light, Pose, View, body_to_camera
from stillwing.scene.animals.view import view_body
from stillwing.scene.backdrop import TUNING_FAMILIES, Backdrop
from stillwing.scene.burst import render_scene
from stillwing.scene.camera import Camera
from stillwing.scene.flights import times_for
from stillwing.scene.heldout import HELD_OUT_BACKGROUNDS, HELD_OUT_LIGHTS
from stillwing.scene.moment import moment_of
from stillwing.scene.pieces import pieces_of
from stillwing.scene.scenarios import light_called
from stillwing.scene.truth import mask_of, read_truth, truth_path

__all__ = ["FIRST_HELD_OUT", "KINDS", "SIDE_ON_DEG", "Case", "cases_of"]

KINDS = ("dragonfly", "damselfly", "bird")
FIRST_HELD_OUT = 100
"""Seeds from here on were never looked at while anything was set; some show held-out backgrounds and light."""
LENGTH_M = {"dragonfly": (0.036, 0.075), "damselfly": (0.030, 0.046), "bird": (0.11, 0.18)}
WINGS = {"dragonfly": (35.0, 40.0), "damselfly": (30.0, 50.0), "bird": (15.0, 45.0)}
"""Wingbeats per second, and half the stroke. [Hz, deg]"""
SIDE_ON_DEG = 15.0
WIDTH_PX, HEIGHT_PX = 800, 600
DRAWN_PX = 400.0
PITCH_MM = 17.4 / 5184
FRAMES_PER_S = 10.0
SIDE_ON_YAW_DEG = 14.0
"""Most turn of the body out of the focal plane for what is seen from the side; 90 for what is turned anyhow."""
MOST_OFFSET = 0.05
"""An animal lies within this share of the focus distance from the focal plane: with a short lens, still sharp there."""
MOST_DEPTH = 3.0
"""Slivers drawn farther than this from the animal's middle would be spread by the lens over gigabytes; body lengths."""
FLOOR_SHARE = 3.2
"""No scene is focused nearer than this many focal lengths."""


@dataclass(frozen=True, slots=True)
class Case:
    """One frame and what is true of it."""

    file: Path
    kind: str
    seed: int
    camera: dict[str, Any]
    length_mm: float
    """From the front of the head (a bird's bill tip) to the end of the abdomen (a bird's tail)."""
    tilt_deg: float
    """Of the body's axis out of the focal plane."""
    elevation_deg: float
    offset_m: float
    blur_px: float
    box: tuple[float, float, float, float]
    clipped: bool
    ends_px: tuple[tuple[float, float], tuple[float, float]]
    mask: NDArray[np.bool_]
    mask_step_px: int


def cases_of(
    kind: str, seed: int, store: Path, n_frames: int = 4, *, most_yaw_deg: float = SIDE_ON_YAW_DEG
) -> Iterator[Case]:
    """Yield the frames of one individual, rendered into ``store`` unless they are there already."""
    folder = store / f"{kind}-{seed}-{most_yaw_deg:g}"
    actor, scene = scene_of(kind, seed, n_frames, most_yaw_deg)
    if not truth_path(folder).exists():
        if not _is_drawable(actor, scene):
            return
        render_scene(scene, folder, seed, workers=1)
    for number, frame in enumerate(read_truth(truth_path(folder))["frames"]):
        for animal in frame["animals"]:
            yield _case(folder / frame["file"], actor, scene, number, animal)


def scene_of(kind: str, seed: int, n_frames: int, most_yaw_deg: float = SIDE_ON_YAW_DEG) -> tuple[Actor, Scene]:
    """Return an individual that sits or flies on the spot, turned anew for each frame, and the scene round it."""
    rng = np.random.default_rng([seed, 97, KINDS.index(kind)])
    length_m = float(rng.uniform(*LENGTH_M[kind]))
    # A dragonfly's wings are half as long again as its body, and shall fit in the frame.
    share = float(np.exp(rng.uniform(np.log(0.12), np.log(0.38 if kind == "dragonfly" else 0.52))))
    camera = _camera(rng, length_m, share)
    depth_m = 0.01 * rng.uniform(0, 7) / float(camera.disc_px(camera.focus_distance_m + 0.01))
    times = times_for(n_frames / FRAMES_PER_S)
    number = np.clip(np.round(times * FRAMES_PER_S).astype(int), 0, n_frames - 1)
    offset = rng.uniform(-1, 1, n_frames) * min(depth_m, MOST_OFFSET * camera.focus_distance_m)
    scale = length_m / (share * WIDTH_PX)
    place = rng.uniform(-1, 1, (n_frames, 2)) * scale * np.array([0.08 * WIDTH_PX, 0.08 * HEIGHT_PX])
    yaw = rng.uniform(-1, 1, n_frames) * most_yaw_deg + 180 * rng.integers(0, 2, n_frames)
    flies = bool(rng.uniform() < 0.6)
    angles = np.stack([yaw, rng.normal(5, 8, n_frames), rng.normal(0, 8, n_frames)], 1)
    hertz, stroke = WINGS[kind]
    actor = Actor(
        kind,
        int(rng.integers(2**31)),
        length_m,
        times,
        np.column_stack([place, camera.focus_distance_m + offset])[number],
        angles[number],
        np.full(len(times), float(flies)),
        hertz * float(rng.uniform(0.9, 1.1)),
        stroke * float(rng.uniform(0.8, 1.2)),
        elevation_deg=float(rng.choice([rng.normal(8, 8), rng.uniform(15, 60)])),
        phase=float(rng.uniform()),
        folds=kind in ("bird", "damselfly") and bool(rng.uniform() < 0.75),
        abdomen_bend=float(rng.normal(3, 4)),
    )
    is_held_out = seed >= FIRST_HELD_OUT
    grounds = (*TUNING_FAMILIES, *(HELD_OUT_BACKGROUNDS if is_held_out else ()))
    lights = ("front", "side", "cloudy", *(HELD_OUT_LIGHTS if is_held_out else ()))
    backdrop = Backdrop(str(rng.choice(grounds)), camera.focus_distance_m * rng.uniform(2, 8), int(rng.integers(2**31)))
    light = light_called(str(rng.choice(lights)), rng)
    return actor, Scene("side on", camera, light, (actor,), backdrop, (), times, np.zeros((len(times), 2)), n_frames)


def _is_drawable(actor: Actor, scene: Scene) -> bool:
    """Return whether no sliver of a surface seen edge on is drawn far from the animal."""
    for number in range(scene.n_frames):
        moment = moment_of(scene, actor, number / FRAMES_PER_S)
        pieces, _ = pieces_of(scene, actor, moment, pose_at(actor, moment.middle_s), 2)
        depths = [piece.layer.depth[piece.layer.cover > 0.01] for piece in pieces]
        if max(float(np.abs(depth).max(initial=0.0)) for depth in depths) > MOST_DEPTH:
            return False
    return True


def _camera(rng: np.random.Generator, length_m: float, share: float) -> Camera:
    focal = float(rng.choice([100.0, 180.0, 300.0, 420.0]))
    pitch = PITCH_MM * float(rng.choice([1.0, 1.3, 2.5]))
    m = share * WIDTH_PX * pitch / (length_m * 1000)
    return Camera(
        width_px=WIDTH_PX,
        height_px=HEIGHT_PX,
        sensor_width_mm=WIDTH_PX * pitch,
        focal_length_mm=focal,
        f_number=float(rng.choice([4.0, 5.6, 8.0])),
        exposure_s=1 / float(rng.choice([1000, 2000, 4000])),
        iso=int(rng.choice([400, 800, 1600])),
        focus_distance_m=max(float(focus_distance_for(focal, m)), FLOOR_SHARE * focal) / 1000,
        frames_per_s=FRAMES_PER_S,
        readout_s=1 / 500,
    )


def _case(file: Path, actor: Actor, scene: Scene, number: int, told: dict[str, Any]) -> Case:
    at = int(np.searchsorted(actor.times_s, number / FRAMES_PER_S))
    yaw, pitch, roll = (float(v) for v in actor.angles_deg[at])
    pose = Pose(yaw_deg=yaw, pitch_deg=pitch, roll_deg=roll, elevation_deg=actor.elevation_deg)
    rotation = body_to_camera(pose)
    front, rear = ends_of(actor.kind, actor.abdomen_bend, actor.seed)
    along = rotation @ (np.array(front) - np.array(rear))
    length = float(np.linalg.norm(along))
    middle = (
        np.array(told["points_px"]["thorax"]) - (rotation @ thorax_of(actor.kind, actor.seed))[:2] * told["length_px"]
    )
    ends = [tuple((middle + (rotation @ np.array(p))[:2] * told["length_px"]).tolist()) for p in (front, rear)]
    return Case(
        file,
        actor.kind,
        actor.seed,
        {name: getattr(scene.camera, name) for name in ("focal_length_mm", "f_number", "focus_distance_m")}
        | {"pitch_mm": scene.camera.pitch_mm},
        length * actor.length_m * 1000,
        float(np.degrees(np.arcsin(abs(along[2]) / length))),
        actor.elevation_deg,
        told["offset_m"],
        told["sharpest"]["blur_px"],
        tuple(map(float, told["box"])),
        told["clipped"],
        (ends[0], ends[1]),
        mask_of(told),
        told["mask"]["step_px"],
    )


@cache
def ends_of(kind: str, bend: float, seed: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the front and the rear of the body in body lengths, without legs and appendages, as drawn."""
    pose = Pose(abdomen_bend=bend)
    model = build_animal(kind, pose, DRAWN_PX, seed)
    points = {surface.name: surface.points.reshape(-1, 3) for surface in model.body}
    every = np.concatenate(list(points.values()))
    front = every[every[:, 0].argmax()]
    if "tail" not in points:
        last = points["abdomen"]
        return tuple(front.tolist()), tuple(last[last[:, 0] < last[:, 0].min() + 1e-3].mean(0).tolist())
    # Feathers end within the surface that they are painted on.
    seen = view_body(model, View(body_to_camera(pose), DRAWN_PX), Light())
    shown = np.flatnonzero((seen.alpha > 0.5).any(0))
    rear = (float(shown[0] + seen.x) / DRAWN_PX, 0.0, float(points["tail"][:, 2].mean()))
    return tuple(front.tolist()), rear


@cache
def thorax_of(kind: str, seed: int) -> NDArray[np.float64]:
    """Return the model's thorax point, which the truth gives in the picture."""
    return np.asarray(build_animal(kind, Pose(), 64.0, seed).points["thorax"], np.float64)
