"""Figures with their 90 % interval, from draws of what may have happened."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.subject import Range

__all__ = ["Band", "band_of", "range_of", "unraised"]

Reals = NDArray[np.float64]
TENTH_AT_THE_ENDS = (5.0, 50.0, 95.0)


@dataclass(frozen=True, slots=True)
class Band:
    """One figure per frame, each with its 90 % interval; arrays of shape (n,)."""

    low: Reals
    likely: Reals
    high: Reals

    def __len__(self) -> int:
        return len(self.likely)

    def at(self, frame: int) -> Range:
        """Return the figure of one frame."""
        return Range(float(self.low[frame]), float(self.likely[frame]), float(self.high[frame]))


def band_of(draws: Reals) -> Band:
    """Return 5th, 50th and 95th percentile of draws of shape (n_draws, n)."""
    low, likely, high = np.percentile(draws, TENTH_AT_THE_ENDS, axis=0)
    return Band(low, likely, high)


def unraised(draws: Reals, of_middle: Reals) -> Band:
    """Return a length or a top of draws (n_draws, n) with what errors add to it taken off, never below 0.

    Errors lengthen a way and raise a speed, whichever side they lie on. The middle flight, (n,), holds them once and
    each draw twice, so that what a draw has beyond the middle is about what the middle has beyond the truth: the low
    end takes off both and the likely figure one; the high end takes off none, for a flight may be less smooth than its
    middle shows.
    """
    added = np.median(draws, axis=0) - of_middle
    low, likely, high = np.percentile(draws, TENTH_AT_THE_ENDS, axis=0) - np.array([2.0, 1.0, 0.0])[:, None] * added
    return Band(*(np.asarray(np.maximum(of, 0.0), np.float64) for of in (low, likely, high)))


def range_of(draws: Reals) -> Range:
    """Return 5th, 50th and 95th percentile of draws of shape (n_draws,)."""
    return Range(*(float(value) for value in np.percentile(draws, TENTH_AT_THE_ENDS)))
