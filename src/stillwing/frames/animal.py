"""Everything that is measured on one animal, from the full-size pixels round it."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.blur import measure_blur
from stillwing.frames.measured import Animal, Box, Origin

__all__ = ["measure_animal"]


def measure_animal(luma: NDArray[np.uint8], box: Box, *, certainty: float, origin: Origin, track: int = 0) -> Animal:
    """Return what the full-size grey picture, shape (rows, cols), says of the animal in ``box``."""
    rows, cols = luma.shape
    left, top = max(int(box.x_px), 0), max(int(box.y_px), 0)
    right, bottom = min(int(box.x_px + box.width_px) + 1, cols), min(int(box.y_px + box.height_px) + 1, rows)
    region = luma[top:bottom, left:right]
    mask = np.full(region.shape, 255, np.uint8)
    margin = max(8, region.shape[1] // 4)
    surroundings = luma[max(top - margin, 0) : bottom + margin, max(left - margin, 0) : right + margin]
    return Animal(
        box=box,
        certainty=certainty,
        origin=origin,
        blur=measure_blur(region, mask),
        outline_px=(),
        size_in_frame=max(box.width_px, box.height_px) / max(rows, cols),
        edge_clipped=left <= 1 or top <= 1 or right >= cols - 1 or bottom >= rows - 1,
        edge_distance_px=(float(left), float(top), float(cols - right), float(rows - bottom)),
        highlights_clipped=float((region >= 254).mean()),
        shadows_clipped=float((region <= 1).mean()),
        background_busyness=float(np.abs(cv2.Sobel(surroundings, cv2.CV_16S, 1, 0)).mean() / 8),
        focus_map=None,
        track=track,
    )
