"""Where an animal may be in one coarse picture."""

from dataclasses import dataclass

import cv2
import numpy as np

from stillwing.frames.coarse import Coarse
from stillwing.frames.measured import Box

__all__ = ["Candidate", "candidates"]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A place that may hold an animal: its box in pixels of the upright original, and a score from 0 to 1."""

    box: Box
    score: float


def candidates(coarse: Coarse) -> tuple[Candidate, ...]:
    """Return the places that stand out from their surroundings, best first; none in a plain picture."""
    contrast = np.abs(coarse.grey - cv2.GaussianBlur(coarse.grey, (0, 0), coarse.grey.shape[1] / 8))
    salience = cv2.GaussianBlur(contrast * (1 + coarse.detail), (0, 0), 2.0)
    mask = (salience > salience.mean() + 3 * salience.std()).astype(np.uint8)
    _, _, stats, _ = cv2.connectedComponentsWithStats(mask)
    blobs = sorted(stats[1:], key=lambda row: -row[cv2.CC_STAT_AREA])[:4]
    total = sum(row[cv2.CC_STAT_AREA] for row in blobs)
    s = coarse.scale
    return tuple(
        Candidate(Box(x * s, y * s, w * s, h * s), float(area / total)) for x, y, w, h, area in blobs if area >= 4
    )
