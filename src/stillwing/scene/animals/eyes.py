"""Eyes: faceted for insects, with the dark spots that seem to follow you; round, wet and dark for birds."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.model import Material
from stillwing.scene.animals.texture import colour_mix, fractal, smoothstep

__all__ = ["compound_eye", "round_eye"]

Floats = NDArray[np.float32]


def compound_eye(
    rng: np.random.Generator, top: tuple[float, float, float], low: tuple[float, float, float], width_px: int
) -> Material:
    """Return a faceted eye, ``width_px`` columns, twice as many rows; v = 0 is its top."""
    rows, cols = width_px * 3, width_px
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32)
    v = y / rows
    down = np.minimum(v, 1 - v) * 2
    wave = 0.04 * fractal(rng, (rows, cols), cols / 2, 3)
    base = np.broadcast_to(np.asarray(top, np.float32), (rows, cols, 3)).copy()
    base = colour_mix(base, low, smoothstep(down + wave, 0.28, 0.55))
    base *= (1 + 0.12 * fractal(rng, (rows, cols), cols / 3, 4))[..., None]
    # Facets: a hexagonal lattice of domes, about eighty across, as fine as the picture holds.
    pitch = max(2.2, cols / 70)
    row = np.floor(y / (pitch * 0.866))
    dx = (x / pitch + 0.5 * (row % 2)) % 1.0 - 0.5
    dy = (y / (pitch * 0.866)) % 1.0 - 0.5
    dome = 1 - 2.2 * (dx * dx + dy * dy)
    base *= (1 + 0.12 * dome)[..., None]
    for at_u, at_v, size in ((0.45, 0.27, 0.055), (0.40, 0.73, 0.055), (0.62, 0.33, 0.030), (0.58, 0.67, 0.030)):
        spot = np.exp(-(((x / cols - at_u) / size) ** 2 + ((v - at_v) / (size * 0.55)) ** 2))
        base *= (1 - 0.8 * spot)[..., None]
    return Material(
        np.clip(base, 0.004, 0.7).astype(np.float32),
        (0.12 * pitch * dome).astype(np.float32),
        gloss=0.75,
        shininess=70.0,
        rough=0.3,
    )


def round_eye(
    rng: np.random.Generator, width_px: int, iris: tuple[float, float, float] = (0.03, 0.015, 0.008)
) -> Material:
    """Return a bird's eye: dark iris, black pupil; its gloss makes the catch-light."""
    rows, cols = max(24, width_px), max(24, width_px)
    base = np.broadcast_to(np.asarray(iris, np.float32), (rows, cols, 3)).copy()
    base *= (1 + 0.3 * cv2.GaussianBlur(rng.standard_normal((rows, cols)).astype(np.float32), (0, 0), 1.5))[..., None]
    return Material(np.clip(base, 0.002, 0.5).astype(np.float32), gloss=1.1, shininess=220.0)
