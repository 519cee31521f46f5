"""Animals in motion: where each one is, how it is held and how its wings beat, as functions of time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.pose import Light, Pose
from stillwing.scene.backdrop import Backdrop, Perch
from stillwing.scene.camera import Camera

__all__ = ["Actor", "Scene", "pan_at", "pose_at", "position_at"]

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Actor:
    """One animal over the burst, sampled at ``times_s`` (n,) and read off between by straight lines.

    ``positions_m`` (n, 3) of the body's middle: x right, y down, z away from the lens. ``angles_deg`` (n, 3) are yaw,
    pitch and roll. ``beating`` (n,) is 1 in flight and 0 on the perch.
    """

    kind: str
    seed: int
    length_m: float
    times_s: Reals
    positions_m: Reals
    angles_deg: Reals
    beating: Reals
    wingbeat_hz: float
    amplitude_deg: float
    elevation_deg: float = 0.0
    phase: float = 0.0
    folds: bool = False
    """On the perch its wings are closed."""
    abdomen_bend: float = 3.0


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a burst shows; ``pan_px`` (n, 2) at ``pan_times_s`` is the camera's turning, as picture motion."""

    scenario: str
    camera: Camera
    light: Light
    actors: tuple[Actor, ...]
    backdrop: Backdrop
    perches: tuple[Perch, ...]
    pan_times_s: Reals
    pan_px: Reals
    n_frames: int


def position_at(actor: Actor, when: Reals) -> Reals:
    """Return places of the body's middle at times ``when`` (n,), shape (n, 3). [m]"""
    columns = (np.interp(when, actor.times_s, actor.positions_m[:, axis]) for axis in range(3))
    return np.stack(list(columns), 1)


def pan_at(scene: Scene, when: Reals) -> Reals:
    """Return how far the picture has moved by the camera's turning at times ``when`` (n,), shape (n, 2). [px]"""
    return np.stack([np.interp(when, scene.pan_times_s, scene.pan_px[:, axis]) for axis in (0, 1)], 1)


def pose_at(actor: Actor, when: float) -> Pose:
    """Return the attitude at one instant."""
    yaw, pitch, roll = (float(np.interp(when, actor.times_s, actor.angles_deg[:, axis])) for axis in range(3))
    flying = float(np.interp(when, actor.times_s, actor.beating))
    is_perched = flying < 0.5
    return Pose(
        yaw_deg=yaw,
        pitch_deg=pitch,
        roll_deg=roll,
        elevation_deg=actor.elevation_deg,
        wing_phase=(actor.phase + actor.wingbeat_hz * when) % 1.0,
        wing_amplitude_deg=0.0 if is_perched else actor.amplitude_deg,
        wing_spread=0.0 if is_perched and actor.folds else 1.0,
        abdomen_bend=actor.abdomen_bend,
        is_perched=is_perched,
    )
