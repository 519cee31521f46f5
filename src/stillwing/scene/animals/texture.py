"""Procedural grain: smooth noise, streaks and overlapping feathers, as arrays to paint surfaces with."""

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["colour_mix", "fractal", "plumage", "smooth_noise", "smoothstep"]

Floats = NDArray[np.float32]


def smoothstep(x: NDArray[np.floating], low: float, high: float) -> Floats:
    """Return 0 below ``low``, 1 above ``high`` and a smooth rise between."""
    t = np.clip((np.asarray(x, np.float32) - low) / (high - low), 0, 1)
    return np.asarray(t * t * (3 - 2 * t), np.float32)


def smooth_noise(rng: np.random.Generator, shape: tuple[int, int], period: tuple[float, float]) -> Floats:
    """Return noise of mean 0 and spread near 1 whose features are ``period`` = (rows, cols) px wide."""
    rows, cols = (max(2, round(n / p) + 1) for n, p in zip(shape, period, strict=True))
    coarse = rng.standard_normal((rows, cols), np.float32)
    fine = cv2.resize(coarse, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return np.asarray(fine, np.float32)


def fractal(
    rng: np.random.Generator, shape: tuple[int, int], period: float, octaves: int = 4, gain: float = 0.5
) -> Floats:
    """Return a sum of ``octaves`` of smooth noise, each half as wide and ``gain`` as strong as the last."""
    total = np.zeros(shape, np.float32)
    strength = 1.0
    for octave in range(octaves):
        p = max(period / 2**octave, 1.0)
        total += strength * smooth_noise(rng, shape, (p, p))
        strength *= gain
    return total


def colour_mix(base: NDArray[np.floating], other: NDArray[np.floating] | tuple[float, ...], share: Floats) -> Floats:
    """Return ``base`` moved towards ``other`` by ``share``, shape (rows, cols, 3)."""
    target = np.asarray(other, np.float32)
    return np.asarray(base + (target - base) * share[..., None], np.float32)


def plumage(
    rng: np.random.Generator, shape: tuple[int, int], feather_px: tuple[float, float]
) -> tuple[Floats, Floats, Floats]:
    """Return (tone, height, centre) of overlapping contour feathers that point along the columns.

    Anterior feathers lie over posterior ones; each has barbs that fan out from its shaft, a soft lit rim and its own
    tone. ``feather_px`` is (length, width) of what shows of one feather. Tone has mean near 1;
    centre is 1 along the shafts and 0 at the rims, for streaked plumage.
    """
    rows, cols = shape
    length, width = feather_px
    y, x = np.mgrid[0:rows, 0:cols].astype(np.float32)
    # Rows of feathers would show as a lattice; the ground they grow on is warped instead.
    x = x + 0.55 * length * smooth_noise(rng, shape, (3 * width, 3 * length))
    y = y + 0.45 * width * smooth_noise(rng, shape, (3 * width, 3 * length))
    along = x / length + 3
    best_a = np.zeros(shape, np.float32)
    best_b = np.zeros(shape, np.float32)
    best_id = np.full(shape, -1, np.int64)
    n_own = 4096
    own = rng.standard_normal((n_own, 3)).astype(np.float32)
    for back in (2, 1, 0):
        row = np.floor(along).astype(np.int64) - back
        stagger = (row % 2) * 0.5
        across = y / width + stagger
        column = np.floor(across).astype(np.int64)
        ident = (row * 7919 + column * 104729) % n_own
        b = (across - column - 0.5) * 2 + 0.3 * own[ident, 0]
        a = (along - row) / 2.2
        covers = (a < 1.0 - 0.45 * b * b + 0.12 * own[ident, 1]) & (best_id < 0)
        best_a, best_b = np.where(covers, a, best_a), np.where(covers, b, best_b)
        best_id = np.where(covers, ident, best_id)
    best_id = np.maximum(best_id, 0)
    # Barbs leave the shaft at an angle: their coordinate runs across and forward together.
    barb = np.abs(best_b) * 0.9 - best_a * 0.55 + np.sign(best_b) * 3.0
    table = cv2.GaussianBlur(rng.standard_normal((256, 512)).astype(np.float32), (0, 0), 0.8)
    table = table / table.std()
    density = np.clip(width * 0.9, 8, 60)
    streak = table[best_id % 256, (barb * density).astype(np.int64) % 512]
    rim = smoothstep(best_a, 0.55, 1.0)
    tone = 1 + 0.10 * own[best_id, 2] + 0.13 * streak + 0.16 * (rim - 0.45)
    tone += 0.05 * fractal(rng, shape, 4 * width, 3)
    height = best_a * 0.8 + 0.10 * streak - 0.25 * best_b * best_b
    centre = np.exp(-((best_b / 0.34) ** 2)) * smoothstep(best_a, 0.15, 0.45)
    return tone.astype(np.float32), (height * length * 0.20).astype(np.float32), centre.astype(np.float32)
