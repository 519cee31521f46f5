"""How blurred the animal is, in pixels of the original."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.measured import Blur, BlurKind

__all__ = ["measure_blur"]


def measure_blur(region: NDArray[np.uint8], mask: NDArray[np.uint8]) -> Blur | None:
    """Return the blur on the masked part of a full-size grey region, both of shape (rows, cols).

    ``None`` where the region is too small or too plain to measure.
    """
    if min(region.shape) < 16:
        return None
    grey = region.astype(np.float32)
    slope = cv2.magnitude(cv2.Sobel(grey, cv2.CV_32F, 1, 0, scale=0.125), cv2.Sobel(grey, cv2.CV_32F, 0, 1, scale=0.125))
    low, high = cv2.erode(grey, np.ones((15, 15))), cv2.dilate(grey, np.ones((15, 15)))
    width = (high - low) / np.maximum(slope, 0.5) / np.sqrt(2 * np.pi)
    strong = (mask > 0) & (high - low > 25)
    if strong.sum() < 20:
        return None
    sigma = float(np.percentile(width[strong], 2))
    return Blur(sigma, sigma * 0.6, sigma * 1.7, sigma, sigma, None, BlurKind.MIXED)
