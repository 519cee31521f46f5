"""How far a strip taken for the body differs from the ground beside it: clear wings let the ground through."""

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.basiccolours import BASIC_COLOURS, lab_of, named
from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodycolours_strip import Strip

__all__ = ["THIN_PX", "apart_from_ground", "why_like_ground"]

LEAST_APART, LEAST_APART_DOUBTFUL = 12.0, 20.0
"""CIE 1976 colour difference from the ground below which a line may run over a wing; the second where the line itself
is doubtful. Set on rendered animals that are seen from any side (benchmarks/bodycolours.py --dev)."""
DOUBTFUL = 0.8
"""Certainty of a line below which it is doubtful."""
THIN_PX = 5.0
"""Half a body's width up to which the ground's colour runs into it: cameras average colour over some 5 px against
noise, and most JPEG files keep it for two pixels together. [px]"""
ALIKE = 12.0
"""Difference of hue and chroma up to which a thin body of the ground's name is not told from it: rendered ones that
were so alike were named worse than others (benchmarks/bodycolours.py --dev)."""
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
    ground, body = (_by_station(rgb, where, axis, corner) for where in (_ground(mask, axis), inside))
    apart = [
        float(np.linalg.norm(np.median(of_body, 0) - np.median(of_ground, 0)))
        for of_ground, of_body in zip(ground, body, strict=True)
        if len(of_ground) >= LEAST_GROUND and len(of_body) >= LEAST_BODY
    ]
    return float(np.median(apart)) if apart else None


def why_like_ground(
    rgb: NDArray[np.uint8], mask: NDArray[np.uint8], strip: Strip, axis: BodyAxis, corner: tuple[int, int]
) -> str | None:
    """Return why a strip tells no colours, where it looks like the ground; ``None`` where it does not.

    Parameters as for `apart_from_ground`.
    """
    apart = apart_from_ground(rgb, mask, strip.inside, axis, corner)
    least = LEAST_APART_DOUBTFUL if axis.certainty < DOUBTFUL else LEAST_APART
    if apart is not None and apart < least:
        return (
            "along the line of the body the picture looks like the ground beside it; the line may run over a wing: "
            "mark the two ends of the body"
        )
    ground, body = rgb[_ground(mask, axis)], rgb[strip.inside]
    if strip.half_width_px >= THIN_PX or not len(ground):
        return None
    mains = [BASIC_COLOURS[int(named(pixels).mean(0).sum(-1).argmax())] for pixels in (body, ground)]
    of_body, of_ground = (np.median(lab_of(pixels), 0) for pixels in (body, ground))
    if mains[0] != mains[1] or np.linalg.norm((of_body - of_ground)[1:]) > ALIKE:
        return None
    return f"so thin a body takes on the ground's colour in a picture, and here both are mostly {mains[0]}"


def _ground(mask: NDArray[np.uint8], axis: BodyAxis) -> NDArray[np.bool_]:
    """Return where the ground beside the animal is."""
    away = np.asarray(cv2.distanceTransform((1 - mask).astype(np.uint8), cv2.DIST_L2, 3))
    wide = max(GROUND_SHARE * axis.length_px, LEAST_GROUND_PX)
    return np.asarray((away > OFF_RIM_PX) & (away < OFF_RIM_PX + wide))


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
