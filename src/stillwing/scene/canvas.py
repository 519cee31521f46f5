"""Pieces of an animal laid over each other through the lens, each blurred slice by slice of its depth."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.camera import Camera
from stillwing.scene.lens import filtered, kernel
from stillwing.scene.moment import Moment
from stillwing.scene.pieces import Piece

__all__ = ["Canvas"]

Floats = NDArray[np.float32]
MOST_SLICES = 7
WORTH_A_SLICE = 0.22
"""Share of a disc by which the next slice's may differ."""


class Canvas:
    """Premultiplied light ``rgba`` and ``cover`` over the part of the frame that the animal can reach.

    ``whole_cover`` sums the cover of all pieces, ``shown_cover`` what of it lies within the frame.
    """

    def __init__(self, pieces: list[Piece], camera: Camera, moment: Moment, length_m: float) -> None:
        self.camera, self.moment, self.length_m = camera, moment, length_m
        self.whole_cover = self.shown_cover = 0.0
        boxes = np.array([self._box(piece) for piece in pieces])
        x0, y0 = np.maximum(boxes[:, :2].min(0), 0)
        x1, y1 = np.minimum(boxes[:, 2:].max(0), (camera.width_px, camera.height_px))
        self.x, self.y = int(x0), int(y0)
        self.is_empty = bool(x1 <= x0 or y1 <= y0)
        shape = (max(int(y1 - y0), 0), max(int(x1 - x0), 0))
        self.rgba = np.zeros((*shape, 4), np.float32)
        self.cover = np.zeros(shape, np.float32)
        if not self.is_empty:
            for piece in pieces:
                self._lay(piece)

    def _distances(self, piece: Piece) -> tuple[float, float]:
        shown = piece.layer.cover > 0.5
        if not shown.any():
            return self.moment.distance_m, self.moment.distance_m
        depth = piece.layer.depth[shown]
        low, high = float(depth.min()), float(depth.max())
        return self.moment.distance_m + low * self.length_m, self.moment.distance_m + high * self.length_m

    def _reach(self, piece: Piece) -> int:
        """Return how far the piece spreads. [px of the frame]"""
        disc = float(self.camera.disc_px(np.array(self._distances(piece))).max())
        return int(np.ceil(np.abs(self.moment.path_px).max() + disc / 2 + 4 * self.camera.optics_variance_px**0.5)) + 3

    def _box(self, piece: Piece) -> tuple[int, int, int, int]:
        """Return (x0, y0, x1, y1) of what the piece can reach. [px of the frame]"""
        a, f, reach = piece.layer, piece.fine, self._reach(piece)
        rows, cols = a.alpha.shape
        return a.x // f - reach, a.y // f - reach, -(-(a.x + cols) // f) + reach, -(-(a.y + rows) // f) + reach

    def _lay(self, piece: Piece) -> None:
        a, f = piece.layer, piece.fine
        self.whole_cover += float(a.cover.sum()) / f**2
        rows, cols = self.cover.shape
        bx0, by0, bx1, by1 = self._box(piece)
        # What lies beyond the edge by more than the reach spreads nothing into the frame.
        reach = self._reach(piece)
        x0, y0 = max(bx0, self.x - reach), max(by0, self.y - reach)
        x1, y1 = min(bx1, self.x + cols + reach), min(by1, self.y + rows + reach)
        sx0, sy0 = max(a.x, x0 * f), max(a.y, y0 * f)
        sx1, sy1 = min(a.x + a.alpha.shape[1], x1 * f), min(a.y + a.alpha.shape[0], y1 * f)
        if sx1 <= sx0 or sy1 <= sy0:
            return
        stack = np.zeros(((y1 - y0) * f, (x1 - x0) * f, 5), np.float32)
        distance = np.full(stack.shape[:2], self.moment.distance_m, np.float32)
        source = np.s_[sy0 - a.y : sy1 - a.y, sx0 - a.x : sx1 - a.x]
        target = np.s_[sy0 - y0 * f : sy1 - y0 * f, sx0 - x0 * f : sx1 - x0 * f]
        stack[target][..., :3] = a.rgb[source]
        stack[target][..., 3] = a.alpha[source]
        stack[target][..., 4] = a.cover[source]
        distance[target] += a.depth[source] * np.float32(self.length_m)
        spread = self._sliced(stack, distance, f)
        if f > 1:
            spread = np.asarray(cv2.resize(spread, (x1 - x0, y1 - y0), interpolation=cv2.INTER_AREA), np.float32)
        ix0, iy0 = max(x0, self.x), max(y0, self.y)
        ix1, iy1 = min(x1, self.x + cols), min(y1, self.y + rows)
        spread = spread[iy0 - y0 : iy1 - y0, ix0 - x0 : ix1 - x0]
        here = np.s_[iy0 - self.y : iy1 - self.y, ix0 - self.x : ix1 - self.x]
        # Slices of one surface may cover a pixel more than once where it folds before itself.
        excess = np.maximum(spread[..., 3:4], 1)
        rgba = spread[..., :4] / excess
        self.rgba[here] = rgba + self.rgba[here] * (1 - rgba[..., 3:4])
        self.shown_cover += float(np.clip(spread[..., 4], 0, 1).sum())
        self.cover[here] = np.maximum(self.cover[here], np.clip(spread[..., 4], 0, 1))

    def _sliced(self, stack: Floats, distance: Floats, fine: int) -> Floats:
        """Return a piece through the lens; a depth between two slices is shared among them, so that no seam shows."""
        path = self.moment.path_px * fine
        sigma = self.camera.optics_variance_px**0.5 * fine
        shown = stack[..., 4] > 0.01
        if not shown.any():
            return stack
        low, high = float(distance[shown].min()), float(distance[shown].max())
        discs = self.camera.disc_px(np.array([low, high]))
        is_across = low < self.camera.focus_distance_m < high
        change = float(discs.sum() if is_across else np.ptp(discs))
        n = int(np.clip(np.ceil(change / max(0.6, WORTH_A_SLICE * float(discs.mean()))), 1, MOST_SLICES))
        if n == 1:
            middle = float(np.median(distance[shown]))
            return filtered(stack, kernel(float(self.camera.disc_px(middle)) * fine, sigma, path))
        total = np.zeros_like(stack)
        centres = np.linspace(low, high, n + 1)
        step = np.float32(centres[1] - centres[0])
        for centre in centres:
            weight = np.clip(1 - np.abs(distance - np.float32(centre)) / step, 0, 1) * shown
            ys, xs = np.flatnonzero(weight.any(1)), np.flatnonzero(weight.any(0))
            if not len(ys):
                continue
            spread = kernel(float(self.camera.disc_px(float(centre))) * fine, sigma, path)
            pad = spread.shape[0] // 2 + 1
            here = np.s_[max(ys[0] - pad, 0) : ys[-1] + pad + 1, max(xs[0] - pad, 0) : xs[-1] + pad + 1]
            total[here] += filtered(stack[here] * weight[here][..., None], spread)
        return total
