"""What moved against the background between neighbouring frames of a burst."""

from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.reduce import halved

__all__ = ["change", "slip_between"]

NEIGHBOURS = np.ones((3, 3), np.uint8)
MOST_DIFFERENCE_DN = 6.0
OUTSIDE = -1e4
LEAST_OVERLAP = 0.3
"""Share of the picture that two neighbours must have in common for their shift to be believed."""


def change(here: NDArray[np.float32], neighbours: Sequence[NDArray[np.float32]]) -> NDArray[np.float32]:
    """Return what differs from the neighbouring frames once their background is laid over this one's.

    Parameters
    ----------
    here : ndarray, shape (rows, cols), float32
        Coarse picture of a frame. [DN]
    neighbours : sequence of ndarray, shape (rows, cols), float32
        Those of frames before and after; others than of the same shape are left out. [DN]

    Returns
    -------
    ndarray, shape (rows, cols), float32
        The smallest of the differences, so that what was elsewhere then leaves no ghost; zero without neighbours. [DN]

    References
    ----------
    The shift between frames is found by phase correlation: E. De Castro and C. Morandi, "Registration of translated and
    rotated images using finite Fourier transforms", IEEE Trans. Pattern Anal. Mach. Intell. 9 (1987) 700.
    """
    sides = []
    for there in neighbours:
        if there.shape == here.shape:
            dx, dy = slip_between(here, there)
            sides.append(beyond(here, there, -dx, -dy))
    return np.asarray(np.minimum.reduce(sides), np.float32) if sides else np.zeros_like(here)


def slip_between(before: NDArray[np.float32], after: NDArray[np.float32]) -> tuple[float, float]:
    """Return how far the background moved from one picture to the next, as (x, y). [px]

    Phase correlation of the grey pictures, of their edges, and no movement at all are three guesses; the one that
    leaves least is taken, because stems in a row or glitter on water mislead the first. Half the size is enough for
    it, and four times as fast.
    """
    a, b = halved(before), halved(after)
    guesses = [(0.0, 0.0), phase_shift(a, b), phase_shift(edges(a), edges(b))]
    dx, dy = min(guesses, key=lambda slip: remainder(a, b, -slip[0], -slip[1]))
    return 2 * dx, 2 * dy


def remainder(here: NDArray[np.float32], there: NDArray[np.float32], dx: float, dy: float) -> float:
    """Return the mean difference after moving ``there`` by (dx, dy), where the two overlap. [DN]"""
    moved = shifted(there, dx, dy)
    reached = moved >= 0
    if reached.mean() < LEAST_OVERLAP:
        return float("inf")
    # Cut off, so that a large animal does not outweigh the background.
    return float(np.minimum(np.abs(here - moved)[reached], MOST_DIFFERENCE_DN).mean())


def phase_shift(before: NDArray[np.float32], after: NDArray[np.float32]) -> tuple[float, float]:
    """Return the shift of the highest peak of phase correlation, no further than a third of the picture. [px]"""
    rows, cols = before.shape
    window = cv2.createHanningWindow((cols, rows), cv2.CV_32F)
    # OpenCV 5 multiplies the window into its arguments.
    (dx, dy), _ = cv2.phaseCorrelate(before.copy(), after.copy(), window)
    return (dx, dy) if abs(dx) < cols / 3 and abs(dy) < rows / 3 else (0.0, 0.0)


def edges(grey: NDArray[np.float32]) -> NDArray[np.float32]:
    """Return the size of the gradient. [DN/px]"""
    x, y = cv2.Scharr(grey, cv2.CV_32F, 1, 0), cv2.Scharr(grey, cv2.CV_32F, 0, 1)
    return np.asarray(cv2.magnitude(x, y), np.float32)


def beyond(here: NDArray[np.float32], there: NDArray[np.float32], dx: float, dy: float) -> NDArray[np.float32]:
    """Return how far each pixel lies outside the range of its 3 x 3 neighbours in ``there`` moved by (dx, dy).

    The range forgives a background that lies a pixel off, as it does when it turns or has depth; zero where the moved
    picture does not reach. [DN]
    """
    moved = shifted(there, dx, dy)
    low, high = cv2.erode(moved, NEIGHBOURS), cv2.dilate(moved, NEIGHBOURS)
    gap = np.maximum(np.maximum(here - high, low - here), 0)
    gap[np.asarray(low) < 0] = 0
    return np.asarray(gap, np.float32)


def shifted(picture: NDArray[np.float32], dx: float, dy: float) -> NDArray[np.float32]:
    """Return the picture moved by (dx, dy), far below zero where it does not reach."""
    rows, cols = picture.shape
    move = np.array([[1, 0, dx], [0, 1, dy]], np.float64)
    return np.asarray(cv2.warpAffine(picture, move, (cols, rows), borderValue=(OUTSIDE,)), np.float32)
