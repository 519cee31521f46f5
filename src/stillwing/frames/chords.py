"""The longest straight lines within a mask: among them is the one from the head to the tail."""

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["longest_chords", "widths_along"]

N_TURNS = 60
"""Directions looked along, 3 degrees apart."""
N_MOST = 8
SHORTEST_SHARE = 0.25
"""Lines shorter than this share of the mask's longer side are not looked at."""
AGAINST_LONGEST = 0.45
SAME_WITHIN = 0.22
"""Two lines whose ends lie this near each other, as a share of the longer one, are one line."""
WIDEST = 0.5
"""Widths are followed to this share of the line's length on either side."""


def longest_chords(mask: NDArray[np.uint8]) -> NDArray[np.float64]:
    """Return lines that run within a mask from edge to edge, the longest first, no two alike.

    Parameters
    ----------
    mask : ndarray, shape (rows, cols), uint8
        1 on the animal, 0 elsewhere; with a rim of zeros.

    Returns
    -------
    ndarray, shape (n, 2, 2)
        Both ends of up to `N_MOST` lines as (x, y), in pixels of the mask; (0, 2, 2) for an empty one.
    """
    runs = np.concatenate([_runs_along(mask, np.pi * turn / N_TURNS) for turn in range(N_TURNS)])
    lengths = np.linalg.norm(runs[:, 1] - runs[:, 0], axis=1)
    order = np.argsort(-lengths, kind="stable")
    runs, lengths = runs[order], lengths[order]
    kept: list[NDArray[np.float64]] = []
    least = AGAINST_LONGEST * lengths[0] if len(lengths) else 0.0
    while len(runs) and len(kept) < N_MOST and lengths[0] > least:
        kept.append(runs[0])
        apart = [np.linalg.norm(other - runs[0], axis=2).max(1) for other in (runs, runs[:, ::-1])]
        is_other = np.minimum(*apart) > SAME_WITHIN * lengths[0]
        runs, lengths = runs[is_other], lengths[is_other]
    return np.array(kept).reshape(-1, 2, 2)


def widths_along(mask: NDArray[np.uint8], ends: NDArray[np.float64], n_samples: int) -> NDArray[np.float64]:
    """Return how far the mask reaches to the left and to the right of a line, shape (2, n_samples), in its lengths."""
    (length, along), across = _direction(ends)
    at = ends[0] + np.outer((np.arange(n_samples) + 0.5) / n_samples, along * length)
    reach = np.arange(max(int(WIDEST * length), 2))
    widths = []
    for sign in (1, -1):
        inside = _looked_up(mask, at[:, None] + sign * across * reach[None, :, None])
        inside[:, -1] = False
        widths.append(np.argmin(inside, 1) / length)
    return np.array(widths)


def _direction(ends: NDArray[np.float64]) -> tuple[tuple[float, NDArray[np.float64]], NDArray[np.float64]]:
    length = float(np.linalg.norm(ends[1] - ends[0]))
    along = (ends[1] - ends[0]) / length
    return (length, along), np.array([-along[1], along[0]])


def _looked_up(mask: NDArray[np.uint8], points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return the mask at points (..., 2); False beyond it."""
    x, y = np.moveaxis(np.rint(points).astype(int), -1, 0)
    rows, cols = mask.shape
    inside = (x >= 0) & (x < cols) & (y >= 0) & (y < rows)
    return np.asarray(inside & (mask[np.clip(y, 0, rows - 1), np.clip(x, 0, cols - 1)] > 0), np.bool_)


def _runs_along(mask: NDArray[np.uint8], angle: float) -> NDArray[np.float64]:
    """Return the longest run within the mask on each line in that direction, shape (n, 2, 2), without short ones."""
    rows, cols = mask.shape
    side = int(np.ceil(np.hypot(rows, cols))) + 2
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    middle = np.array([cols, rows]) / 2 - 0.5
    back = np.column_stack([turn, middle - turn @ np.full(2, side / 2 - 0.5)])
    flags = cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    turned = np.asarray(cv2.warpAffine(mask, back, (side, side), flags=flags))
    steps = np.diff(np.pad(turned.astype(np.int8), ((0, 0), (1, 1))), axis=1)
    row, start = np.nonzero(steps == 1)
    stop = np.nonzero(steps == -1)[1]
    order = np.lexsort((stop - start, row))
    row, start, stop = row[order], start[order], stop[order]
    is_longest = np.append(row[1:] != row[:-1], True)[: len(row)]
    is_longest &= stop - start > SHORTEST_SHARE * max(rows, cols)
    row, start, stop = row[is_longest], start[is_longest], stop[is_longest]
    ends = [np.column_stack([edge - 0.5, row, np.ones(len(row))]) @ back.T for edge in (start, stop)]
    return np.stack(ends, 1)
