"""Fine lines on an animal: hairs and barbs on a surface, legs and antennae with their spines."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.model import Hairs, Stroke, Surface
from stillwing.scene.animals.pose import Light, View, to_sun
from stillwing.scene.animals.sprite import Layer

__all__ = ["draw_stroke", "with_hairs"]

Floats = NDArray[np.float32]
INK_FINE = 2
"""Hairs and legs are drawn this many times larger, then reduced."""


class Ink:
    """A canvas for fine lines: premultiplied, square-root encoded bytes, drawn INK_FINE times larger."""

    def __init__(self, x: int, y: int, cols: int, rows: int) -> None:
        self.x, self.y = x, y
        self.bytes = np.zeros((rows * INK_FINE, cols * INK_FINE, 4), np.uint8)

    def line(
        self, a: NDArray[np.float64], b: NDArray[np.float64], colour: NDArray[np.floating], width_px: float
    ) -> None:
        """Draw from ``a`` to ``b`` (x, y px of the sprite) in linear ``colour``."""
        code = [float(c) for c in np.sqrt(np.clip(colour, 0, 1)) * 255]
        thick = width_px * INK_FINE
        cover = min(1.0, thick)
        start = np.round(((a - (self.x, self.y)) * INK_FINE + 0.5) * 16).astype(int)
        end = np.round(((b - (self.x, self.y)) * INK_FINE + 0.5) * 16).astype(int)
        ink = (code[0] * cover, code[1] * cover, code[2] * cover, 255.0 * cover)
        cv2.line(self.bytes, start.tolist(), end.tolist(), ink, max(1, round(thick)), cv2.LINE_AA, 4)

    def spread(self) -> tuple[Floats, Floats]:
        """Return (premultiplied linear rgb, alpha) at the sprite's own size."""
        rows, cols = self.bytes.shape[0] // INK_FINE, self.bytes.shape[1] // INK_FINE
        rgb, alpha = np.zeros((rows, cols, 3), np.float32), np.zeros((rows, cols), np.float32)
        blocks = self.bytes.reshape(rows, INK_FINE, cols, INK_FINE, 4)
        inked = self.bytes[..., 3].reshape(rows, INK_FINE, cols, INK_FINE).any((1, 3))
        ys, xs = np.nonzero(inked)
        code = blocks[ys, :, xs].reshape(len(ys), -1, 4).astype(np.float32) / 255
        alpha[ys, xs] = code[..., 3].mean(1)
        rgb[ys, xs] = (code[..., :3] ** 2 / np.maximum(code[..., 3:], 1e-3)).mean(1)
        return rgb, alpha


def with_hairs(
    layer: Layer,
    surface: Surface,
    seen: NDArray[np.float64],
    normals: NDArray[np.float64],
    light: Light,
    view: View,
) -> Layer:
    """Return the layer with the surface's hairs on it; ``seen`` and ``normals`` are its grid in camera axes."""
    pad = int(np.ceil(max(h.length for h in surface.hairs) * 1.2 * view.length_px)) + 2
    rows, cols = layer.alpha.shape
    ink = Ink(layer.x - pad, layer.y - pad, cols + 2 * pad, rows + 2 * pad)
    for hairs in surface.hairs:
        _draw_hairs(ink, surface, hairs, seen, normals, light, view)
    rgb, alpha = ink.spread()
    part = np.pad(layer.part, pad)
    known = part > 0
    total = alpha + np.pad(layer.alpha, pad) * (1 - alpha)
    fringe = (total > 0.01) & ~known
    # Depth and label of a hair are those of the nearest piece of surface.
    _, label = cv2.distanceTransformWithLabels(
        (~known).astype(np.uint8), cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL
    )
    root = np.zeros(int(label.max()) + 1, np.intp)
    root[label[known]] = np.flatnonzero(known)
    depth = np.pad(layer.depth, pad)
    depth[fringe] = depth.ravel()[root[label[fringe]]]
    part[fringe] = part.ravel()[root[label[fringe]]]
    rgb += np.pad(layer.rgb, ((pad, pad), (pad, pad), (0, 0))) * (1 - alpha)[..., None]
    return Layer(layer.name, rgb, total, total, depth, part, layer.x - pad, layer.y - pad)


def _draw_hairs(
    ink: Ink,
    surface: Surface,
    hairs: Hairs,
    seen: NDArray[np.float64],
    normals: NDArray[np.float64],
    light: Light,
    view: View,
) -> None:
    rng = np.random.default_rng(hairs.seed)
    n, m = seen.shape[:2]
    u = rng.uniform(*hairs.u_range, hairs.count)
    v = rng.uniform(*hairs.v_range, hairs.count) % 1.0
    i, j = u * (n - 1), v * (m - 1)
    i0, j0 = np.minimum(i.astype(int), n - 2), np.minimum(j.astype(int), m - 2)
    fi, fj = (i - i0)[:, None], (j - j0)[:, None]

    def at(grid: NDArray[np.float64]) -> NDArray[np.float64]:
        near = grid[i0, j0] * (1 - fi) + grid[i0 + 1, j0] * fi
        return np.asarray(near * (1 - fj) + (grid[i0, j0 + 1] * (1 - fi) + grid[i0 + 1, j0 + 1] * fi) * fj, np.float64)

    root, normal, along = at(seen), at(normals), at(np.gradient(seen, axis=0))
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
    lean = normal * (1 - hairs.backward) + along * hairs.backward + hairs.spread * rng.standard_normal(root.shape)
    lean /= np.linalg.norm(lean, axis=1, keepdims=True)
    tip = root + lean * (hairs.length * rng.uniform(0.5, 1.2, hairs.count))[:, None]
    shown = np.flatnonzero(normal[:, 2] < 0.15)
    albedo = surface.material.albedo
    rows, cols = albedo.shape[:2]
    own = albedo[np.minimum((v * rows).astype(int), rows - 1), np.minimum((u * cols).astype(int), cols - 1)]
    colour = own if hairs.colour is None else np.broadcast_to(np.asarray(hairs.colour, np.float32), own.shape)
    # A hair is a thin cylinder: it is brightest when the light meets it square on.
    across = np.sqrt(np.clip(1 - (lean @ to_sun(light)) ** 2, 0, 1))
    up_side = np.clip(0.40 + 0.70 * (normal @ to_sun(light)), 0.08, 1)
    lit = (across * up_side)[:, None] * np.asarray(light.sun) + np.asarray(light.sky) * 0.8
    colour = (colour * lit * rng.uniform(0.7, 1.25, (hairs.count, 1)) * surface.shade_scale).astype(np.float32)
    starts, ends = view.picture(root)[:, :2], view.picture(tip)[:, :2]
    width_px = max(0.28, hairs.width * view.length_px)
    for k in shown[np.argsort(-root[shown, 2])]:
        ink.line(starts[k], ends[k], colour[k], width_px)


def draw_stroke(stroke: Stroke, view: View, light: Light) -> Layer:
    """Return a leg or antenna as a round limb: dark, with a lit flank towards the sun, and its spines."""
    seen = stroke.points @ view.rotation.T
    length_px = view.length_px
    xy = view.picture(seen)[:, :2]
    pad = int(np.ceil((stroke.radii.max() + stroke.spine_length) * length_px)) + 3
    x0, y0 = np.floor(xy.min(0)).astype(int) - pad
    x1, y1 = np.ceil(xy.max(0)).astype(int) + pad
    ink = Ink(int(x0), int(y0), int(x1 - x0), int(y1 - y0))
    sun_at = to_sun(light)
    base = np.asarray(stroke.colour, np.float32)
    sky = np.asarray(light.sky, np.float32)
    sun = np.asarray(light.sun, np.float32)
    dark = base * (sky * 0.7 + np.asarray(light.ground, np.float32))
    rng = np.random.default_rng(len(stroke.points) + stroke.spines)
    for k in range(len(xy) - 1):
        radius = max(0.35, float(stroke.radii[k : k + 2].mean()) * length_px)
        limb = seen[k + 1] - seen[k]
        step = limb / max(float(np.linalg.norm(limb)), 1e-9)
        for _ in range(stroke.spines // max(1, len(xy) - 1)):
            t = rng.uniform()
            root = xy[k] * (1 - t) + xy[k + 1] * t
            lean = rng.standard_normal(2) + 0.6 * step[:2]
            lean /= max(float(np.linalg.norm(lean)), 1e-6)
            tip = root + lean * (stroke.spine_length * length_px * rng.uniform(0.6, 1.1) + radius)
            ink.line(root, tip, dark * 1.2, 0.6)
        ink.line(xy[k], xy[k + 1], dark, 2 * radius)
        # The lit flank: a narrower stroke moved towards the sun, as far as the limb is round.
        across = sun_at - step * float(sun_at @ step)
        side = across[:2] * radius * 0.45
        strength = float(np.clip(np.linalg.norm(across) * (0.35 - 0.65 * across[2]), 0, 1))
        if radius > 0.6:
            ink.line(xy[k] + side, xy[k + 1] + side, base * (sun * strength + sky), 1.1 * radius)
            ink.line(
                xy[k] + side * 1.2,
                xy[k + 1] + side * 1.2,
                base * (sun * strength + sky) + 0.10 * sun * strength,
                0.4 * radius,
            )
        else:
            ink.line(xy[k], xy[k + 1], base * (0.7 * sun * strength + sky), 1.4 * radius)
    rgb, alpha = ink.spread()
    depth = np.full(alpha.shape, float(seen[:, 2].mean()), np.float32)
    if len(seen) > 1:
        # Depth follows the line: every pixel takes that of the nearest point of the polyline.
        at = np.linspace(0, len(seen) - 1, 24)
        dense = np.stack([np.interp(at, np.arange(len(seen)), seen[:, c]) for c in range(3)], 1)
        marks = np.full(alpha.shape, 255, np.uint8)
        px = np.clip(np.round(view.picture(dense)[:, :2] - (x0, y0)).astype(int), 0, np.array(alpha.shape[::-1]) - 1)
        marks[px[:, 1], px[:, 0]] = 0
        _, label = cv2.distanceTransformWithLabels(marks, cv2.DIST_L2, 3, labelType=cv2.DIST_LABEL_PIXEL)
        of_label = np.zeros(int(label.max()) + 1, np.float32)
        of_label[label[px[:, 1], px[:, 0]]] = dense[:, 2]
        depth = of_label[label]
    part = np.where(alpha > 0.01, np.uint8(stroke.part), np.uint8(0)).astype(np.uint8)
    return Layer("stroke", rgb, alpha, alpha, depth, part, int(x0), int(y0))
