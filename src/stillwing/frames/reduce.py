"""Making grey pictures smaller, the fast way."""

from typing import TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["averaged", "halved", "shrunk"]

Sample = TypeVar("Sample", np.uint8, np.float32)


def halved(picture: NDArray[Sample]) -> NDArray[Sample]:
    """Return the picture at half its size, each pixel the mean of four; an odd row or column is dropped."""
    rows, cols = picture.shape[0] // 2, picture.shape[1] // 2
    return averaged(picture[: 2 * rows, : 2 * cols], (cols, rows))


def averaged(picture: NDArray[Sample], size: tuple[int, int]) -> NDArray[Sample]:
    """Return the picture at ``size`` (columns, rows), each pixel the mean over what it covers."""
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), picture.dtype)


def shrunk(picture: NDArray[np.uint8], size: tuple[int, int]) -> NDArray[np.uint8]:
    """Return the picture at ``size`` (columns, rows), by halves as far as they go and linearly for the rest.

    Exact halves have a fast path in OpenCV: at 20 MP the first takes 3 ms, one area resize by 3.4 takes 31 ms.
    """
    while picture.shape[1] >= 2 * size[0] and picture.shape[0] >= 2 * size[1]:
        picture = halved(picture)
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_LINEAR), np.uint8)
