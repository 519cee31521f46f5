"""The eight Exif orientations: stored pixels, boxes and sizes turned upright.

Tag 0x0112 says where the stored row 0 and column 0 lie in the scene: 1 top left, 2 top right, 3 bottom right,
4 bottom left, 5 left top, 6 right top, 7 right bottom, 8 left bottom.
"""

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["point_upright", "rect_stored", "rect_upright", "sides_swapped", "upright"]

Rect = tuple[float, float, float, float]
"""Left, top, width, height. [px]"""


def sides_swapped(orientation: int) -> bool:
    """Return whether the upright picture's width is the stored picture's height."""
    return 5 <= orientation <= 8


def upright(stored: NDArray[Any], orientation: int) -> NDArray[Any]:
    """Return the picture as it was seen.

    Parameters
    ----------
    stored : ndarray, shape (rows, cols) or (rows, cols, 3)
        Pixels in the order of the file.
    orientation : int
        Exif orientation, 1 to 8.

    Returns
    -------
    ndarray, shape (rows, cols, ...) or (cols, rows, ...)
        C-contiguous; the same array where nothing has to be turned.
    """
    # OpenCV turns a 20 MP grey picture in blocks, several times faster than a copy of a strided NumPy view.
    match orientation:
        case 2:
            turned = cv2.flip(stored, 1)
        case 3:
            turned = cv2.rotate(stored, cv2.ROTATE_180)
        case 4:
            turned = cv2.flip(stored, 0)
        case 5:
            turned = cv2.transpose(stored)
        case 6:
            turned = cv2.rotate(stored, cv2.ROTATE_90_CLOCKWISE)
        case 7:
            turned = cv2.flip(cv2.transpose(stored), -1)
        case 8:
            turned = cv2.rotate(stored, cv2.ROTATE_90_COUNTERCLOCKWISE)
        case _:
            return stored
    return np.asarray(turned)


def point_upright(x: float, y: float, width: float, height: float, orientation: int) -> tuple[float, float]:
    """Return a point (x, y) of the stored picture, sized ``width`` x ``height``, in the upright picture. [px]"""
    right, below = width - x, height - y
    return {
        2: (right, y),
        3: (right, below),
        4: (x, below),
        5: (y, x),
        6: (below, x),
        7: (below, right),
        8: (y, right),
    }.get(orientation, (x, y))


def rect_upright(rect: Rect, width: float, height: float, orientation: int) -> Rect:
    """Return a rectangle of the stored picture, sized ``width`` x ``height``, in the upright picture. [px]"""
    x, y, w, h = rect
    first = point_upright(x, y, width, height, orientation)
    last = point_upright(x + w, y + h, width, height, orientation)
    left, top = min(first[0], last[0]), min(first[1], last[1])
    return left, top, abs(first[0] - last[0]), abs(first[1] - last[1])


def rect_stored(rect: Rect, width: float, height: float, orientation: int) -> Rect:
    """Return a rectangle of the upright picture, sized ``width`` x ``height``, in the stored picture. [px]"""
    # Each orientation is its own inverse but for the two quarter turns, which undo each other.
    return rect_upright(rect, width, height, {6: 8, 8: 6}.get(orientation, orientation))
