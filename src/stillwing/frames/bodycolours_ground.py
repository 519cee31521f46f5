"""How far a strip taken for the body differs from the ground beside it: clear wings let the ground through."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.basiccolours import BASIC_COLOURS, lab_of, named
from stillwing.frames.bodyaxis import BodyAxis

__all__ = ["LEAST_APART", "apart_from_ground", "main_colour"]

LEAST_APART = 16.0
"""CIE 1976 colour difference from the ground below which a line may run over a wing: of 47 rendered animals seen from
any side, 7 of the 10 whose line was not the body's lay below, and 1 of the 30 whose strip was nine tenths body."""
N_STATIONS = 12
OFF_RIM_PX = 3.0
GROUND_SHARE, LEAST_GROUND_PX = 0.06, 12.0
"""Width of the ground that is looked at, as a share of the line's length, and in pixels at least."""
LEAST_GROUND, LEAST_BODY = 5, 3
"""A station with fewer pixels of either is passed over."""


def apart_from_ground(
    rgb: NDArray[np.uint8], mask: NDArray[np.uint8], inside: NDArray[np.bool_], axis: BodyAxis, corner: tuple[int, int]
) -> float | None:
    """Return the colour difference between strip and ground, the median over stations along the line.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (rows, cols, 3)
        A region whose corner lies at ``corner`` (x, y) of the frame.
    mask : ndarray of uint8, shape (rows, cols)
        1 on the animal.
    inside : ndarray of bool, shape (rows, cols)
        The strip.

    Returns
    -------
    float or None
        In CIELAB (CIE 1976), lightness counted in; ``None`` where no ground shows beside the animal.
    """
    away = np.asarray(cv2.distanceTransform((1 - mask).astype(np.uint8), cv2.DIST_L2, 3))
    near = (away > OFF_RIM_PX) & (away < OFF_RIM_PX + max(GROUND_SHARE * axis.length_px, LEAST_GROUND_PX))
    ground, body = (_by_station(rgb, where, axis, corner) for where in (near, inside))
    apart = [
        float(np.linalg.norm(np.median(of_body, 0) - np.median(of_ground, 0)))
        for of_ground, of_body in zip(ground, body, strict=True)
        if len(of_ground) >= LEAST_GROUND and len(of_body) >= LEAST_BODY
    ]
    return float(np.median(apart)) if apart else None


def main_colour(pixels: NDArray[np.uint8]) -> str:
    """Return the basic colour with the largest share of pixels, shape (n, 3)."""
    return BASIC_COLOURS[int(named(pixels).mean(0).sum(-1).argmax())]


def _by_station(
    rgb: NDArray[np.uint8], where: NDArray[np.bool_], axis: BodyAxis, corner: tuple[int, int]
) -> list[NDArray[np.float32]]:
    """Return the CIELAB colours of the pixels at each part of the line."""
    rows, cols = np.nonzero(where)
    start, end = (np.array(point) - corner - 0.5 for point in (axis.start_px, axis.end_px))
    along = (end - start) / axis.length_px**2
    station = np.floor(((cols - start[0]) * along[0] + (rows - start[1]) * along[1]) * N_STATIONS)
    colours = lab_of(rgb[rows, cols])
    return [colours[station == number] for number in range(N_STATIONS)]
