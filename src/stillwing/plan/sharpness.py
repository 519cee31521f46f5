"""How often an encounter gives a sharp picture at the solver's settings, by light and by the side that shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.subjects import SQUARE_ON_DEG
from stillwing.optics.expected import one_sharp_chance
from stillwing.optics.kit import Kit
from stillwing.optics.question import BRIGHTEST_ASKED_EV, DARKEST_ASKED_EV, Wish, at_distance, pose
from stillwing.optics.settings import solve
from stillwing.optics.subject import Behaviour, Subject
from stillwing.place.heading import BOUNDS_DEG, Shown
from stillwing.plan.question import PlanQuestion

__all__ = ["Sharpness", "out_of_plane_deg", "sharpness_of", "side_chances"]

Reals = NDArray[np.float64]
LIGHT_STEP_EV = 0.5
"""Over half a stop chances are read off a straight line (tests/plan/test_sharpness.py says how far that is off)."""


@dataclass(frozen=True, slots=True)
class Sharpness:
    """Chances and settings by side and light, for one animal at one distance with one kit."""

    sides: tuple[Shown, ...]
    evs: Reals
    """Rising, (n_evs,)."""
    chance: Reals
    """That an encounter gives at least one sharp frame without noise, (n_sides, n_evs); 0 where nothing exposes."""
    f_number: Reals
    """Of the best setting, (n_sides, n_evs); NaN where nothing exposes."""
    exposure_s: Reals
    iso: Reals

    def at(self, side: Shown, ev: Reals) -> Reals:
        """Return the chance in lights, shape (...)."""
        return np.asarray(np.interp(ev, self.evs, self.chance[self.sides.index(side)]), np.float64)

    def nearest(self, ev: Reals) -> NDArray[np.intp]:
        """Return which of ``evs`` is nearest to each light, shape (...)."""
        return np.asarray(np.clip(np.rint((ev - self.evs[0]) / LIGHT_STEP_EV), 0, len(self.evs) - 1), np.intp)


def out_of_plane_deg(side: Shown, behaviour: Behaviour) -> float:
    """Return how far body or way lie out of the focal plane when that side shows. [deg]

    Examples
    --------
    >>> [out_of_plane_deg(side, Behaviour.HOVER) for side in (Shown.FACE, Shown.FRONT_QUARTER, Shown.FLANK)]
    [80.0, 45.0, 15.0]
    """
    low, high = BOUNDS_DEG[side]
    away = abs(90.0 - (low + high) / 2)
    # Nothing that lives keeps to a plane.
    return max(away, SQUARE_ON_DEG)


def sharpness_of(question: PlanQuestion, evs: Reals, sides: Sequence[Shown]) -> Sharpness:
    """Return the chances over the range of lights that a day brings.

    Parameters
    ----------
    question : PlanQuestion
        Animal, kit and wish of it.
    evs : ndarray, shape (...)
        Lights at ISO 100; the table covers all of them in half stops.
    sides : sequence of Shown
        That are asked for.

    Raises
    ------
    InputError
        If the distance, the animal or the kit cannot be used.
    """
    low, high = np.clip([np.floor(np.nanmin(evs)), np.ceil(np.nanmax(evs))], DARKEST_ASKED_EV, BRIGHTEST_ASKED_EV)
    lights = np.arange(low, high + LIGHT_STEP_EV / 2, LIGHT_STEP_EV)
    turned = {side: question.subject(out_of_plane_deg(side, question.behaviour)) for side in sides}
    columns = [side_chances(question.kit, turned[side], question.wish, tuple(lights)) for side in sides]
    return Sharpness(tuple(sides), lights, *(np.stack(parts) for parts in zip(*columns, strict=True)))


# A plan asks "what if" of the same kit and animal half a dozen times.
@lru_cache(maxsize=64)
def side_chances(
    kit: Kit, subject: Subject, told: Wish, lights: tuple[float, ...]
) -> tuple[Reals, Reals, Reals, Reals]:
    """Return chance, f-number, exposure and ISO of one animal in lights, (n_evs,) each; kept until asked again."""
    wish = at_distance(kit, subject, told)
    asked = pose(kit, subject, wish, wish.distance_m or 0.0, lights)
    found = solve(asked)
    rows, best = np.arange(len(lights)), found.best
    f_number, exposure, iso, snr, ratio = (
        values[rows, best] for values in (found.f_number, found.exposure_s, found.iso, found.snr, found.worst_ratio)
    )
    chance = np.zeros(len(lights))
    for row in map(int, np.flatnonzero(np.isfinite(ratio))):
        sharp = one_sharp_chance(
            asked.part([row]), subject, kit.camera.frames_per_s, float(f_number[row]), float(exposure[row])
        )
        # A picture noisier than wanted counts less, in proportion.
        chance[row] = sharp * min(1.0, float(snr[row]) / wish.snr_wanted)
    return chance, f_number, exposure, np.where(np.isfinite(ratio), iso, np.nan)
