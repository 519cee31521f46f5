"""Which small pieces of the animal its blur is read from."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.reduce import averaged, halved

__all__ = ["N_PATCHES", "PATCH_PX", "Patches", "pick_patches"]

PATCH_PX = 64
"""Side of a patch, as the blur network was trained."""
N_PATCHES = 12
LEAST_COVER = 0.12
"""A patch with less animal in it than this tells more of the background."""


@dataclass(frozen=True, slots=True)
class Patches:
    """Pieces of one animal: ``pixels`` of shape (n, 2, 64, 64), grey and mask, float32 0 to 255.

    ``centres`` of shape (n, 2) are their middles as (x, y) in pixels of the region, ``cover`` of shape (n,) the share
    of animal in each.
    """

    pixels: NDArray[np.float32]
    centres: NDArray[np.float64]
    cover: NDArray[np.float64]


def pick_patches(region: NDArray[np.uint8], mask: NDArray[np.uint8], n_most: int = N_PATCHES) -> Patches:
    """Return up to ``n_most`` patches spread over the masked animal, in each part of it the one with most detail.

    Parameters
    ----------
    region : ndarray, shape (rows, cols), uint8
        The animal and at least half a patch round it, where the frame has that.
    mask : ndarray, shape (rows, cols), uint8
        Above 127 where the animal is.
    """
    step = 8
    rows, cols = region.shape
    if rows < PATCH_PX or cols < PATCH_PX:
        down, across = max(PATCH_PX - rows, 0), max(PATCH_PX - cols, 0)
        region = np.pad(region, ((0, down), (0, across)), "symmetric")
        mask = np.pad(mask, ((0, down), (0, across)))
        rows, cols = region.shape
    inside = averaged((mask > 127).astype(np.float32), (cols // step, rows // step))
    detail = local_detail(region, (cols // step, rows // step))
    reach = PATCH_PX // step
    cover = np.asarray(cv2.boxFilter(inside, -1, (reach, reach), borderType=cv2.BORDER_CONSTANT), np.float32)
    detail = np.asarray(cv2.boxFilter(detail * inside, -1, (reach, reach), borderType=cv2.BORDER_CONSTANT), np.float32)
    worth: NDArray[np.float32] = np.where(
        cover >= min(LEAST_COVER, 0.6 * float(cover.max())), detail * np.sqrt(cover), 0.0
    ).astype(np.float32)
    places = spread_out(worth, n_most, max(2, round(np.sqrt(float(inside.sum()) / n_most) * 0.8)))
    half = PATCH_PX // 2
    x = np.clip(places[:, 1] * step + step // 2, half, cols - half)
    y = np.clip(places[:, 0] * step + step // 2, half, rows - half)
    pixels = np.empty((len(places), 2, PATCH_PX, PATCH_PX), np.float32)
    for k, (cx, cy) in enumerate(zip(x, y, strict=True)):
        window = np.s_[cy - half : cy + half, cx - half : cx + half]
        pixels[k, 0] = region[window]
        pixels[k, 1] = np.where(mask[window] > 127, 255.0, 0.0)
    return Patches(pixels, np.stack([x, y], 1).astype(np.float64), pixels[:, 1].mean((1, 2)) / 255.0)


def local_detail(region: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.float32]:
    """Return the mean absolute Laplacian of the region at half its size, reduced to ``size`` (columns, rows). [DN]"""
    edges = cv2.convertScaleAbs(cv2.Laplacian(halved(region), cv2.CV_16S, ksize=1))
    return averaged(np.asarray(edges, np.uint8), size).astype(np.float32)


def spread_out(worth: NDArray[np.float32], n_most: int, apart: int) -> NDArray[np.int64]:
    """Return the cells of highest worth that lie at least ``apart`` cells from each other, as (row, column)."""
    left = worth.copy()
    places = []
    for _ in range(n_most):
        at = np.unravel_index(int(np.argmax(left)), left.shape)
        if left[at] <= 0:
            break
        places.append(at)
        left[max(at[0] - apart, 0) : at[0] + apart + 1, max(at[1] - apart, 0) : at[1] + apart + 1] = 0
    return np.array(places, dtype=np.int64).reshape(-1, 2)
