"""Which pixels are of the body: a strip along its line, without the wings beside it and without its rim."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.chords import widths_along

__all__ = ["Strip", "body_strip"]

N_STATIONS = 48
MOST_HALF_WIDTH = 0.13
"""Of the body's length. The broadest abdomens, of broad-bodied chasers, are a quarter of the body wide (from memory:
some 11 of 44 mm)."""
THORAX = 1.5
"""Widest half of the strip over the median half of its thinner end: a mask may hold wings on both sides (a choice)."""
CORE = 0.6
"""Share of the strip's width that counts (a choice): the outline's cells are coarse against a thin abdomen."""
RIM_PX = 1.0
"""Taken off the strip's halves beside that: the pixels of an edge are mixed by lens and sensor."""
ENDS = (0.03, 0.90)
"""Part of the line that counts: neither the appendages at its thinner end nor the eyes at the other (a choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """Pixels of the body, shape (rows, cols) of the region, and half the body's width there in the median. [px]"""

    inside: NDArray[np.bool_]
    half_width_px: float


def body_strip(mask: NDArray[np.uint8], axis: BodyAxis, left: int, top: int) -> Strip:
    """Return the strip of the body in a region whose left top corner lies at (``left``, ``top``) of the frame.

    Parameters
    ----------
    mask : ndarray of uint8, shape (rows, cols)
        1 on the animal, wings and all, in pixels of the frame; 0 elsewhere.
    axis : BodyAxis
        The body's line, its thinner end first.

    Notes
    -----
    A body is alike on both sides of its line: at each station the nearer edge of the mask counts for both, so that a
    wing on one side leaves the strip as it is.
    """
    ends = np.array([axis.start_px, axis.end_px]) - (left, top) - 0.5
    halves = _halves(mask, ends)
    length = float(np.linalg.norm(ends[1] - ends[0]))
    rows, cols = np.indices(mask.shape, np.float32)
    along, across = (ends[1] - ends[0]) / length, np.array([-(ends[1] - ends[0])[1], (ends[1] - ends[0])[0]]) / length
    x, y = cols - np.float32(ends[0, 0]), rows - np.float32(ends[0, 1])
    t = (x * along[0] + y * along[1]) / length
    off = np.abs(x * across[0] + y * across[1])
    half_px = np.interp(t, (np.arange(N_STATIONS) + 0.5) / N_STATIONS, halves) * length
    inside = (off <= CORE * half_px - RIM_PX) & (t > ENDS[0]) & (t < ENDS[1]) & (mask > 0)
    return Strip(np.asarray(inside, np.bool_), float(np.median(halves) * length))


def _halves(mask: NDArray[np.uint8], ends: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return half the body's width at each station, shape (n_stations,), in lengths."""
    nearer = widths_along(mask, ends, N_STATIONS).min(0)
    smooth = np.asarray(cv2.medianBlur(nearer.astype(np.float32)[None], 5), np.float64)[0]
    thin = float(np.median(smooth[: N_STATIONS // 2]))
    return np.asarray(np.minimum(smooth, min(THORAX * thin, MOST_HALF_WIDTH)))
