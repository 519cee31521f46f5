"""The length of an animal's body from its mask: in pixels, and in millimetres where the scale is known.

For dragonflies and damselflies from the front of the head to the end of the abdomen, without antennae and without the
appendages at its end; for birds from the tip of the bill to the tip of the tail, as the bird holds itself.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.frames.bodyaxis import BodyAxis, body_axis
from stillwing.frames.outline import Outline
from stillwing.optics.scale import combined, spread_round
from stillwing.optics.subject import Range

__all__ = [
    "BodyLength",
    "Build",
    "NoLength",
    "PlacedMask",
    "SeenLength",
    "body_length",
    "marked_length",
    "masks_of",
    "seen_length",
]

SURE_OF_BODY = 0.65
"""Below this certainty a wing may have been taken for the body, and there is no length."""
UNDECIDED = 1.15
"""An outline that grows longer than this when doubtful pixels count does not tell where the body ends."""
DOUBTFUL_COVER, COVER = 0.25, 0.5
FINER = 3
"""Pixels of a mask for each cell of an outline: its cover is read between the cells."""


class Build(StrEnum):
    """What the mask's errors depend on."""

    ODONATE = "dragonfly or damselfly"
    BIRD = "bird"


MASK_SHARES = {Build.ODONATE: (0.01, 1.0), Build.BIRD: (0.04, 1.7)}
"""Error of a length on the mask: a share of the length, and cells of the mask; 90 % of the rendered animals kept for
development lie within (benchmarks/bodylength.py)."""
APPENDAGES = {Build.ODONATE: 0.05, Build.BIRD: 0.0}
"""What a mask may show beyond the end of the body, as a share; a choice: the longest are those of male hawkers."""


@dataclass(frozen=True, slots=True)
class PlacedMask:
    """A mask, shape (rows, cols), True on the animal, with its left top corner at (``x_px``, ``y_px``) of the frame.

    ``step_px`` is the width of its pixels and ``cell_px`` the finest that it shows. [px]
    """

    mask: NDArray[np.bool_]
    x_px: float
    y_px: float
    step_px: float
    cell_px: float


@dataclass(frozen=True, slots=True)
class SeenLength:
    """The body in the picture: its line, and its length there with the 90 % interval that the mask allows. [px]"""

    axis: BodyAxis
    length_px: Range


@dataclass(frozen=True, slots=True)
class NoLength:
    """Why there is no length, in words."""

    reason: str


@dataclass(frozen=True, slots=True)
class BodyLength:
    """Body length, by a picture.

    A body that is turned out of the focal plane shows shorter than it is, never longer. ``seen_mm`` is what shows,
    with its 90 % interval; the truth is that over the cosine of the tilt, which the picture does not tell.
    """

    seen: SeenLength
    seen_mm: Range
    most_tilt_deg: float | None
    """The most that the body may be turned out of the focal plane; ``None`` where nobody said."""

    @property
    def least_mm(self) -> float:
        """The body is not shorter than this, however it is turned. [mm]"""
        return self.seen_mm.low

    @property
    def length_mm(self) -> Range:
        """The length with its 90 % interval: from no tilt at its lower end to the most tilt at its upper. [mm]

        The middle one is what shows. Where nobody said how far the body may be turned there is no upper end.
        """
        low, likely, high = self.seen_mm
        if self.most_tilt_deg is None:
            return Range(low, likely, math.inf)
        return Range(low, likely, high / math.cos(math.radians(self.most_tilt_deg)))


def masks_of(outline: Outline) -> tuple[PlacedMask, PlacedMask]:
    """Return what the outline takes for the animal, and that with the pixels of which it doubts."""
    cells = outline.cover.shape[0]
    fine = np.asarray(cv2.resize(outline.cover, (FINER * cells, FINER * cells), interpolation=cv2.INTER_LINEAR))
    cell = outline.side_px / cells
    return (
        PlacedMask(fine > COVER, outline.x_px, outline.y_px, cell / FINER, cell),
        PlacedMask(fine > DOUBTFUL_COVER, outline.x_px, outline.y_px, cell / FINER, cell),
    )


def seen_length(placed: PlacedMask, build: Build, doubtful: PlacedMask | None = None) -> SeenLength | NoLength:
    """Return the body's line on a mask and its length there; `NoLength` where the body cannot be told.

    Parameters
    ----------
    placed : PlacedMask
        The whole animal, wings and all; cut by nothing.
    build : Build
        What kind of animal it is.
    doubtful : PlacedMask, optional
        The mask with the pixels that may belong to it: the interval reaches as far as the body does there.

    Notes
    -----
    The mask's own error was set on rendered animals, for true masks and for those of `stillwing.frames.outline`. An
    odonate's appendages at the end of the abdomen cannot be told from it on a mask: the middle figure takes off half of
    what they may be, the lower end all of it.
    """
    axis = body_axis(placed.mask, placed.x_px, placed.y_px, placed.step_px)
    if axis is None:
        return NoLength("no body shows in the mask")
    if axis.certainty < SURE_OF_BODY:
        return NoLength("the body cannot be told from the wings in this outline; mark its two ends")
    longest = axis.length_px
    if doubtful is not None:
        wider = body_axis(doubtful.mask, doubtful.x_px, doubtful.y_px, doubtful.step_px)
        longest = max(longest, wider.length_px if wider else longest)
        if longest > UNDECIDED * axis.length_px:
            return NoLength("the outline does not tell where the body ends; mark its two ends")
    floor, cells = MASK_SHARES[build]
    error = math.hypot(floor, cells * placed.cell_px / axis.length_px)
    appended = 1 + APPENDAGES[build] / 2
    likely = axis.length_px / appended
    return SeenLength(axis, Range(likely / appended * math.exp(-error), likely, longest * math.exp(error)))


def body_length(seen: SeenLength, mm_per_px: Range, most_tilt_deg: float | None = None) -> BodyLength:
    """Return the length in millimetres.

    Parameters
    ----------
    seen : SeenLength
        The body in the picture.
    mm_per_px : Range
        What a pixel covers there, as `stillwing.optics.scale.subject_scale` gives it. [mm/px]
    most_tilt_deg : float, optional
        How far the body may be turned out of the focal plane, 0 to 80: 15 for what a person calls side on. Without it
        the picture gives a lower bound alone. [deg]

    Raises
    ------
    InputError
        If the tilt lies outside.
    """
    if most_tilt_deg is not None and not 0 <= most_tilt_deg <= 80:
        raise InputError(f"a tilt of {most_tilt_deg:g}° was given; it lies between 0 (side on) and 80°")
    return BodyLength(seen, combined(seen.length_px, mm_per_px), most_tilt_deg)


def marked_length(one_px: tuple[float, float], other_px: tuple[float, float], error_px: float) -> SeenLength:
    """Return the length between two ends that a person marked, each right to ``error_px`` with 90 % chance. [px]

    Raises
    ------
    InputError
        If the ends lie no farther apart than their error.
    """
    axis = BodyAxis(one_px, other_px, 1.0, error_px)
    if axis.length_px <= 2 * error_px:
        raise InputError("the two ends lie on each other; mark the front of the head and the end of the body")
    share = math.sqrt(2) * error_px / axis.length_px
    return SeenLength(axis, spread_round(axis.length_px, share, share))
