"""Practice over time, from what only the frames hold: how soon the animal is in the frame, for how long, how steadily.

The outing is what counts, not the burst: bursts of one day share its animals, its light and one's own form.
"""

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike

from stillwing.errors import InputError
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import known_rate
from stillwing.review.fits import Limits
from stillwing.review.practicetrend import Shift, last_against_before, median_limits, robust_slope, trend_line
from stillwing.review.survival import check_confidence

__all__ = [
    "N_LAST",
    "BurstPractice",
    "Measure",
    "OutingFigure",
    "PracticeTrend",
    "outing_figures",
    "pan_rms",
    "practice",
]

N_LAST = 3
"""So many outings are the last ones (a choice, no source)."""
FEWEST_BEFORE = 3
"""Outings before the last ones; fewer tell nothing of what was usual (a choice, no source)."""


class Measure(StrEnum):
    """What is measured on the frames of a burst."""

    SOON = "soon"
    """Seconds until the animal is in the frame."""
    INSIDE = "inside"
    """Share of frames that hold the animal."""
    CENTRED = "centred"
    """Offset of the animal from the middle of the frame, as a share of its height."""
    STEADY = "steady"
    """Unsteadiness of the panning in pixels."""


IS_MORE_BETTER = {Measure.SOON: False, Measure.INSIDE: True, Measure.CENTRED: False, Measure.STEADY: False}


@dataclass(frozen=True, slots=True)
class BurstPractice:
    """One burst, as far as its frames tell how it was followed."""

    burst: str
    outing: str
    when: datetime
    n_frames: int
    n_inside: int
    """Frames that hold the animal."""
    length_s: float | None
    """From the first frame to the last; None where the files do not tell fractions of a second."""
    first_inside_s: float | None = None
    """From the first frame to the first that holds the animal; None where none does, or no length is known."""
    offset_share: float | None = None
    """Median distance of the animal from the middle of the frame over the frame's height; None where not known."""
    pan_rms_px: float | None = None
    """As `pan_rms` gives it; None where the background could not be followed."""

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if self.n_frames < 1 or not 0 <= self.n_inside <= self.n_frames:
            raise InputError(f"burst {self.burst} has the animal in {self.n_inside} of {self.n_frames} frames")
        if (self.first_inside_s is None) != (self.n_inside == 0 or self.length_s is None):
            raise InputError(
                f"burst {self.burst} has the animal in {self.n_inside} frames, "
                f"and first after {'nothing' if self.first_inside_s is None else f'{self.first_inside_s:g} s'}"
            )


@dataclass(frozen=True, slots=True)
class OutingFigure:
    """One measure on one outing."""

    outing: str
    when: datetime
    """Of its first burst."""
    value: float
    n_bursts: int
    """That the figure is from."""
    between: Limits | None
    """Where the figure of more bursts of that outing would lie; None where there are too few to tell."""


@dataclass(frozen=True, slots=True)
class PracticeTrend:
    """One measure over outings."""

    measure: Measure
    outings: tuple[OutingFigure, ...]
    """In order of time."""
    per_outing: Limits | None
    """Change from one outing to the next; None where there are fewer than two."""
    is_trend_told: bool
    """Whether it rises or falls surely enough to be said, so many measures looked at."""
    lately: Shift | None
    """The last outings against those before; None where there are too few."""
    is_change_told: bool
    n_measures: int

    @property
    def is_more_better(self) -> bool:
        """Whether a higher figure is the better one."""
        return IS_MORE_BETTER[self.measure]

    @property
    def line(self) -> tuple[float, ...]:
        """The trend at each outing; empty where there are fewer than two."""
        if self.per_outing is None:
            return ()
        return trend_line([each.value for each in self.outings], self.per_outing.likely)

    @property
    def is_better(self) -> bool:
        """Whether the likely change is one for the better."""
        if self.per_outing is None or self.per_outing.likely == 0.0:
            return False
        return (self.per_outing.likely > 0.0) == IS_MORE_BETTER[self.measure]


def practice(bursts: Sequence[BurstPractice], *, confidence: float = 0.95) -> tuple[PracticeTrend, ...]:
    """Return how each measure went over outings.

    Parameters
    ----------
    bursts : sequence of BurstPractice
        In any order.
    confidence : float, default 0.95
        Of each interval. What is said of a measure has to be surer: the chance of being wrong is divided by the number
        of measures (Bonferroni).

    Returns
    -------
    tuple of PracticeTrend
        One for each measure that any outing has.

    Raises
    ------
    InputError
        If a burst is there twice.

    Notes
    -----
    The figure of an outing is the median over its bursts, of the share of frames inside that of all its frames. A burst
    that never holds the animal counts as if it had come with the last frame.
    """
    check_confidence(confidence)
    figures = {measure: outing_figures(bursts, measure, confidence=confidence) for measure in Measure}
    known = {measure: each for measure, each in figures.items() if each}
    surer = 1.0 - (1.0 - confidence) / max(1, len(known))
    return tuple(_trend(measure, each, confidence, surer, len(known)) for measure, each in known.items())


def outing_figures(
    bursts: Sequence[BurstPractice], measure: Measure, *, confidence: float = 0.95
) -> tuple[OutingFigure, ...]:
    """Return a measure outing by outing, in order of time; outings of which it is not known are left out."""
    if len({each.burst for each in bursts}) < len(bursts):
        raise InputError("a burst is there twice; each burst counts once")
    outings: dict[str, list[BurstPractice]] = defaultdict(list)
    for each in bursts:
        outings[each.outing].append(each)
    told = []
    for outing, within in outings.items():
        values = [value for each in within if not math.isnan(value := _OF_BURST[measure](each))]
        if values:
            value, between = float(np.median(values)), median_limits(values, confidence=confidence)
            if measure is Measure.INSIDE:
                inside = known_rate(
                    count_bursts([each.n_frames for each in within], [each.n_inside for each in within])
                )
                value, between = inside.counts.rate, inside.limits(confidence)
            told.append(OutingFigure(outing, min(each.when for each in within), value, len(values), between))
    return tuple(sorted(told, key=lambda each: (each.when, each.outing)))


def pan_rms(shifts_px: ArrayLike) -> float:
    """Return how unsteadily a camera was panned; NaN where there are fewer than three frames. [px]

    Parameters
    ----------
    shifts_px : array_like, shape (n, 2)
        How far the background moved from each frame to the next, right and down. [px]

    Returns
    -------
    float
        Root mean square of how much each shift differs from the one before: 0 for a pan that is even, fast or slow.

    Raises
    ------
    InputError
        If the shape is another.
    """
    shifts = np.asarray(shifts_px, np.float64)
    if shifts.ndim != 2 or shifts.shape[1] != 2:
        raise InputError(f"shifts of shape {shifts.shape}; it takes two figures for each frame but the first")
    if len(shifts) < 2:
        return math.nan
    return float(np.sqrt((np.diff(shifts, axis=0) ** 2).sum(1).mean()))


def _trend(
    measure: Measure, figures: tuple[OutingFigure, ...], confidence: float, surer: float, n_measures: int
) -> PracticeTrend:
    values = [each.value for each in figures]
    slope, lately, is_trend_told, is_change_told = None, None, False, False
    if len(values) > 1:
        slope = robust_slope(values, confidence=confidence)
        is_trend_told = _excludes_none(robust_slope(values, confidence=surer))
    if len(values) >= N_LAST + FEWEST_BEFORE:
        lately = last_against_before(values, N_LAST, confidence=confidence)
        is_change_told = _excludes_none(last_against_before(values, N_LAST, confidence=surer).change)
    return PracticeTrend(measure, figures, slope, is_trend_told, lately, is_change_told, n_measures)


def _excludes_none(change: Limits) -> bool:
    return change.low > 0.0 or change.high < 0.0


def _seconds_until_inside(burst: BurstPractice) -> float:
    if burst.length_s is None:
        return math.nan
    return burst.length_s if burst.first_inside_s is None else burst.first_inside_s


_OF_BURST: dict[Measure, Callable[[BurstPractice], float]] = {
    Measure.SOON: _seconds_until_inside,
    Measure.INSIDE: lambda burst: burst.n_inside / burst.n_frames,
    Measure.CENTRED: lambda burst: math.nan if burst.offset_share is None else burst.offset_share,
    Measure.STEADY: lambda burst: math.nan if burst.pan_rms_px is None else burst.pan_rms_px,
}
