"""What one measured frame is worth as a picture, and how like another it is."""

import math
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.frames.measured import Animal, Blur, MeasuredFrame
from stillwing.frames.sharpfor import SharpFor
from stillwing.optics.usable import usable_width

__all__ = ["Candidate", "ChoosingRules", "best_animal", "likeness", "rate_frame"]

INTERVAL_90_SD = 3.2897
"""Width of a 90 % interval in standard deviations: 2 x 1.6449."""

OUTLINE_CELLS = 12
"""Cells along each side of the grid on which outlines are compared: coarse, because edges found are rough."""

FINE_PER_CELL = 4

LOOK_SIZE = 5 + OUTLINE_CELLS**2


@dataclass(frozen=True, slots=True)
class ChoosingRules:
    """Every parameter of choosing, in one place.

    What a frame is worth (`rate_frame`) is a product of factors from 0 to 1; how like two frames are (`likeness`) is a
    Gaussian of their distance, each part of it divided by the figure here that counts as "clearly different".
    None of the figures has a source: they were set on rendered outings so that what is kept looks varied.
    """

    size_halving: float = 0.12
    """Size in frame s at which the factor for size, s^2 / (s^2 + this^2), is one half."""
    clipped_factor: float = 0.2
    """Factor where the frame's edge cuts the animal: a cut wing cannot be mended."""
    shadows_weight: float = 0.5
    """How much blocked shadows count against burnt highlights, which count in full."""
    busyness_halving_dn_px: float = 60.0
    """Mean gradient behind the animal at which the factor for the background is one half."""
    size_step: float = 0.35
    """Natural logarithm of the ratio of two sizes in frame."""
    place_step: float = 0.20
    """Way between two places in the frame, as shares of its width and height."""
    aspect_step: float = 0.5
    """Natural logarithm of the ratio of two widths over heights of the animal."""
    outline_step: float = 0.5
    """Share of two outlines, laid over each other at one size, that is not common: 1 less their Dice coefficient."""
    pose_cap: float = 1.0
    """Most that aspect and outline together may tell two frames apart: the wings beat through every outline in each
    burst, and frames that differ in nothing else are still near-copies."""
    moment_step_s: float = 1.0
    """Time between two frames of one burst."""
    moment_cap: float = 1.2
    """Most that time may tell two frames apart, in steps; frames of two bursts are this far apart. Two frames that
    differ in nothing but time therefore stay alike by exp(-1.2^2 / 2) = 0.49."""
    n_alike: int = 5
    """How many kept frames count against another: those most like it. Were it all of them, a long outing would use
    itself up by pictures that are hardly alike."""
    least_gain: float = 0.08
    """A frame is kept while its worth, less what the kept ones already show, is at least this."""
    least_chance: float = 0.5
    """A frame is sharp enough when the chance that its blur is below the output's limit is at least this."""
    spares_per_burst: int = 2
    spare_share: float = 0.5
    """A frame that is not sharp enough may be spare down to this share of the needed width."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """A frame with a measured animal, as the choosing sees it: no outline and no focus map, so that 20,000 fit."""

    path: Path
    burst: str
    blur: Blur
    width_share: float
    """Share of the frame's width that the animal takes."""
    height_share: float
    is_cut: bool
    """The frame's edge cuts the animal."""
    certainty: float
    highlights_clipped: float
    worth: float
    """0 to 1."""
    sharp_chance: float
    """Chance that the blur is below the output's limit."""
    usable_width_px: float
    needed_width_px: float
    look: NDArray[np.float64]
    """Shape (LOOK_SIZE,): what `likeness` compares: size, place x and y, aspect and moment in steps, the outline."""


def rate_frame(
    measured: MeasuredFrame, burst: str, moment_s: float, sharp_for: SharpFor, rules: ChoosingRules
) -> Candidate | None:
    """Return the frame's worth by its best animal; ``None`` where no animal has a measured blur.

    Parameters
    ----------
    measured : MeasuredFrame
        The frame.
    burst : str
        Name of its burst.
    moment_s : float
        When it was taken, on any clock that its burst shares. [s]
    sharp_for : SharpFor
        The output.
    rules : ChoosingRules
        The parameters.

    Notes
    -----
    worth = sharpness x whole x size x certainty x light x background, with sharpness = 1 / (1 + (b / limit)^2) and b
    the geometric mean of the blur and the upper end of its 90 % interval, so that an uncertain blur counts for less
    than a certain one. Each factor falls (or rises) steadily, so a frame that is better in one figure and equal in the
    others is never worth less.
    """
    best = best_animal(measured, sharp_for, rules)
    if best is None:
        return None
    animal, blur, worth = best
    limit = sharp_for.blur_limit(measured.width_px)
    return Candidate(
        path=measured.path,
        burst=burst,
        blur=blur,
        width_share=animal.box.width_px / measured.width_px,
        height_share=animal.box.height_px / measured.height_px,
        is_cut=animal.edge_clipped,
        certainty=animal.certainty,
        highlights_clipped=animal.highlights_clipped,
        worth=worth,
        sharp_chance=_sharp_chance(blur, limit),
        usable_width_px=float(usable_width(blur.blur_px, measured.width_px)),
        needed_width_px=sharp_for.needed_width(measured.width_px),
        look=_look(measured, animal, moment_s, rules),
    )


def best_animal(
    measured: MeasuredFrame, sharp_for: SharpFor, rules: ChoosingRules
) -> tuple[Animal, Blur, float] | None:
    """Return the animal that a frame is judged by, its blur and the frame's worth; ``None`` where none was measured."""
    limit = sharp_for.blur_limit(measured.width_px)
    rated = [
        (_worth(animal, animal.blur, limit, rules), -place, animal, animal.blur)
        for place, animal in enumerate(measured.animals)
        if animal.blur is not None
    ]
    if not rated:
        return None
    worth, _, animal, blur = max(rated, key=lambda entry: entry[:2])
    return animal, blur, worth


def likeness(
    look: NDArray[np.float64], looks: NDArray[np.float64], same_burst: NDArray[np.bool_], rules: ChoosingRules
) -> NDArray[np.float64]:
    """Return how like each of ``looks`` is to ``look``: 1 for a copy, towards 0 for another picture.

    Parameters
    ----------
    look : ndarray, shape (LOOK_SIZE,)
        One candidate.
    looks : ndarray, shape (n, LOOK_SIZE)
        The others.
    same_burst : ndarray of bool, shape (n,)
        Whether each is of the same burst; between bursts the clock is not asked.
    rules : ChoosingRules
        The parameters.

    Returns
    -------
    ndarray, shape (n,)
        exp(-d^2 / 2), with d the distance in steps; an unknown outline adds nothing to it.
    """
    apart = np.abs(looks[:, :5] - look[:5])
    moments = np.where(same_burst, np.minimum(apart[:, 4], rules.moment_cap), rules.moment_cap)
    not_common = np.abs(looks[:, 5:] - look[5:]).sum(axis=1)
    outlines = not_common / np.maximum((looks[:, 5:] + look[5:]).sum(axis=1), 1e-9) / rules.outline_step
    poses = np.minimum(np.hypot(apart[:, 3], np.nan_to_num(outlines, nan=0.0)), rules.pose_cap)
    squared = np.sum(apart[:, :3] ** 2, axis=1) + poses**2 + moments**2
    return np.asarray(np.exp(-squared / 2), dtype=np.float64)


def _worth(animal: Animal, blur: Blur, limit_px: float, rules: ChoosingRules) -> float:
    cautious_px = math.sqrt(blur.blur_px * max(blur.blur_high_px, blur.blur_px))
    sharpness = 1 / (1 + (cautious_px / limit_px) ** 2)
    size = 1 / (1 + (rules.size_halving / animal.size_in_frame) ** 2)
    light = (1 - animal.highlights_clipped) * (1 - rules.shadows_weight * animal.shadows_clipped)
    background = 1 / (1 + animal.background_busyness / rules.busyness_halving_dn_px)
    whole = rules.clipped_factor if animal.edge_clipped else 1.0
    return sharpness * whole * size * animal.certainty * light * background


def _sharp_chance(blur: Blur, limit_px: float) -> float:
    """Return the chance that the blur is below the limit, the interval read as that of a log-normal figure."""
    spread = math.log(max(blur.blur_high_px, blur.blur_px) / min(blur.blur_low_px, blur.blur_px)) / INTERVAL_90_SD
    behind = math.log(limit_px / blur.blur_px)
    if spread <= 0:
        return 1.0 if behind >= 0 else 0.0
    return NormalDist().cdf(behind / spread)


def _look(measured: MeasuredFrame, animal: Animal, moment_s: float, rules: ChoosingRules) -> NDArray[np.float64]:
    x_px, y_px = animal.box.centre_px
    return np.array(
        [
            math.log(animal.size_in_frame) / rules.size_step,
            x_px / measured.width_px / rules.place_step,
            y_px / measured.height_px / rules.place_step,
            math.log(animal.box.width_px / animal.box.height_px) / rules.aspect_step,
            moment_s / rules.moment_step_s,
            *_cells(animal.outline_px).ravel(),
        ]
    )


def _cells(outline_px: tuple[tuple[float, float], ...]) -> NDArray[np.float64]:
    """Return how much of each cell the outline fills, its longest side as long as the grid; NaN without an outline."""
    if len(outline_px) < 3:
        return np.full((OUTLINE_CELLS, OUTLINE_CELLS), np.nan)
    points = np.asarray(outline_px, dtype=np.float64)
    low, high = points.min(axis=0), points.max(axis=0)
    fine = OUTLINE_CELLS * FINE_PER_CELL
    scaled = (points - (low + high) / 2) / max((high - low).max(), 1e-9) * (fine - 1) + (fine - 1) / 2
    filled = cv2.fillPoly(np.zeros((fine, fine), np.uint8), [np.rint(scaled).astype(np.int32)], 255)
    shape = (OUTLINE_CELLS, FINE_PER_CELL, OUTLINE_CELLS, FINE_PER_CELL)
    return np.asarray(filled.reshape(shape).mean(axis=(1, 3)) / 255, dtype=np.float64)
