"""Where the body runs in a mask: not the wings, which may be longer and turn a plain principal axis."""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.chords import longest_chords, widths_along

__all__ = ["BodyAxis", "body_axis"]

GRID_PX = 160
"""Longer side of the animal in the picture that is looked at."""
RIM_PX = 4
CLOSED_PX = 5
"""Gaps in the mask up to this are closed: a thin abdomen breaks easily."""
N_SAMPLES = 24
LEAST_PX = 6
"""A mask whose longer side has fewer pixels shows no body."""
BAND_SHARES = (0.02, 0.08)
"""Least and most half width of the strip along the axis in which the ends are looked for, in lengths."""
BAND_OF_WIDTH = 0.3
"""The strip's half width as a share of the body's width: a bill and a forked tail lie beside the middle line."""
GAP_SHARE = 0.04

MEANS = np.array([0.737, -1.663, -1.353, -2.055, 0.998])
SPREADS = np.array([0.148, 0.606, 0.602, 0.565, 0.385])
WEIGHTS = np.array([1.59, -1.93, -2.41, -0.99, 1.68])
"""Of `_features`: a conditional logistic fit, which line is the body's, on 399 true and drawn masks of rendered
dragonflies, damselflies and birds (benchmarks/bodylength_scenes.py, the seeds below 24)."""


@dataclass(frozen=True, slots=True)
class BodyAxis:
    """The line of the body from its thinner end to the other, as points (x, y) in pixels of the original.

    ``certainty`` is the chance, 0 to 1, that it is the body and not a wing, by the fit over rendered animals;
    ``step_px`` is the width of the mask's pixels.
    """

    start_px: tuple[float, float]
    end_px: tuple[float, float]
    certainty: float
    step_px: float

    @property
    def length_px(self) -> float:
        """Length as it shows. [px]"""
        return float(np.hypot(self.end_px[0] - self.start_px[0], self.end_px[1] - self.start_px[1]))


def body_axis(mask: NDArray[np.bool_], left_px: float, top_px: float, step_px: float) -> BodyAxis | None:
    """Return the line of the body in a mask whose left top corner lies at that place of the original.

    Parameters
    ----------
    mask : ndarray, shape (rows, cols), bool
        True on the animal, wings and all.
    left_px, top_px, step_px : float
        Corner of the mask in the original, and width of its pixels. [px]

    Returns
    -------
    BodyAxis or None
        ``None`` where the mask is empty or too small to show a body.

    Notes
    -----
    Of the longest straight lines within the mask, the one that is most like a body by its length and by the widths of
    the mask along it. Then the line is laid through the middle of the thin part, a dragonfly's abdomen, and followed
    to where the mask ends.
    """
    on = np.argwhere(mask)
    if not len(on) or max(np.ptp(on, axis=0)) + 1 < LEAST_PX:
        return None
    grid, scale, corner = _on_grid(mask, on)
    chords = longest_chords(grid)
    if not len(chords):
        return None
    longest = max(grid.shape) - 2 * RIM_PX
    marks = np.array([_features(grid, chord, longest) for chord in chords])
    likes = (marks - MEANS) / SPREADS @ WEIGHTS
    chances = np.exp(likes - likes.max())
    best = int(chances.argmax())
    ends = _followed(grid, _centred(grid, _thin_end_first(grid, chords[best])))
    in_mask = (ends + 0.5) / scale + corner
    start, end = ((float(left_px + x * step_px), float(top_px + y * step_px)) for x, y in in_mask)
    return BodyAxis(start, end, float(chances[best] / chances.sum()), step_px)


def _on_grid(mask: NDArray[np.bool_], on: NDArray[np.intp]) -> tuple[NDArray[np.uint8], float, NDArray[np.float64]]:
    """Return the animal at the size looked at, its pixels per mask pixel, and where in the mask its corner is."""
    (top, left), (bottom, right) = on.min(0), on.max(0) + 1
    scale = GRID_PX / max(bottom - top, right - left)
    size = (max(1, round((right - left) * scale)), max(1, round((bottom - top) * scale)))
    way = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    cut = cv2.resize(mask[top:bottom, left:right].astype(np.float32), size, interpolation=way)
    framed = cv2.copyMakeBorder(
        (np.asarray(cut) > 0.5).astype(np.uint8), RIM_PX, RIM_PX, RIM_PX, RIM_PX, cv2.BORDER_CONSTANT
    )
    closed = cv2.morphologyEx(framed, cv2.MORPH_CLOSE, np.ones((CLOSED_PX, CLOSED_PX), np.uint8))
    return np.asarray(closed, np.uint8), scale, np.array([left, top]) - RIM_PX / scale


def _thin_end_first(grid: NDArray[np.uint8], chord: NDArray[np.float64]) -> NDArray[np.float64]:
    widths = widths_along(grid, chord, N_SAMPLES).sum(0)
    third = N_SAMPLES // 3
    return chord if widths[:third].mean() <= widths[-third:].mean() else chord[::-1]


def _features(grid: NDArray[np.uint8], chord: NDArray[np.float64], longest: float) -> list[float]:
    """Return what tells a body from a wing: length, width of its thinner parts and thin end, change of width."""
    widths = widths_along(grid, _thin_end_first(grid, chord), N_SAMPLES).sum(0)
    quarter, half = np.sort(widths)[[N_SAMPLES // 4, N_SAMPLES // 2]]
    logs = np.log(0.01 + np.array([quarter, half, widths[:2].mean()]))
    length = float(np.linalg.norm(chord[1] - chord[0])) / longest
    return [length, *logs.tolist(), float(np.abs(np.diff(widths)).sum())]


def _centred(grid: NDArray[np.uint8], chord: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the line through the middle of the thin part where there is a long one; else as it came."""
    n = 2 * N_SAMPLES
    left, right = widths_along(grid, chord, n)
    width = left + right
    thin = width <= 1.6 * np.median(np.sort(width)[: n // 2])
    thin[: n // 24] = False
    if thin.sum() < 0.3 * n:
        return chord
    t = (np.arange(n) + 0.5) / n
    length = float(np.linalg.norm(chord[1] - chord[0]))
    along = (chord[1] - chord[0]) / length
    across = np.array([-along[1], along[0]])
    slope, start = np.polyfit(t[thin], (left - right)[thin] / 2 * length, 1)
    return chord + np.outer([start, start + slope], across)


def _followed(grid: NDArray[np.uint8], line: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the line as far as the mask goes along it, within a narrow strip and over short gaps."""
    length = float(np.linalg.norm(line[1] - line[0]))
    along = (line[1] - line[0]) / length
    across = np.array([-along[1], along[0]])
    t = np.arange(-0.3 * length, 1.3 * length, 0.25)
    width = float(np.median(widths_along(grid, line, N_SAMPLES).sum(0)))
    half = max(1.0, float(np.clip(BAND_OF_WIDTH * width, *BAND_SHARES)) * length)
    shown = np.zeros(len(t), bool)
    for off in np.linspace(-half, half, 9):
        x, y = (np.asarray(v, np.float32) for v in (line[0] + np.outer(t, along) + off * across).T)
        shown |= np.asarray(cv2.remap(grid * np.float32(1), x[None], y[None], cv2.INTER_LINEAR))[0] > 0.5
    on = np.flatnonzero(shown)
    # Runs of the strip apart by more than the gap are of something else; the one over the middle counts.
    parts = np.split(on, np.flatnonzero(np.diff(on) * 0.25 > GAP_SHARE * length) + 1)
    middle = int(np.argmin(np.abs(t - length / 2)))
    part = min(parts, key=lambda p: int(np.abs(p - middle).min()) if len(p) else len(t))
    if not len(part):
        return line
    return np.array([line[0] + along * t[part[0]], line[0] + along * t[part[-1]]])
