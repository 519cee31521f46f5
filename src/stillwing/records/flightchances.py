"""How many of a species are about on a day, from a flight period whose ends are parts of the year."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.ramps import ramp
from stillwing.records.region import YEAR_D, FlightPeriod

__all__ = ["OUT_OF_SEASON", "about_on"]

Reals = NDArray[np.float64]

EDGE_D = 10.0
"""Years differ: a season may begin or end so much earlier or later than its words say (a choice, no source). [d]"""
OUT_OF_SEASON = 0.02
"""Share about outside the period, of those about within: none is ruled out by its date (a choice, no source)."""


def about_on(periods: Sequence[FlightPeriod], days: Reals) -> Reals:
    """Return the share of the animals of each species that are about, `OUT_OF_SEASON` to 1, shape (species, day).

    Parameters
    ----------
    periods : sequence of FlightPeriod
        One for each species.
    days : ndarray, shape (day,)
        Days of the year, 1 to 366.

    Notes
    -----
    It rises over the words of the beginning ("Late June") and falls over those of the end, each wider by `EDGE_D` on
    both sides, and is one half in the middle of the words. A period may run over the end of the year. That a season has
    no peak is a choice; the tables tell none.
    """
    begins = np.array([each.begins for each in periods], dtype=np.float64)
    ends = np.array([each.ends for each in periods], dtype=np.float64)
    starts = begins.mean(axis=1)
    half = ((ends.mean(axis=1) - starts) % YEAR_D / 2)[:, None]
    off = (days - starts[:, None] - half + YEAR_D / 2) % YEAR_D - YEAR_D / 2
    widths = np.where(off < 0, (np.ptp(begins, axis=1) + 1)[:, None], (np.ptp(ends, axis=1) + 1)[:, None])
    inside = ramp((half - np.abs(off)) / (widths + 2 * EDGE_D) + 0.5, 0.0, 1.0)
    return np.asarray(OUT_OF_SEASON + (1 - OUT_OF_SEASON) * inside)
