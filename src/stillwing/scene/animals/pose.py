"""How an animal is held towards the camera, and how it is lit.

Body axes: x forward, y to the animal's left, z to its back (up). View axes: x right, y down, z away from the camera.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Light", "Pose", "View", "body_to_camera", "to_sun"]


@dataclass(frozen=True, slots=True)
class Pose:
    """Attitude and wings. Angles in degrees.

    ``yaw_deg`` 0 flies to the right of the picture, 90 towards the camera, 180 to the left; ``pitch_deg`` lifts the
    head; ``roll_deg`` lifts the left side; ``elevation_deg`` is how far above the animal the camera stands.
    ``wing_phase`` runs 0 to 1 over one beat; ``wing_amplitude_deg`` is half the stroke, 0 for wings held still;
    ``wing_spread`` 1 is open and 0 folded; ``abdomen_bend`` curls the abdomen down by that angle.
    """

    yaw_deg: float = 0.0
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    elevation_deg: float = 0.0
    wing_phase: float = 0.0
    wing_amplitude_deg: float = 0.0
    wing_spread: float = 1.0
    wing_rest_deg: float = 5.0
    abdomen_bend: float = 0.0
    is_perched: bool = False


@dataclass(frozen=True, slots=True)
class Light:
    """Sun, sky and what the ground throws back, as linear colours (a white card facing the sun gets ``sun`` + sky).

    ``sun_azimuth_deg`` 0 is behind the camera (front light), 90 to the right, 180 straight into the lens.
    """

    sun_azimuth_deg: float = 30.0
    sun_altitude_deg: float = 40.0
    sun: tuple[float, float, float] = (0.95, 0.90, 0.80)
    sky: tuple[float, float, float] = (0.22, 0.27, 0.34)
    ground: tuple[float, float, float] = (0.09, 0.09, 0.06)


@dataclass(frozen=True, slots=True)
class View:
    """How a body length becomes pixels: ``rotation`` (3, 3) from body to camera axes, then ``length_px``.

    ``shear`` (2, 2) is what a rolling read-out does to a mover; ``offset_px`` is the place of the body's middle within
    its pixel.
    """

    rotation: NDArray[np.float64]
    length_px: float
    offset_px: tuple[float, float] = (0.0, 0.0)
    shear: tuple[tuple[float, float], tuple[float, float]] = ((1.0, 0.0), (0.0, 1.0))

    def picture(self, seen: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return x, y [px] and depth [px] of points (..., 3) in camera axes and body lengths."""
        out = seen * self.length_px
        out[..., :2] = out[..., :2] @ np.array(self.shear).T + np.array(self.offset_px)
        return out


def to_sun(light: Light) -> NDArray[np.float32]:
    """Return the unit vector to the sun in camera axes, shape (3,)."""
    az, alt = np.radians(light.sun_azimuth_deg), np.radians(light.sun_altitude_deg)
    return np.array([np.sin(az) * np.cos(alt), -np.sin(alt), -np.cos(az) * np.cos(alt)], np.float32)


def body_to_camera(pose: Pose) -> NDArray[np.float64]:
    """Return the rotation from body axes to camera axes, shape (3, 3)."""
    y, p, r, e = np.radians([pose.yaw_deg, pose.pitch_deg, pose.roll_deg, pose.elevation_deg])
    roll = np.array([[1, 0, 0], [0, np.cos(r), -np.sin(r)], [0, np.sin(r), np.cos(r)]])
    pitch = np.array([[np.cos(p), 0, -np.sin(p)], [0, 1, 0], [np.sin(p), 0, np.cos(p)]])
    # Columns: where forward, left and up point in the camera's axes.
    heading = np.array([[np.cos(y), np.sin(y), 0], [0, 0, -1], [-np.sin(y), np.cos(y), 0]])
    # A camera above the animal sees its back: up (-y) turns towards the camera (-z).
    above = np.array([[1, 0, 0], [0, np.cos(e), -np.sin(e)], [0, np.sin(e), np.cos(e)]])
    return np.asarray(above @ heading @ pitch @ roll, np.float64)
