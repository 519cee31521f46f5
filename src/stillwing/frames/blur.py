"""How blurred the animal is, in pixels of the original."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.frames.measured import Blur, BlurKind
from stillwing.frames.network import run_network
from stillwing.frames.patches import Patches, pick_patches
from stillwing.frames.reduce import halved
from stillwing.optics.spread import PIXEL_VARIANCE

__all__ = ["BlurReading", "at_full_size", "measure_blur"]

LARGE_BLUR_PX = 4.2
"""From here on the region is halved before reading, since the network was taught up to about 7 px."""
LAPLACE_90 = 2.3026
"""Half width of the 90 % interval of a Laplace distribution, in units of its scale."""
WIDEN = 1.5
"""Factor on the network's own intervals, from the coverage on rendered bursts (benchmarks/accuracy.py)."""
LENS_PX = 0.55
"""Blur of a sharp camera picture: optics, pixel and interpolation. [px]"""
DOUBTED = 4.0
"""A stretch below so many of its own scales of error is put down to texture and noise, not to motion."""
SHARP_PX = 0.4
"""Below this defocus or motion, neither is worth a name. [px]"""
ALIKE = 1.15
"""Defocus and motion within this ratio are called mixed."""


@dataclass(frozen=True, slots=True)
class BlurReading:
    """Blur of the sharpest part, and of each patch: ``centres`` (n, 2) in pixels of the region, ``each_px`` (n,)."""

    blur: Blur
    centres: NDArray[np.float64]
    each_px: NDArray[np.float64]


def measure_blur(region: NDArray[np.uint8], mask: NDArray[np.uint8]) -> BlurReading | None:
    """Return the blur of the animal's sharpest part.

    Parameters
    ----------
    region : ndarray, shape (rows, cols), uint8
        Full-size grey pixels of the animal with some background round it.
    mask : ndarray, shape (rows, cols), uint8
        Above 127 where the animal is.

    Returns
    -------
    BlurReading or None
        ``None`` where the animal is too small or too plain to measure.

    Notes
    -----
    A small network reads the point spread from up to `N_PATCHES` patches together: they share the motion, each has its
    own defocus, and texture that runs one way in one patch does not in the next. It was trained on exact point spreads
    (``training/blur_net.py``). Large blurs are read from the region at half or quarter size: reducing by k by averaging
    leaves sigma^2 = k^2 sigma_k^2 - (k^2 - 1) / 12.
    """
    factor = 1
    reading = None
    while min(region.shape) >= 24:
        patches = pick_patches(region, mask)
        if not len(patches.centres):
            return reading
        figures, each = run_network("blur", {"patches": patches.pixels[None]})
        reading = as_reading(figures[0], each[0], patches, factor)
        if reading.blur.blur_px / factor < LARGE_BLUR_PX or factor == 8:
            break
        factor *= 2
        region, mask = halved(region), halved(mask)
    return reading


def as_reading(figures: NDArray[np.float32], each: NDArray[np.float32], patches: Patches, factor: int) -> BlurReading:
    """Return the network's figures, read at 1 / ``factor`` of the size, in pixels of the original."""
    log_blur, log_scale = float(figures[0]), float(np.clip(figures[1], -5, 2))
    half = WIDEN * LAPLACE_90 * np.exp(log_scale)
    blur, low, high = (at_full_size(float(np.exp(v)), factor) for v in (log_blur, log_blur - half, log_blur + half))
    stretch = float(np.hypot(figures[2], figures[3]))
    minor = blur * np.sqrt(2 / (1 + np.exp(2 * stretch)))
    major = minor * np.exp(stretch)
    motion = np.sqrt(max(major**2 - minor**2, 0.0))
    defocus = np.sqrt(max(minor**2 - LENS_PX**2, 0.0))
    is_round = motion < SHARP_PX or stretch < DOUBTED * float(np.exp(np.clip(figures[4], -5, 2)))
    direction = None if is_round else float(np.degrees(0.5 * np.arctan2(figures[3], figures[2])) % 180.0)
    return BlurReading(
        Blur(blur, low, high, float(minor), float(major), direction, kind_of(defocus, 0.0 if is_round else motion)),
        patches.centres * factor,
        np.array([at_full_size(float(value), factor) for value in np.exp(each[:, 0])]),
    )


def at_full_size(blur_px: float, factor: float) -> float:
    """Return a blur read on a picture reduced by ``factor`` in pixels of the original."""
    return float(np.sqrt(max((factor * blur_px) ** 2 - (factor**2 - 1) * PIXEL_VARIANCE, 0.01)))


def kind_of(defocus_px: float, motion_px: float) -> BlurKind:
    """Return which cause rules."""
    if max(defocus_px, motion_px) < SHARP_PX:
        return BlurKind.SHARP
    if motion_px > ALIKE * defocus_px:
        return BlurKind.MOTION
    return BlurKind.DEFOCUS if defocus_px > ALIKE * motion_px else BlurKind.MIXED
