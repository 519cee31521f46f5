"""How likely a measured length is of a species whose range of lengths is known."""

import math

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import Mark
from stillwing.optics.subject import Range
from stillwing.records.packrows import LONGEST_MM
from stillwing.records.region import Length
from stillwing.records.seen import LINE_WRONG, SHORTEST_MM

__all__ = ["ANY_LENGTH", "length_chances", "length_law"]

Reals = NDArray[np.float64]

RANGE_SD = 1.96
"""A range of lengths in a table is taken as the middle 95 % of animals (a choice, no source)."""
INTERVAL_SD = 1.645
"""Half a 90 % interval in standard deviations of a normal law."""
LEAST_SPREAD = 0.02
"""No species varies less in the logarithm of its length (a choice, no source)."""
TABLE_ERROR = {Mark.READ: 0.0, Mark.READ_SECONDARY: 0.02, Mark.COMPUTED: 0.02, Mark.MEMORY: 0.04, Mark.ESTIMATE: 0.06}
"""Error of a range by how far it can be trusted, as a share of the length (a choice, no source)."""
LEAST_ERROR = 0.01
"""No picture tells a length better, as a share of it (a choice, no source)."""
ANY_LENGTH = 1.0 / math.log(LONGEST_MM / SHORTEST_MM)
"""Density of the logarithm of a length of which nothing is known."""
MOST_TILT_DEG, N_TILTS = 80.0, 32


def length_law(length: Length) -> tuple[float, float]:
    """Return mean and standard deviation of the natural logarithm of the length in millimetres."""
    spread = max(math.log(length.high_mm / length.low_mm) / (2 * RANGE_SD), LEAST_SPREAD)
    middle = 0.5 * (math.log(length.low_mm) + math.log(length.high_mm))
    return middle, math.hypot(spread, TABLE_ERROR[length.origin.mark])


def length_chances(measured_mm: Range, middles: Reals, spreads: Reals, wrong: float = LINE_WRONG) -> Reals:
    r"""Return the density of a measured length, by the logarithm, of each species.

    Parameters
    ----------
    measured_mm : Range
        With its 90 % interval; an infinite upper end says that the body may be turned out of the focal plane.
    middles, spreads : ndarray, shape (n,)
        Of each species, as `length_law` gives them.
    wrong : float
        Chance that the length has nothing to do with the animal, so that no length rules a species out.

    Notes
    -----
    Two halves of normal laws joined at the middle, so that an interval may be wider on one side: the standard
    deviation is :math:`\sqrt{s^2 + e^2}` with the species' own :math:`s` and the picture's :math:`e` on that side.
    Where the tilt is not known, the body points anywhere with equal chance, so that the sine of its tilt is even from 0
    to that of 80 degrees (geometry; that it points anywhere is a choice), and the length shows as its cosine.
    """
    low, likely, high = measured_mm
    below = max(math.log(likely / low) / INTERVAL_SD, LEAST_ERROR)
    seen = math.log(likely)
    if math.isinf(high):
        sines = (np.arange(N_TILTS) + 0.5) / N_TILTS * math.sin(math.radians(MOST_TILT_DEG))
        shown = middles[:, None] + 0.5 * np.log1p(-(sines**2))
        fits = _two_halves(seen - shown, below, below, spreads[:, None]).mean(axis=1)
    else:
        above = max(math.log(high / likely) / INTERVAL_SD, LEAST_ERROR)
        fits = _two_halves(seen - middles, below, above, spreads)
    return np.asarray((1 - wrong) * fits + wrong * ANY_LENGTH)


def _two_halves(off: Reals, below: float, above: float, spreads: Reals) -> Reals:
    """Return the density where the picture shows ``off`` more than the species' middle: then the truth is below it."""
    if_less, if_more = np.hypot(spreads, below), np.hypot(spreads, above)
    sides = np.where(off > 0, if_less, if_more)
    return np.asarray(np.sqrt(2 / np.pi) / (if_less + if_more) * np.exp(-0.5 * (off / sides) ** 2))
