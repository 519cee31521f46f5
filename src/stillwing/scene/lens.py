"""Point spreads as small pictures: disc of defocus, path of motion, diffraction; and filtering with them."""

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["filtered", "kernel", "kernel_covariance"]

Floats = NDArray[np.float32]
FINE = 5
"""A spread is drawn this many times finer than the picture, then sampled; odd, so that pixels have a middle."""


def kernel(disc_px: float, sigma_px: float, path_px: NDArray[np.float64]) -> Floats:
    """Return the point spread of a disc of diameter ``disc_px`` moved along ``path_px``, softened by ``sigma_px``.

    ``path_px`` has shape (n, 2) and lists places at equal steps of time, relative to where the picture was drawn. The
    sum is 1 and the side is odd. Below a ``sigma_px`` of about 0.5 sampling would show; it is raised to that.
    """
    sigma = max(sigma_px, 0.5)
    reach = np.abs(path_px).max() + disc_px / 2 + 4 * sigma + 1
    half = int(np.ceil(reach))
    side = (2 * half + 1) * FINE
    middle = (side - 1) / 2
    fine: Floats = np.zeros((side, side), np.float32)
    at = path_px * FINE + middle
    low = np.floor(at).astype(int)
    part = at - low
    # Each step between two points counts alike: the first and the last point end only one step.
    stay = np.ones(len(at))
    stay[[0, -1]] = 0.5
    for dx in (0, 1):
        for dy in (0, 1):
            weight = np.abs(1 - dx - part[:, 0]) * np.abs(1 - dy - part[:, 1])
            np.add.at(fine, (low[:, 1] + dy, low[:, 0] + dx), (weight * stay).astype(np.float32))
    radius = disc_px * FINE / 2
    if radius > 0.5:
        n = int(np.ceil(radius)) + 1
        y, x = np.mgrid[-n : n + 1, -n : n + 1]
        disc = np.clip(radius - np.hypot(x, y) + 0.5, 0, 1).astype(np.float32)
        fine = np.asarray(cv2.filter2D(fine, cv2.CV_32F, disc / disc.sum(), borderType=cv2.BORDER_CONSTANT), np.float32)
    fine = np.asarray(cv2.GaussianBlur(fine, (0, 0), sigma * FINE, borderType=cv2.BORDER_CONSTANT), np.float32)
    # Sampled at pixel middles: area means would add a pixel's own variance a second time.
    out = fine[FINE // 2 :: FINE, FINE // 2 :: FINE]
    return np.asarray(out / out.sum(), np.float32)


def kernel_covariance(spread: Floats) -> NDArray[np.float64]:
    """Return the covariance, shape (2, 2), of a point spread. [px^2]"""
    rows, cols = spread.shape
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float64)
    w = spread.astype(np.float64)
    mx, my = (w * x).sum(), (w * y).sum()
    xx, yy, xy = (w * (x - mx) ** 2).sum(), (w * (y - my) ** 2).sum(), (w * (x - mx) * (y - my)).sum()
    return np.array([[xx, xy], [xy, yy]])


def filtered(picture: Floats, spread: Floats) -> Floats:
    """Return ``picture`` (rows, cols) or (rows, cols, n), zero outside, spread out; the same size."""
    # filter2D correlates; a path is not symmetric.
    turned = np.ascontiguousarray(spread[::-1, ::-1])
    return np.asarray(cv2.filter2D(picture, cv2.CV_32F, turned, borderType=cv2.BORDER_CONSTANT), np.float32)
