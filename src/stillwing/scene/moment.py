"""Where an animal is during one frame's exposure, and how large: projection, panning, rolling read-out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.scene.actors import Actor, Scene, pan_at, position_at
from stillwing.scene.animals.pose import Pose, View, body_to_camera
from stillwing.scene.camera import Camera, px_per_metre

__all__ = ["Moment", "may_show", "moment_of", "view_of"]

PATH_POINTS = 33


@dataclass(frozen=True, slots=True)
class Moment:
    """The animal at the middle of its exposure.

    ``place_px`` (2,) is the body's middle in the frame, ``path_px`` (n, 2) its way during the exposure from there,
    ``speed_px`` its speed per second, ``position_m`` (3,) its place in the world.
    """

    place_px: NDArray[np.float64]
    path_px: NDArray[np.float64]
    speed_px: NDArray[np.float64]
    position_m: NDArray[np.float64]
    length_px: float
    middle_s: float

    @property
    def distance_m(self) -> float:
        """Distance of the body's middle along the line of sight."""
        return float(self.position_m[2])


def moment_of(scene: Scene, actor: Actor, frame_start_s: float) -> Moment:
    """Return the moment for the frame whose first row is read at ``frame_start_s``."""
    camera = scene.camera
    row_s = camera.readout_s / camera.height_px
    middle_px = np.array([(camera.width_px - 1) / 2, (camera.height_px - 1) / 2])

    def place(when: NDArray[np.float64]) -> NDArray[np.float64]:
        at = position_at(actor, when)
        scale = np.array([px_per_metre(camera, z) for z in at[:, 2]])
        return np.asarray(at[:, :2] * scale[:, None] + middle_px - pan_at(scene, when), np.float64)

    # A row's exposure begins as late as the row is read; two rounds settle which row the animal is on.
    row = camera.height_px / 2
    for _ in range(2):
        start = frame_start_s + row * row_s
        row = float(np.clip(place(np.array([start]))[0, 1], 0, camera.height_px))
    times = frame_start_s + row * row_s + camera.exposure_s * np.linspace(0, 1, PATH_POINTS)
    path = place(times)
    half = PATH_POINTS // 2
    position = position_at(actor, times[half : half + 1])[0]
    length_px = actor.length_m * px_per_metre(camera, float(position[2]))
    speed = (path[-1] - path[0]) / camera.exposure_s
    return Moment(path[half], path - path[half], speed, position, length_px, float(times[half]))


def may_show(camera: Camera, moment: Moment) -> bool:
    """Whether any of the animal can reach into the frame."""
    reach = 1.3 * moment.length_px + float(camera.disc_px(moment.distance_m))
    x, y = moment.place_px
    return bool(-reach < x < camera.width_px + reach and -reach < y < camera.height_px + reach)


def view_of(camera: Camera, moment: Moment, pose: Pose, fine: int) -> View:
    """Return the projection of the animal, ``fine`` pixels to one of the frame, about its own pixel.

    Rows read later see a mover farther on: a shear for sideways motion, a stretch for motion up or down.
    """
    vx, vy = moment.speed_px * camera.readout_s / camera.height_px
    at = moment.place_px * fine + (fine - 1) / 2
    within = at - np.floor(at)
    shear = ((1.0, float(vx)), (0.0, float(1 + vy)))
    return View(body_to_camera(pose), moment.length_px * fine, (float(within[0]), float(within[1])), shear)
