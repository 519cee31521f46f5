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


def unraised(draws: Reals, of_middle: Reals | float) -> Reals:
    """Return draws of a length or a top, shape (n_draws, ...), laid about that of the middle flight, never below 0.

    Errors lengthen a way and raise a speed, whichever side they lie on, so that the draws' own middle lies too high.
    """
    return np.asarray(np.maximum(draws - np.median(draws, axis=0) + of_middle, 0.0), np.float64)


def range_of(draws: Reals) -> Range:
    """Return 5th, 50th and 95th percentile of draws of shape (n_draws,)."""
    return Range(*(float(value) for value in np.percentile(draws, TENTH_AT_THE_ENDS)))
