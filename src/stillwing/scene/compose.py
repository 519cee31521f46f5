"""One animal in one frame: drawn, moved through the exposure, blurred by its depth; with the truth of that blur."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.optics.spread import PIXEL_VARIANCE, axes, blur_of, disc_variance, path_covariance
from stillwing.scene.actors import Actor, Scene, pan_at, pose_at, position_at
from stillwing.scene.animals.draw import build_animal
from stillwing.scene.animals.pose import Pose, View, body_to_camera
from stillwing.scene.animals.sprite import BODY_PARTS, Layer
from stillwing.scene.animals.view import view_layers, view_wings
from stillwing.scene.camera import Camera, px_per_metre
from stillwing.scene.lens import filtered, kernel

__all__ = ["MOSAIC_VARIANCE", "Seen", "see"]

Floats = NDArray[np.float32]
MOSAIC_VARIANCE = 0.11
"""What interpolating the colour mosaic adds per axis; measured on slanted edges by tests/scene/test_truth. [px^2]"""
SHARPEST_SHARE = 20.0
"""Percentile of blur over the visible body that counts as the animal's sharpest part."""
MOST_PHASES = 9
SMALLEST_PX = 8.0


@dataclass(frozen=True, slots=True)
class Seen:
    """An animal as the lens draws it: premultiplied ``rgb``, ``alpha`` and ``cover`` at (``x``, ``y``) of the frame.

    Pieces beyond the frame are cut off; ``share_in_frame`` says how much was left. ``truth`` is what is known of it.
    """

    rgb: Floats
    alpha: Floats
    cover: Floats
    x: int
    y: int
    distance_m: float
    share_in_frame: float
    truth: dict[str, object]


@dataclass(frozen=True, slots=True)
class _Moment:
    """The animal at the middle of its exposure: place in the picture, path during the exposure, scale."""

    place_px: NDArray[np.float64]
    path_px: NDArray[np.float64]
    speed_px: NDArray[np.float64]
    position_m: NDArray[np.float64]
    length_px: float
    start_s: float
    middle_s: float


def see(scene: Scene, actor: Actor, frame_start_s: float) -> Seen | None:
    """Return the animal in the frame whose first row is read at ``frame_start_s``; ``None`` where nothing shows."""
    camera = scene.camera
    moment = _moment(scene, actor, frame_start_s)
    if moment.length_px < SMALLEST_PX or not _may_show(camera, moment):
        return None
    pose = pose_at(actor, moment.middle_s)
    depth_sigma = float(np.sqrt(disc_variance(camera.disc_px(moment.position_m[2]))))
    blur = float(np.hypot(depth_sigma, blur_of(path_covariance(moment.path_px))))
    # Twice as fine where the sprite's own pixels would show in the blur; large blurs need no fineness.
    fine = 2 if blur < 1.6 or moment.length_px < 500 else 1
    pieces, phases = _pieces(scene, actor, moment, pose, fine)
    canvas = _Canvas(pieces, camera, moment, fine)
    if canvas.is_empty:
        return None
    for layer in pieces:
        canvas.lay(layer, actor.length_m)
    rgb, alpha, cover, x, y = canvas.reduced()
    cropped = _in_frame(camera, rgb, alpha, cover, x, y)
    if cropped is None:
        return None
    rgb, alpha, cover, x, y, share = cropped
    body = next(layer for layer in pieces if layer.name == "body")
    truth = _truth(camera, actor, moment, pose, body, phases, fine)
    return Seen(rgb, alpha, cover, x, y, float(moment.position_m[2]), share, truth)


def _moment(scene: Scene, actor: Actor, frame_start_s: float) -> _Moment:
    camera = scene.camera
    row_s = camera.readout_s / camera.height_px

    def place(when: NDArray[np.float64]) -> NDArray[np.float64]:
        at = position_at(actor, when)
        scale = np.array([px_per_metre(camera, z) for z in at[:, 2]])
        middle = np.array([(camera.width_px - 1) / 2, (camera.height_px - 1) / 2])
        return np.asarray(at[:, :2] * scale[:, None] + middle - pan_at(scene, when), np.float64)

    # A row's exposure begins as late as the row is read; two rounds settle which row the animal is on.
    row = camera.height_px / 2
    for _ in range(2):
        start = frame_start_s + row * row_s
        row = float(np.clip(place(np.array([start]))[0, 1], 0, camera.height_px))
    start = frame_start_s + row * row_s
    times = start + camera.exposure_s * np.linspace(0, 1, 33)
    path = place(times)
    middle = path[16]
    position = position_at(actor, times[16:17])[0]
    speed = (path[-1] - path[0]) / camera.exposure_s
    length_px = actor.length_m * px_per_metre(camera, float(position[2]))
    return _Moment(middle, path - middle, speed, position, length_px, start, float(times[16]))


def _may_show(camera: Camera, moment: _Moment) -> bool:
    reach = 1.3 * moment.length_px + float(camera.disc_px(float(moment.position_m[2])))
    x, y = moment.place_px
    return bool(-reach < x < camera.width_px + reach and -reach < y < camera.height_px + reach)


def _pieces(scene: Scene, actor: Actor, moment: _Moment, pose: Pose, fine: int) -> tuple[list[Layer], list[Pose]]:
    """Return the layers at the middle of the exposure, wings averaged over it, and the poses averaged."""
    camera = scene.camera
    row_s = camera.readout_s / camera.height_px
    vx, vy = moment.speed_px * row_s
    offset = moment.place_px * fine + (fine - 1) / 2
    corner = np.floor(offset)

    def view(of: Pose) -> View:
        return View(
            body_to_camera(of),
            moment.length_px * fine,
            (float(offset[0] - corner[0]), float(offset[1] - corner[1])),
            ((1.0, float(vx)), (0.0, float(1 + vy))),
        )

    model = build_animal(actor.kind, pose, moment.length_px * fine, actor.seed)
    layers = view_layers(model, view(pose), scene.light)
    sweep = 4 * actor.wingbeat_hz * camera.exposure_s * np.radians(pose.wing_amplitude_deg) * 0.75 * moment.length_px
    count = int(np.clip(np.ceil(sweep / 6), 1, MOST_PHASES)) if pose.wing_amplitude_deg else 1
    phases = [pose]
    if count > 1:
        steps = ((np.arange(count) + 0.5) / count - 0.5) * camera.exposure_s * actor.wingbeat_hz
        phases = [replace(pose, wing_phase=(pose.wing_phase + step) % 1.0) for step in steps]
        drawn = []
        for other in phases:
            turned = build_animal(actor.kind, other, moment.length_px * fine, actor.seed)
            drawn.append({layer.name: layer for layer in view_wings(turned, view(other), scene.light)})
        layers = [
            layer
            if layer.name == "body"
            else _averaged(layer.name, [d[layer.name] for d in drawn if layer.name in d], count)
            for layer in layers
        ]
    x, y = int(corner[0]), int(corner[1])
    return [replace(layer, x=layer.x + x, y=layer.y + y) for layer in layers], phases


def _averaged(name: str, layers: list[Layer], count: int) -> Layer:
    x0, y0 = min(a.x for a in layers), min(a.y for a in layers)
    cols = max(a.x + a.alpha.shape[1] for a in layers) - x0
    rows = max(a.y + a.alpha.shape[0] for a in layers) - y0
    rgb = np.zeros((rows, cols, 3), np.float32)
    alpha, cover, depth = (np.zeros((rows, cols), np.float32) for _ in range(3))
    part = np.zeros((rows, cols), np.uint8)
    for a in layers:
        here = np.s_[a.y - y0 : a.y - y0 + a.alpha.shape[0], a.x - x0 : a.x - x0 + a.alpha.shape[1]]
        rgb[here] += a.rgb / count
        alpha[here] += a.alpha / count
        depth[here] += a.depth * a.cover / count
        cover[here] += a.cover / count
        part[here] = np.maximum(part[here], a.part)
    return Layer(
        name, rgb, alpha, cover, (depth / np.maximum(cover, np.float32(1e-6))).astype(np.float32), part, x0, y0
    )


class _Canvas:
    """Layers laid over each other through the lens, ``fine`` times as fine as the frame, cut to what may show."""

    def __init__(self, pieces: list[Layer], camera: Camera, moment: _Moment, fine: int) -> None:
        self.camera, self.fine = camera, fine
        self.path = moment.path_px * fine
        self.distance = float(moment.position_m[2])
        reach = int(np.abs(moment.path_px).max() * fine) + 8 * fine
        depths = np.array(
            [[p.depth[p.cover > 0.5].min(initial=0), p.depth[p.cover > 0.5].max(initial=0)] for p in pieces]
        )
        length_m = moment.length_px / px_per_metre(camera, self.distance)
        farthest = self.distance + np.array([depths.min(), depths.max()]) * length_m
        reach += int(camera.disc_px(farthest).max() * fine / 2) + 2
        x0 = max(min(a.x for a in pieces) - reach, -reach)
        y0 = max(min(a.y for a in pieces) - reach, -reach)
        x1 = min(max(a.x + a.alpha.shape[1] for a in pieces) + reach, camera.width_px * fine + reach)
        y1 = min(max(a.y + a.alpha.shape[0] for a in pieces) + reach, camera.height_px * fine + reach)
        # Whole pixels of the frame.
        self.x, self.y = (x0 // fine) * fine, (y0 // fine) * fine
        cols, rows = -(-(x1 - self.x) // fine) * fine, -(-(y1 - self.y) // fine) * fine
        self.is_empty = cols <= 0 or rows <= 0
        self.rgba = np.zeros((max(rows, 0), max(cols, 0), 4), np.float32)
        self.cover = np.zeros(self.rgba.shape[:2], np.float32)
        self.reach = reach

    def lay(self, layer: Layer, length_m: float) -> None:
        """Blur a layer slice by slice of its depth and put it over what is there."""
        rows, cols = self.cover.shape
        x0, y0 = max(layer.x - self.reach, self.x), max(layer.y - self.reach, self.y)
        x1 = min(layer.x + layer.alpha.shape[1] + self.reach, self.x + cols)
        y1 = min(layer.y + layer.alpha.shape[0] + self.reach, self.y + rows)
        if x1 <= x0 or y1 <= y0:
            return
        stack = np.zeros((y1 - y0, x1 - x0, 5), np.float32)
        sx0, sy0 = max(layer.x, x0), max(layer.y, y0)
        sx1, sy1 = min(layer.x + layer.alpha.shape[1], x1), min(layer.y + layer.alpha.shape[0], y1)
        if sx1 <= sx0 or sy1 <= sy0:
            return
        source = np.s_[sy0 - layer.y : sy1 - layer.y, sx0 - layer.x : sx1 - layer.x]
        target = np.s_[sy0 - y0 : sy1 - y0, sx0 - x0 : sx1 - x0]
        stack[target][..., :3] = layer.rgb[source]
        stack[target][..., 3] = layer.alpha[source]
        stack[target][..., 4] = layer.cover[source]
        depth = np.zeros(stack.shape[:2], np.float32)
        depth[target] = layer.depth[source]
        spread = self._sliced(stack, self.distance + depth * np.float32(length_m))
        alpha = np.clip(spread[..., 3], 0, 1)
        over = np.where(spread[..., 3] > 1, 1 / np.maximum(spread[..., 3], 1), 1)
        here = np.s_[y0 - self.y : y1 - self.y, x0 - self.x : x1 - self.x]
        self.rgba[here][..., :3] *= (1 - alpha)[..., None]
        self.rgba[here][..., :3] += spread[..., :3] * over[..., None]
        self.rgba[here][..., 3] = alpha + self.rgba[here][..., 3] * (1 - alpha)
        self.cover[here] = np.maximum(self.cover[here], np.clip(spread[..., 4], 0, 1))

    def _sliced(self, stack: Floats, distance: Floats) -> Floats:
        """Return the layer through the lens: a depth between two slices is shared among them, so no seam shows."""
        shown = stack[..., 4] > 0.01
        if not shown.any():
            return stack
        low, high = float(distance[shown].min()), float(distance[shown].max())
        ends = self.camera.disc_px(np.array([low, high, (low + high) / 2]))
        if low < self.camera.focus_distance_m < high:
            ends = np.append(ends, 0.0)
        change = float(ends.max() - ends.min())
        n = int(np.clip(np.ceil(change / max(0.6, 0.22 * float(ends.mean()))), 1, 7))
        sigma = self.camera.optics_variance_px**0.5 * self.fine
        if n == 1:
            return filtered(stack, kernel(float(ends.mean()) * self.fine, sigma, self.path))
        total = np.zeros_like(stack)
        centres = np.linspace(low, high, n + 1)
        step = centres[1] - centres[0]
        for centre in centres:
            weight = np.clip(1 - np.abs(distance - np.float32(centre)) / np.float32(step), 0, 1) * shown
            ys, xs = np.flatnonzero(weight.any(1)), np.flatnonzero(weight.any(0))
            if not len(ys):
                continue
            spread = kernel(float(self.camera.disc_px(float(centre))) * self.fine, sigma, self.path)
            pad = spread.shape[0] // 2 + 1
            here = np.s_[max(ys[0] - pad, 0) : ys[-1] + pad + 1, max(xs[0] - pad, 0) : xs[-1] + pad + 1]
            total[here] += filtered(stack[here] * weight[here][..., None], spread)
        return total

    def reduced(self) -> tuple[Floats, Floats, Floats, int, int]:
        """Return (rgb, alpha, cover, x, y) on the frame's pixels."""
        f = self.fine
        rgba, cover = self.rgba, self.cover
        if f > 1:
            size = (rgba.shape[1] // f, rgba.shape[0] // f)
            rgba = np.asarray(cv2.resize(rgba, size, interpolation=cv2.INTER_AREA), np.float32)
            cover = np.asarray(cv2.resize(cover, size, interpolation=cv2.INTER_AREA), np.float32)
        return rgba[..., :3], rgba[..., 3], cover, self.x // f, self.y // f


def _in_frame(
    camera: Camera, rgb: Floats, alpha: Floats, cover: Floats, x: int, y: int
) -> tuple[Floats, Floats, Floats, int, int, float] | None:
    whole = float(cover.sum())
    x0, y0 = max(x, 0), max(y, 0)
    x1, y1 = min(x + alpha.shape[1], camera.width_px), min(y + alpha.shape[0], camera.height_px)
    if x1 <= x0 or y1 <= y0 or whole <= 0:
        return None
    here = np.s_[y0 - y : y1 - y, x0 - x : x1 - x]
    return rgb[here], alpha[here], cover[here], x0, y0, float(cover[here].sum()) / whole


def _truth(
    camera: Camera, actor: Actor, moment: _Moment, pose: Pose, body: Layer, phases: list[Pose], fine: int
) -> dict[str, object]:
    path = path_covariance(moment.path_px)
    floor = camera.optics_variance_px + PIXEL_VARIANCE + MOSAIC_VARIANCE
    rotation = body_to_camera(pose)
    points = build_animal(actor.kind, pose, moment.length_px * fine, actor.seed).points
    at_phase = [
        (build_animal(actor.kind, p, moment.length_px * fine, actor.seed).points, body_to_camera(p)) for p in phases
    ]

    def blur_at(distance_m: float, motion: NDArray[np.float64]) -> dict[str, float]:
        total = motion + np.eye(2) * (float(disc_variance(camera.disc_px(distance_m))) + floor)
        found = axes(total)
        return {
            "minor_px": found.minor,
            "major_px": found.major,
            "direction_deg": found.direction_deg,
            "blur_px": blur_of(total),
        }

    blur: dict[str, object] = {}
    tips: dict[str, object] = {}
    places: dict[str, list[float]] = {}
    for name, point in points.items():
        x, y, z = rotation @ point
        distance = float(moment.position_m[2]) + float(z) * actor.length_m
        places[name] = [
            float(moment.place_px[0] + x * moment.length_px),
            float(moment.place_px[1] + y * moment.length_px),
        ]
        if name.startswith("wing"):
            swing = np.array([(turn @ named[name])[:2] * moment.length_px for named, turn in at_phase])
            own = np.cov(swing.T, bias=True) if len(swing) > 1 else np.zeros((2, 2))
            tips[name.removesuffix("_tip")] = blur_at(distance, path + own)
        else:
            blur[name] = blur_at(distance, path)
    blur["wing_tips"] = tips
    sharpest_at = _sharpest_distance(camera, actor, moment, body, fine)
    sharpest = blur_at(sharpest_at, path)
    defocus = float(np.sqrt(disc_variance(camera.disc_px(sharpest_at))))
    motion = axes(path).major
    sharpest |= {"defocus_px": defocus, "motion_px": motion}
    return {
        "kind": actor.kind,
        "individual": actor.seed,
        "position_m": [float(v) for v in moment.position_m],
        "offset_m": float(moment.position_m[2]) - camera.focus_distance_m,
        "length_px": moment.length_px,
        "yaw_deg": pose.yaw_deg % 360,
        "is_perched": pose.is_perched,
        "points_px": places,
        "blur": blur,
        "sharpest": sharpest | {"kind": _cause(defocus, motion, floor)},
    }


def _sharpest_distance(camera: Camera, actor: Actor, moment: _Moment, body: Layer, fine: int) -> float:
    """Return the distance whose blur is the wanted percentile over the body that lies within the frame."""
    rows, cols = body.alpha.shape
    top, left = max(0, -body.y), max(0, -body.x)
    here = np.s_[
        top : max(top, min(rows, camera.height_px * fine - body.y)),
        left : max(left, min(cols, camera.width_px * fine - body.x)),
    ]
    counted = (body.alpha[here] > 0.5) & np.isin(body.part[here], BODY_PARTS)
    if not counted.any():
        return float(moment.position_m[2])
    distances = float(moment.position_m[2]) + body.depth[here][counted].astype(np.float64) * actor.length_m
    discs = camera.disc_px(distances)
    wanted = float(np.percentile(discs, SHARPEST_SHARE))
    return float(distances[np.abs(discs - wanted).argmin()])


def _cause(defocus: float, motion: float, floor_variance: float) -> str:
    """Return which cause rules: sharp where neither reaches the blur that is always there."""
    floor = floor_variance**0.5
    if max(defocus, motion) < 0.6 * floor:
        return "sharp"
    if motion >= 2 * defocus:
        return "motion"
    return "defocus" if defocus >= 2 * motion else "mixed"
