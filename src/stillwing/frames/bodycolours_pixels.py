"""The pixels of a body that tell its colours, or why none do."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.blur import measure_blur
from stillwing.frames.bodycolours_ground import why_like_ground
from stillwing.frames.bodycolours_strip import body_strip
from stillwing.frames.bodylength import SeenLength
from stillwing.frames.outline import Outline

__all__ = ["BodyPixels", "NoColours", "body_pixels"]

LEAST_PIXELS = 40
"""Fewer pixels of the body tell no colours (a choice, no source)."""
MOST_PIXELS = 4000
"""More pixels tell nothing more; they are taken evenly."""
BLURRED = 0.5
"""Blur over half the body's width up to which its pixels count: there a fifth of the light at the rim of the strip is
the ground's, by the law of a Gaussian."""
BLOWN_DN, BLOCKED_DN = 250, 3
"""Two channels as bright as this, or all as dark as that, tell no colour. [DN]"""
MOST_LOST = 0.5
"""Share of blown or of blocked pixels from which there is no answer (a choice, no source)."""
DARK_PICTURE_DN = 40
"""Where 95 of 100 pixels round the animal are darker than this, the picture is underexposed (a choice). [DN]"""
COVERED = 127


@dataclass(frozen=True, slots=True, eq=False)
class BodyPixels:
    """Colours of a body's pixels, shape (n, 3), sRGB, without the blown and the blocked ones, which are counted."""

    rgb: NDArray[np.uint8]
    n_kept: int
    """Pixels that ``rgb`` stands for."""
    n_blown: int
    n_blocked: int
    half_width_px: float
    blur_px: float | None
    """``None`` where it could not be measured."""


@dataclass(frozen=True, slots=True)
class NoColours:
    """Why there are no colours, in words."""

    reason: str


def body_pixels(
    rgb: NDArray[np.uint8], corner: tuple[int, int], outline: Outline, seen: SeenLength
) -> BodyPixels | NoColours:
    """Return the pixels of the body in a region, shape (rows, cols, 3), whose corner lies at (x, y) of the frame."""
    left, top = corner
    covered = outline.mask_of(left, top, rgb.shape[1], rgb.shape[0])
    mask = (covered > COVERED).astype(np.uint8)
    if not mask.any():
        return NoColours("the outline is empty")
    brightest = rgb.max(-1)
    if np.quantile(brightest, 0.95) < DARK_PICTURE_DN:
        return NoColours("the picture is too dark round the animal to tell colours")
    strip = body_strip(mask, seen.axis, left, top)
    if strip.inside.sum() < LEAST_PIXELS:
        return NoColours(
            f"the body is too small to tell its colours: {strip.inside.sum()} px lie well inside it, and "
            f"{LEAST_PIXELS} are needed"
        )
    reading = measure_blur(np.asarray(cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY), np.uint8), covered)
    blur_px = None if reading is None else reading.blur.blur_px
    if blur_px is not None and blur_px > BLURRED * strip.half_width_px:
        return NoColours(
            f"the animal is blurred by {blur_px:.1f} px and its body only {2 * strip.half_width_px:.0f} px wide: no "
            "pixel is of the body alone"
        )
    body = rgb[strip.inside]
    blown = (body >= BLOWN_DN).sum(-1) >= 2
    blocked = brightest[strip.inside] <= BLOCKED_DN
    kept = body[~blown & ~blocked]
    reason = _lost(blown, blocked) or why_like_ground(rgb, mask, strip, seen.axis, corner)
    if reason is not None:
        return NoColours(reason)
    taken = kept[:: -(-len(kept) // MOST_PIXELS)]
    return BodyPixels(taken, len(kept), int(blown.sum()), int(blocked.sum()), strip.half_width_px, blur_px)


def _lost(blown: NDArray[np.bool_], blocked: NDArray[np.bool_]) -> str | None:
    """Return why the pixels of the strip tell nothing, if they do not."""
    if blown.mean() > MOST_LOST:
        return f"the body is overexposed: {100 * blown.mean():.0f} % of its pixels are blown out"
    if blocked.mean() > MOST_LOST:
        return f"the body is underexposed: {100 * blocked.mean():.0f} % of its pixels are black without detail"
    n_left = int((~blown & ~blocked).sum())
    if n_left < LEAST_PIXELS:
        return f"only {n_left} px of the body are neither blown out nor black without detail"
    return None
