"""The small picture in which the animal is looked for, made once from the full one."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["COARSE_LONG_PX", "DETAIL", "Coarse", "coarse_picture"]

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
    shape (rows, cols) in DN; ``scale`` is pixels of the original per coarse pixel.
    """

    grey: NDArray[np.float32]
    detail: NDArray[np.float32]
    scale: float


def coarse_picture(luma: NDArray[np.uint8]) -> Coarse:
    """Return the coarse picture of a full-size grey one of shape (rows, cols)."""
    rows, cols = luma.shape
    long_side = max(rows, cols)
    coarse_long = COARSE_LONG_PX if long_side >= SMALL_FRAME_PX else 2 * COARSE_LONG_PX
    scale = long_side / coarse_long
    # Multiples of 16, because the network halves the picture four times.
    out_rows, out_cols = (max(16, round(side / scale / 16) * 16) for side in (rows, cols))
    middle = reduce_to(luma, (out_cols * DETAIL, out_rows * DETAIL))
    edges = cv2.convertScaleAbs(cv2.Laplacian(middle, cv2.CV_16S, ksize=1))
    grey = cv2.resize(middle, (out_cols, out_rows), interpolation=cv2.INTER_AREA).astype(np.float32)
    detail = block_mean(edges)
    return Coarse(grey, detail, scale)


def reduce_to(picture: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return the picture resized to ``size`` (columns, rows)."""
    # Exact halves have a fast path: 3 ms at 20 MP, where one area resize by 3.4 takes 31 ms (benchmarks/speed.py).
    while picture.shape[1] >= 2 * size[0] and picture.shape[0] >= 2 * size[1]:
        rows, cols = picture.shape[0] // 2, picture.shape[1] // 2
        picture = cv2.resize(picture[: 2 * rows, : 2 * cols], (cols, rows), interpolation=cv2.INTER_AREA)
    return cv2.resize(picture, size, interpolation=cv2.INTER_LINEAR)


def block_mean(picture: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Return the mean over blocks of ``DETAIL`` pixels a side."""
    rows, cols = picture.shape[0] // DETAIL, picture.shape[1] // DETAIL
    return cv2.resize(picture.astype(np.float32), (cols, rows), interpolation=cv2.INTER_AREA)
