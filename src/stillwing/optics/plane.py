"""All f-numbers against all exposures for one question: the picture of the trade-off."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.answer import Setting, settings_at
from stillwing.optics.exposure import iso_for
from stillwing.optics.question import Question
from stillwing.optics.settings import IN_RANGE, TIME_IN_RANGE, f_number_steps

__all__ = ["Plane", "plane"]

Reals = NDArray[np.float64]
LONGEST_SHOWN_S = 1 / 30
"""Longer exposures freeze nothing that flies; they are shown only where nothing shorter exposes right."""
FEWEST = 13
"""Steps of exposure shown at least."""


@dataclass(frozen=True, slots=True)
class Plane:
    """Steps of f-number (a,) and exposure (t,), and the setting of each pair, f-number first, row by row.

    ``is_possible`` tells whether the kit has the exposure, and the ISO that the light asks for there.
    """

    f_numbers: tuple[float, ...]
    exposures_s: tuple[float, ...]
    settings: tuple[Setting, ...]
    is_possible: tuple[bool, ...]


def plane(question: Question) -> Plane:
    """Return the plane of one question, (1,)."""
    q = question
    steps = f_number_steps(q.widest, q.narrowest)[0]
    f_numbers = steps[np.isfinite(steps)]
    exposures = _exposures(q, f_numbers)
    n, t = (one.ravel() for one in np.meshgrid(f_numbers, exposures, indexing="ij"))
    iso = iso_for(q.ev100[0], n * q.bellows[0], t)
    possible = (iso >= q.lowest_iso[0] / _SIXTH) & (iso <= q.highest_iso[0] * _SIXTH)
    possible &= t <= q.longest_s[0] * TIME_IN_RANGE
    return Plane(
        tuple(map(float, f_numbers)),
        tuple(map(float, exposures)),
        settings_at(q, n, t, iso),
        tuple(map(bool, possible)),
    )


_SIXTH = 2 ** (1 / 6) * IN_RANGE
"""ISO comes in thirds of a stop, so that one a sixth beyond the last is the last."""


def _exposures(question: Question, f_numbers: Reals) -> Reals:
    """Return the thirds of a stop from the shortest exposure to the longest that is of use here. [s]"""
    q = question
    shortest = float(q.shortest_s[0])
    needs = iso_for(q.ev100[0], f_numbers[-1] * q.bellows[0], 1.0)
    slowest = float(needs / q.lowest_iso[0])  # narrowest aperture at the lowest ISO
    soonest = float(iso_for(q.ev100[0], f_numbers[0] * q.bellows[0], 1.0) / q.highest_iso[0])
    of_use = min(slowest * _SIXTH, max(LONGEST_SHOWN_S, 4 * soonest) * IN_RANGE)
    first = int(np.ceil(3 * np.log2(shortest / TIME_IN_RANGE)))
    last = int(np.floor(3 * np.log2(min(of_use, float(q.longest_s[0]) * TIME_IN_RANGE))))
    return np.exp2(np.arange(first, max(last, first + FEWEST) + 1) / 3)
