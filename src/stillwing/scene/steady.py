"""A scene for checking predictions: in each frame an animal passes the middle evenly, at a given offset from focus."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stillwing.errors import UnknownThing
from stillwing.scene.actors import Actor, Scene
from stillwing.scene.animals.draw import KINDS
from stillwing.scene.backdrop import Backdrop
from stillwing.scene.camera import Camera
from stillwing.scene.flights import times_for
from stillwing.scene.scenarios import light_called

__all__ = ["Steady", "steady_scene"]

FAR = 8.0
"""The background lies this many times as far as the focal plane, so that nothing of it is sharp."""


@dataclass(frozen=True, slots=True)
class Steady:
    """The animal and its even motion.

    ``speed_m_s`` is across the line of sight, ``angle_deg`` the body's turn out of the focal plane.
    """

    kind: str
    length_m: float
    speed_m_s: float
    angle_deg: float
    wingbeat_hz: float
    amplitude_deg: float
    """From the middle to a turn of the stroke; 0 sits still."""


def steady_scene(camera: Camera, animal: Steady, offsets_m: Sequence[float], seed: int) -> Scene:
    """Return a scene of one frame per offset from the focal plane, the animal in the middle of each.

    Parameters
    ----------
    camera : Camera
        Focused where it shall be.
    animal : Steady
        What flies, and how.
    offsets_m : sequence of float
        Offset of the body's middle from the focal plane in each frame, away from the lens. [m]
    seed : int
        Chooses individual, light and background.

    Raises
    ------
    UnknownThing
        If there is no such kind of animal.
    """
    if animal.kind not in KINDS:
        raise UnknownThing(f"no animal called {animal.kind!r}; there are {', '.join(KINDS)}")
    rng = np.random.default_rng([seed, 41])
    n = len(offsets_m)
    times = times_for(n / camera.frames_per_s)
    frame = np.clip(np.round(times * camera.frames_per_s).astype(int), 0, n - 1)
    # Read-out and exposure of the middle row begin half a read-out after the frame does.
    middle = frame / camera.frames_per_s + camera.readout_s / 2 + camera.exposure_s / 2
    path = np.stack(
        [
            animal.speed_m_s * (times - middle),
            np.zeros_like(times),
            camera.focus_distance_m + np.asarray(offsets_m, np.float64)[frame],
        ],
        1,
    )
    angles = np.tile([animal.angle_deg, 5.0, 0.0], (len(times), 1))
    flies = np.full(len(times), float(animal.amplitude_deg > 0))
    actor = Actor(
        animal.kind,
        int(rng.integers(2**31)),
        animal.length_m,
        times,
        path,
        angles,
        flies,
        animal.wingbeat_hz,
        animal.amplitude_deg,
        elevation_deg=8.0,
        phase=float(rng.uniform()),
    )
    backdrop = Backdrop("leaves", FAR * camera.focus_distance_m, int(rng.integers(2**31)), 1.0)
    still = np.zeros((len(times), 2))
    return Scene("steady", camera, light_called("front", rng), (actor,), backdrop, (), times, still, n)
