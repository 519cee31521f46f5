"""How far an animal is in its flight season on a day, from the months of the catalogue."""

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import CatalogueAnimal
from stillwing.animals.ramps import Chances, ramp

__all__ = ["MONTH_STARTS", "SEASON_SHIFT_D", "in_season", "month_of"]

MONTH_STARTS = np.cumsum([1, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31], dtype=np.float64)
"""Day of the year on which each month begins, and the next year. In a leap year all from March are one day later."""
YEAR_D = 365.0
SEASON_SHIFT_D = 15.0
"""How much earlier or later a season may begin or end than its months say: they are whole months, and years differ
(estimate). [d]"""


def in_season(animal: CatalogueAnimal, day_of_year: NDArray[np.float64]) -> Chances:
    """Return the chance that an animal is about in that part of the year, 0 to 1.

    Parameters
    ----------
    animal : CatalogueAnimal
        ``flight_months`` is used.
    day_of_year : ndarray, shape (...)
        1 to 366; NaN stays NaN.

    Notes
    -----
    From 0 on the first day of the first month it rises to 1 on the last, so that the first month counts half as much as
    a full one, and so does the last: a common practice with month tables, no source. The range moves both ends by
    `SEASON_SHIFT_D` outwards and inwards. A season of all twelve months has no end.
    """
    months = animal.flight_months
    if len(months) == 12:
        ones = np.where(np.isnan(day_of_year), np.nan, 1.0)
        return Chances(ones, ones, ones)
    begin, last = MONTH_STARTS[months[0] - 1], MONTH_STARTS[months[-1] - 1]
    first_d, last_d = MONTH_STARTS[months[0]] - begin, MONTH_STARTS[months[-1]] - last
    length = (last + last_d - begin) % YEAR_D
    middle = begin + length / 2
    off = (day_of_year - middle + YEAR_D / 2) % YEAR_D - YEAR_D / 2  # days before (-) or after the season's middle
    ends = np.where(off < 0, first_d, last_d)
    return Chances(*(_within(np.abs(off), length / 2 + shift, ends) for shift in (-SEASON_SHIFT_D, 0, SEASON_SHIFT_D)))


def month_of(day_of_year: float) -> int:
    """Return the month, 1 to 12, that a day of a common year lies in."""
    return min(int(np.searchsorted(MONTH_STARTS, np.floor(day_of_year), side="right")), 12)


def _within(off_d: NDArray[np.float64], half_d: float, edge_d: NDArray[np.float64]) -> NDArray[np.float64]:
    return ramp((half_d - off_d) / edge_d, 0.0, 1.0)
