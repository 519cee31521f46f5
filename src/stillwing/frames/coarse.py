"""The small picture in which the animal is looked for, made once from the full one."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.reduce import averaged, shrunk

__all__ = ["COARSE_LONG_PX", "DETAIL", "SMALL_FRAME_PX", "Coarse", "coarse_picture"]

COARSE_LONG_PX = 384
"""Long side of the coarse picture: an animal of 3 % of the frame is 12 px there."""
DETAIL = 4
"""Detail is measured at this many times the coarse size, so that sharpness survives the reduction."""
SMALL_FRAME_PX = 1000
"""Frames with a shorter long side hold small animals in few pixels, and are searched at twice the size."""


@dataclass(frozen=True, slots=True)
class Coarse:
    """A frame reduced for searching.

    ``grey`` is the mean grey and ``detail`` the mean absolute Laplacian of the middle-sized picture, both float32 of
    shape (rows, cols) in DN; ``scale_x`` and ``scale_y`` are pixels of the original per coarse pixel.
    """

    grey: NDArray[np.float32]
    detail: NDArray[np.float32]
    scale_x: float
    scale_y: float


def coarse_picture(luma: NDArray[np.uint8]) -> Coarse:
    """Return the coarse picture of a full-size grey one of shape (rows, cols)."""
    rows, cols = luma.shape
    long_side = max(rows, cols)
    coarse_long = COARSE_LONG_PX if long_side >= SMALL_FRAME_PX else 2 * COARSE_LONG_PX
    scale = long_side / coarse_long
    # Multiples of 32, because the network halves the picture five times.
    out_rows, out_cols = (max(32, round(side / scale / 32) * 32) for side in (rows, cols))
    middle = shrunk(luma, (out_cols * DETAIL, out_rows * DETAIL))
    edges = np.asarray(cv2.convertScaleAbs(cv2.Laplacian(middle, cv2.CV_16S, ksize=1)), np.uint8)
    grey = averaged(middle, (out_cols, out_rows)).astype(np.float32)
    detail = averaged(edges.astype(np.float32), (out_cols, out_rows))
    return Coarse(grey, detail, cols / out_cols, rows / out_rows)
