"""Draw a grid of points in space as a surface: coverage, and attributes interpolated per pixel."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["Patch", "rasterise"]

FINE = 2
"""Coverage is counted on FINE x FINE points per pixel."""
SHIFT_BITS = 4


@dataclass(frozen=True, slots=True)
class Patch:
    """A piece of picture at (``x``, ``y``): coverage shape (rows, cols); attributes only where it is covered.

    ``ys`` and ``xs`` shape (p,) are the covered pixels, ``values`` shape (p, k) their attributes.
    """

    coverage: NDArray[np.float32]
    ys: NDArray[np.intp]
    xs: NDArray[np.intp]
    values: NDArray[np.float32]
    x: int
    y: int


def rasterise(points: NDArray[np.float64], attributes: NDArray[np.float64], *, is_closed: bool) -> Patch | None:
    """Return the drawn surface, or ``None`` where nothing of it faces the camera.

    ``points`` has shape (n, m, 3): x and y in pixels and depth; ``attributes`` (n, m, k). Nearer triangles cover
    farther ones; of a closed surface the far side is left out.
    """
    n, m = points.shape[:2]
    index = np.arange(n * m).reshape(n, m)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    triangles = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([a, c, d], -1).reshape(-1, 3)])
    flat = points.reshape(-1, 3)
    corner = flat[triangles]
    e1, e2 = corner[:, 1, :2] - corner[:, 0, :2], corner[:, 2, :2] - corner[:, 0, :2]
    area = e1[:, 0] * e2[:, 1] - e1[:, 1] * e2[:, 0]
    shown = area > 1e-6 if is_closed else np.abs(area) > 1e-6
    if not shown.any():
        return None
    triangles, corner, area = triangles[shown], corner[shown], area[shown]
    order = np.argsort(-corner[:, :, 2].mean(1), kind="stable")
    triangles, corner = triangles[order], corner[order]
    x0, y0 = np.floor(corner[:, :, :2].min((0, 1))).astype(int) - 2
    x1, y1 = np.ceil(corner[:, :, :2].max((0, 1))).astype(int) + 3
    cols, rows = int(x1 - x0), int(y1 - y0)
    fine = np.full((rows * FINE, cols * FINE), -1, np.int32)
    at = (corner[:, :, :2] - (x0, y0)) * FINE + (FINE - 1) / 2
    at_int = np.round(at * (1 << SHIFT_BITS)).astype(np.int32)
    for number, polygon in enumerate(at_int):
        cv2.fillConvexPoly(fine, polygon, number, cv2.LINE_8, SHIFT_BITS)
    covered = (fine >= 0).astype(np.uint8) * np.uint8(255)
    coverage = cv2.resize(covered, (cols, rows), interpolation=cv2.INTER_AREA).astype(np.float32) / np.float32(255)
    ys, xs = np.nonzero(coverage > 0)
    middle = FINE // 2
    number_at = fine[ys * FINE + middle, xs * FINE + middle]
    edge = np.flatnonzero(number_at < 0)
    # A pixel whose middle is bare takes any triangle that touches it: its plane reaches that far.
    blocks = fine.reshape(rows, FINE, cols, FINE)
    number_at[edge] = blocks[ys[edge], :, xs[edge], :].max((1, 2))
    known = number_at >= 0
    ys, xs, number_at = ys[known], xs[known], number_at[known]
    values = attributes.reshape(n * m, -1)[triangles]
    matrix = np.concatenate([corner[:, :, :2] - (x0, y0), np.ones((len(corner), 3, 1))], 2)
    plane = np.linalg.solve(matrix, values).astype(np.float32)
    at_pixel = plane[:, 2][number_at]
    at_pixel += plane[:, 0][number_at] * xs[:, None].astype(np.float32)
    at_pixel += plane[:, 1][number_at] * ys[:, None].astype(np.float32)
    # The plane of a triangle seen nearly edge on rises by metres within a pixel: it reaches its own span beyond its
    # corners and no farther, or lenses would spread such a sliver over gigabytes.
    low, high = values.min(1).astype(np.float32), values.max(1).astype(np.float32)
    at_pixel = np.clip(at_pixel, (2 * low - high)[number_at], (2 * high - low)[number_at])
    return Patch(coverage, ys, xs, at_pixel, int(x0), int(y0))
