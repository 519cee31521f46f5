"""Sharp pictures, point spreads of known variance, and a camera of known noise: truth for the tests of blur."""

import cv2
import numpy as np
from scipy.signal import oaconvolve
from scipy.spatial import cKDTree

OVER = 4
"""Drawn pixels along each side of a photographed one."""
PIXEL = 1 / 12
"""Variance of the pixel's own box. [px^2]"""


def sharp_cells(seed, rows=420, cols=560, n_cells=220):
    """Return light (0 to 1) of cells with sharp edges, oversampled: its own blur is that of the pixel alone."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 1, (n_cells, 2)) * [rows * OVER, cols * OVER]
    y, x = np.mgrid[0 : rows * OVER, 0 : cols * OVER]
    _, cell = cKDTree(points).query(np.stack([y.ravel(), x.ravel()], 1))
    return rng.uniform(0.02, 0.8, n_cells)[cell].reshape(y.shape).astype(np.float32)


def sharp_polygons(seed, rows=420, cols=560, n_shapes=500):
    """Return light (0 to 1) of polygons of all sizes on each other, oversampled."""
    rng = np.random.default_rng(seed)
    light = np.full((rows * OVER, cols * OVER), 90, np.uint8)
    for _ in range(n_shapes):
        size = rows * OVER * 0.12 * rng.uniform(0.08, 1) ** 1.5
        x, y = rng.uniform(0, cols * OVER), rng.uniform(0, rows * OVER)
        angle = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(3, 7)))
        corners = np.stack([x + size * np.cos(angle), y + size * np.sin(angle)], 1).astype(np.int32)
        cv2.fillPoly(light, [corners], int(rng.uniform(5, 200)))
    return light.astype(np.float32) / 255


def disc(diameter_px):
    """Return an oversampled disc; a disc of diameter c has sigma c / 4 in each direction."""
    radius = diameter_px * OVER / 2
    reach = int(np.ceil(radius)) + 1
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    kernel = np.clip(radius - np.hypot(x, y) + 0.5, 0, 1)
    return kernel / kernel.sum()


def line(length_px, angle_deg):
    """Return an oversampled line, from the x axis towards the bottom; length L has sigma L / sqrt(12) along it."""
    reach = int(np.ceil(length_px * OVER / 2)) + 2
    at = np.linspace(-length_px * OVER / 2, length_px * OVER / 2, 64 * reach)
    x, y = reach + at * np.cos(np.radians(angle_deg)), reach + at * np.sin(np.radians(angle_deg))
    kernel = np.zeros((2 * reach + 1, 2 * reach + 1))
    for dy in (0, 1):
        for dx in (0, 1):
            # Each point is shared among the four pixels round it.
            share = (1 - np.abs(y - np.floor(y) - dy)) * (1 - np.abs(x - np.floor(x) - dx))
            np.add.at(kernel, (np.floor(y).astype(int) + dy, np.floor(x).astype(int) + dx), share)
    return kernel / kernel.sum()


def spread(light, kernel):
    """Return the light after a point spread, the picture going on mirrored beyond its edges."""
    reach = kernel.shape[0] // 2
    padded = np.pad(light, reach, "symmetric")
    return oaconvolve(padded, kernel, "valid").astype(np.float32)


def photographed(light, sigma_px, noise_dn=1.5, seed=0):
    """Return 8-bit pixels of the light after the lens's Gaussian, the pixel's box, a tone curve and noise."""
    blurred = cv2.GaussianBlur(light, (0, 0), sigma_px * OVER, borderType=cv2.BORDER_REFLECT)
    rows, cols = blurred.shape[0] // OVER, blurred.shape[1] // OVER
    pixels = blurred.reshape(rows, OVER, cols, OVER).mean((1, 3))
    value = 255 * np.clip(pixels, 0, 1) ** (1 / 2.2) + np.random.default_rng(seed).normal(0, noise_dn, pixels.shape)
    return np.clip(value, 0, 255).round().astype(np.uint8)


def whole(picture):
    """Return a mask of all of the picture."""
    return np.full(picture.shape, 255, np.uint8)
