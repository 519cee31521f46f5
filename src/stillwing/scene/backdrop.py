"""What stands behind the animals, at its own distance, through the same lens; painted once per burst."""

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.errors import UnknownThing
from stillwing.scene.animals.pose import Light
from stillwing.scene.camera import Camera, px_per_metre
from stillwing.scene.grounds import bark, gravel, sky, water
from stillwing.scene.heldout import HELD_OUT_BACKGROUNDS
from stillwing.scene.lens import kernel
from stillwing.scene.paint import Bytes, decoded
from stillwing.scene.plants import foliage, grass, leaves, reeds, stalk
from stillwing.scene.sensor import LIGHT_UNIT

__all__ = ["FAMILIES", "PAINTERS", "TUNING_FAMILIES", "Backdrop", "Perch", "paint_backdrop"]

Painter = Callable[[np.random.Generator, int, int, float, Light], Bytes]
PAINTERS: dict[str, Painter] = {
    "water": water,
    "reeds": reeds,
    "leaves": leaves,
    "grass": grass,
    "foliage": foliage,
    "sky": sky,
    "bark": bark,
    "gravel": gravel,
}
FAMILIES = tuple(PAINTERS)
TUNING_FAMILIES = tuple(name for name in FAMILIES if name not in HELD_OUT_BACKGROUNDS)
COARSEST_DISC_PX = 14.0
"""A backdrop is painted so coarsely that its discs are not larger than this."""


@dataclass(frozen=True, slots=True)
class Perch:
    """A stalk or twig through ``foot_m`` and ``top_m`` (x, y, z from the lens), ``radius_m`` thick."""

    foot_m: tuple[float, float, float]
    top_m: tuple[float, float, float]
    radius_m: float
    colour: tuple[float, float, float]
    seed: int


@dataclass(frozen=True, slots=True)
class Backdrop:
    """One family at one distance."""

    family: str
    distance_m: float
    seed: int
    brightness: float = 1.0


def paint_backdrop(
    backdrop: Backdrop,
    perches: tuple[Perch, ...],
    camera: Camera,
    light: Light,
    margin_px: tuple[int, int, int, int],
    drift_px: tuple[float, float],
) -> NDArray[np.uint16]:
    """Return the background as the lens draws it, shape (3, rows, cols), `LIGHT_UNIT` for linear light 1.0.

    Parameters
    ----------
    backdrop, perches : Backdrop, tuple of Perch
        What is there; perches stand before the backdrop.
    camera, light : Camera, Light
        Lens, focus and illumination.
    margin_px : tuple of int
        Pixels needed beyond the frame on its left, top, right and bottom, for a camera that turns.
    drift_px : tuple of float
        How far the picture moves during one exposure, (x, y).

    Raises
    ------
    UnknownThing
        If no such family is known.
    """
    if backdrop.family not in PAINTERS:
        raise UnknownThing(f"no background called {backdrop.family!r}; there are {', '.join(FAMILIES)}")
    left, top, right, bottom = margin_px
    rows, cols = camera.height_px + top + bottom, camera.width_px + left + right
    disc = float(camera.disc_px(backdrop.distance_m))
    coarse = _coarseness(disc, rows, cols)
    scale = px_per_metre(camera, backdrop.distance_m)
    rng = np.random.default_rng(backdrop.seed)
    painted = PAINTERS[backdrop.family](rng, -(-rows // coarse), -(-cols // coarse), scale / coarse, light)
    linear = _through_lens(painted, camera, disc, coarse, drift_px) * np.float32(backdrop.brightness)
    out = _full_size(linear, coarse, rows, cols)
    for perch in perches:
        _stand_before(out, perch, camera, light, (left, top), drift_px)
    return out


def _coarseness(disc_px: float, rows: int, cols: int) -> int:
    coarse = 1
    while disc_px / coarse > COARSEST_DISC_PX and min(rows, cols) / coarse > 60:
        coarse *= 2
    return coarse


def _through_lens(
    painted: Bytes, camera: Camera, disc_px: float, coarse: int, drift_px: tuple[float, float]
) -> NDArray[np.float32]:
    path = np.linspace(-0.5, 0.5, 33)[:, None] * np.asarray(drift_px) / coarse
    spread = kernel(disc_px / coarse, camera.optics_variance_px**0.5 / coarse, path)
    linear = decoded(painted)
    return np.asarray(cv2.filter2D(linear, cv2.CV_32F, spread, borderType=cv2.BORDER_REFLECT), np.float32)


def _full_size(linear: NDArray[np.float32], coarse: int, rows: int, cols: int) -> NDArray[np.uint16]:
    out = np.empty((3, rows, cols), np.uint16)
    for channel in range(3):
        plane = np.ascontiguousarray(linear[..., channel]) * np.float32(LIGHT_UNIT)
        if coarse > 1:
            size = (plane.shape[1] * coarse, plane.shape[0] * coarse)
            plane = np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_LINEAR), np.float32)
        out[channel] = np.clip(plane[:rows, :cols] + 0.5, 0, 65535)
    return out


def _stand_before(
    out: NDArray[np.uint16],
    perch: Perch,
    camera: Camera,
    light: Light,
    origin: tuple[int, int],
    drift_px: tuple[float, float],
) -> None:
    """Lay one stalk over the backdrop, blurred by its own distance."""
    rng = np.random.default_rng(perch.seed)
    ends = []
    for x, y, z in (perch.foot_m, perch.top_m):
        scale = px_per_metre(camera, z)
        ends.append((x * scale + camera.width_px / 2 + origin[0], y * scale + camera.height_px / 2 + origin[1]))
    distance = (perch.foot_m[2] + perch.top_m[2]) / 2
    half = perch.radius_m * px_per_metre(camera, distance)
    disc = float(camera.disc_px(distance))
    pad = int(half * 1.3 + disc + 12)
    rows, cols = out.shape[1:]
    xs, ys = [e[0] for e in ends], [e[1] for e in ends]
    x0, x1 = max(0, int(min(xs)) - pad), min(cols, int(max(xs)) + pad)
    y0, y1 = max(0, int(min(ys)) - pad), min(rows, int(max(ys)) + pad)
    if x1 <= x0 or y1 <= y0:
        return
    fine = 2 if disc < 12 else 1
    canvas = np.zeros(((y1 - y0) * fine, (x1 - x0) * fine, 3), np.uint8)
    cover = np.zeros(canvas.shape[:2], np.uint8)
    foot, top = (((x - x0) * fine, (y - y0) * fine) for x, y in ends)
    stalk(
        canvas,
        rng,
        light,
        foot=foot,
        top=top,
        half_width=half * fine,
        colour=np.array(perch.colour),
        bow=rng.normal(0, 0.01),
        taper=0.75,
        cover=cover,
    )
    grain = cv2.resize(
        rng.standard_normal((canvas.shape[0] // 3 + 1, max(2, canvas.shape[1] // 3)), np.float32), canvas.shape[1::-1]
    )
    alpha = cover.astype(np.float32) / 255
    tone = (1 + 0.16 * grain)[..., None].clip(0.3)
    rgba: NDArray[np.float32] = np.dstack([decoded(canvas) * tone * alpha[..., None], alpha]).astype(np.float32)
    path = np.linspace(-0.5, 0.5, 33)[:, None] * np.asarray(drift_px) * fine
    spread = kernel(disc * fine, camera.optics_variance_px**0.5 * fine, path)
    rgba = np.asarray(cv2.filter2D(rgba, cv2.CV_32F, spread, borderType=cv2.BORDER_REPLICATE), np.float32)
    if fine > 1:
        rgba = np.asarray(cv2.resize(rgba, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA), np.float32)
    for channel in range(3):
        part = out[channel, y0:y1, x0:x1]
        mixed = part * (1 - rgba[..., 3]) + rgba[..., channel] * LIGHT_UNIT
        np.copyto(part, np.clip(mixed + 0.5, 0, 65535).astype(np.uint16))
