"""Where an animal may be in one coarse picture."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.coarse import Coarse
from stillwing.frames.measured import Box
from stillwing.frames.network import run_network

__all__ = ["Candidate", "candidates", "certainty_of"]

STRIDE = 4
"""Coarse pixels per cell of the network's answer."""
N_MOST = 6
LEAST_SCORE = 0.05
CLEAR_SCORE = 0.4
"""From here on a candidate is taken without a further look."""
FIT = (-0.816, 2.116, 0.468)
SAME_PLACE = 0.5
"""Overlap from which two candidates are one."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A place that may hold an animal: its box in pixels of the upright original, and a score from 0 to 1."""

    box: Box
    score: float


def candidates(coarse: Coarse, views: Iterable[NDArray[np.float32]]) -> tuple[Candidate, ...]:
    """Return the places that look like an animal, best first; none in a plain picture.

    Parameters
    ----------
    coarse : Coarse
        The reduced frame.
    views : iterable of ndarray, shape (rows, cols), float32
        What moved against the background, from `stillwing.frames.change.change`, over several steps; the later ones
        are made and looked at only while nothing clear has been found. Zeros for a single frame. [DN]

    Notes
    -----
    A small network (``training/find_net.py``) marks the middles of animals on a grid of ``STRIDE`` coarse pixels and
    gives for each the distances to the four sides of its box.
    """
    found: list[Candidate] = []
    # What moved misleads when the background moves in parts, so the last look is at the frame alone.
    for change in chain(views, [np.zeros_like(coarse.grey)]):
        found = merged([*found, *search(coarse, change)])
        if found and found[0].score >= CLEAR_SCORE:
            break
    return tuple(found[:N_MOST])


def certainty_of(score: float, outline_certainty: float) -> float:
    """Return the chance that a candidate is an animal rightly boxed, from what both networks say of it.

    A logistic fit on 1,901 candidates in bursts of real animals over real pictures (benchmarks/composites.py), in
    rendered ones and in bursts without an animal, counting a box as right from an overlap of 0.4.
    """
    logit = FIT[0] + FIT[1] * bounded_logit(score) + FIT[2] * bounded_logit(outline_certainty)
    return float(1 / (1 + np.exp(-logit)))


def bounded_logit(p: float) -> float:
    """Return log odds, bounded at odds of 200 to 1."""
    q = min(max(p, 0.005), 0.995)
    return float(np.log(q / (1 - q)))


def search(coarse: Coarse, change: NDArray[np.float32]) -> list[Candidate]:
    """Return the peaks of one pass of the network, best first."""
    (cells,) = run_network("find", {"x": np.stack([coarse.grey, coarse.detail, change])[None]})
    heat = 1 / (1 + np.exp(-cells[0, 0]))
    peaks = np.argwhere((heat == cv2.dilate(heat, np.ones((3, 3), np.uint8))) & (heat >= LEAST_SCORE))
    order = np.argsort([-heat[row, col] for row, col in peaks])[:N_MOST]
    reach = np.exp(np.clip(cells[0, 1:5], -4, 6.5))
    rows, cols = coarse.grey.shape
    out = []
    for row, col in peaks[order]:
        left, up, right, down = (float(v) for v in reach[:, row, col])
        x, y = (col + 0.5) * STRIDE, (row + 0.5) * STRIDE
        box = scaled_box(max(x - left, 0), max(y - up, 0), min(x + right, cols), min(y + down, rows), coarse)
        out.append(Candidate(box, float(heat[row, col])))
    return merged(out)


def scaled_box(left: float, top: float, right: float, bottom: float, coarse: Coarse) -> Box:
    """Return a box of coarse pixels in pixels of the original."""
    x0, x1 = (float(x) * coarse.scale_x for x in (left, right))
    y0, y1 = (float(y) * coarse.scale_y for y in (top, bottom))
    return Box(x0, y0, x1 - x0, y1 - y0)


def merged(found: list[Candidate]) -> list[Candidate]:
    """Return the candidates best first, without those that another already covers."""
    kept: list[Candidate] = []
    for candidate in sorted(found, key=lambda c: -c.score):
        if all(candidate.box.overlap(other.box) < SAME_PLACE for other in kept):
            kept.append(candidate)
    return kept
