"""Painting backgrounds: bytes that hold the square root of linear light, shapes with a lit and a shaded side."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.scene.animals.pose import Light
from stillwing.scene.animals.texture import fractal

__all__ = ["Bytes", "Colour", "decoded", "encoded", "lit", "mottled", "strip"]

Bytes = NDArray[np.uint8]
Floats = NDArray[np.float32]
Colour = tuple[float, float, float]
BRIGHTEST = 4.0
"""Linear light that 255 stands for; glitter reaches it."""


def encoded(linear: NDArray[np.floating]) -> Bytes:
    """Return linear light as bytes."""
    return np.asarray(np.clip(np.sqrt(np.clip(linear, 0, BRIGHTEST) / BRIGHTEST) * 255 + 0.5, 0, 255), np.uint8)


def decoded(picture: Bytes) -> Floats:
    """Return bytes as linear light."""
    table = ((np.arange(256, dtype=np.float32) / 255) ** 2 * BRIGHTEST).astype(np.float32)
    return np.asarray(table[picture], np.float32)


def lit(colour: NDArray[np.floating] | Colour, light: Light, facing: float, *, up: float = 0.5) -> NDArray[np.float64]:
    """Return a matt colour under the light: ``facing`` the sun by that cosine, ``up`` the share of sky it sees."""
    total = max(facing, 0.0) * np.asarray(light.sun) + up * np.asarray(light.sky) + (1 - up) * np.asarray(light.ground)
    return np.asarray(np.asarray(colour) * total, np.float64)


def strip(
    canvas: Bytes,
    middle: NDArray[np.float64],
    half_width: NDArray[np.float64],
    colours: NDArray[np.float64],
    cover: Bytes | None = None,
) -> None:
    """Draw a long thing along ``middle`` (n, 2): ``colours`` (k, 3) linear, from its one flank to the other."""
    along = np.gradient(middle, axis=0)
    across = np.stack([-along[:, 1], along[:, 0]], 1) / np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    k = len(colours)
    edge = [
        np.round((middle + across * (half_width * (2 * i / k - 1))[:, None]) * 16).astype(np.int32)
        for i in range(k + 1)
    ]
    whole = np.concatenate([edge[0], edge[k][::-1]])
    if cover is not None:
        cv2.fillPoly(cover, [whole], 255, cv2.LINE_AA, 4)
    codes = encoded(colours).astype(float)
    cv2.fillPoly(canvas, [whole], codes[k // 2].tolist(), cv2.LINE_AA, 4)
    for i in range(k):
        cv2.fillPoly(canvas, [np.concatenate([edge[i], edge[i + 1][::-1]])], codes[i].tolist(), cv2.LINE_8, 4)


def mottled(canvas: Bytes, rng: np.random.Generator, period: float, strength: float) -> None:
    """Multiply grain into the picture in place, a band of rows at a time so that large ones fit in memory."""
    rows, cols = canvas.shape[:2]
    band = max(64, 4_000_000 // cols)
    tile = fractal(rng, (min(rows, band), cols), period, 5, 0.6)
    factor = np.sqrt(np.clip(1 + strength * tile, 0.2, 2.0)).astype(np.float32)
    for number, top in enumerate(range(0, rows, band)):
        part = canvas[top : top + band]
        # Every other band is mirrored: so it goes on where the last one ended.
        turned = (factor[::-1] if number % 2 else factor)[: len(part)]
        np.copyto(part, np.clip(part * turned[..., None] + 0.5, 0, 255).astype(np.uint8))
