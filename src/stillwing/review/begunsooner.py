"""What a burst that began too late would have held had it begun sooner: its first frames' flight, carried back."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.defocus import Plane
from stillwing.optics.prediction import sharpest_distance
from stillwing.optics.spread import disc_variance
from stillwing.review.burstflight import BurstFlight
from stillwing.review.changes import STEPS, Change, Split

__all__ = ["N_FIRST", "WonSooner", "won_sooner"]

Reals = NDArray[np.float64]

N_FIRST = 4
"""Frames from which the flight is carried back evenly (a choice, no source)."""
WORTH = 1.0
"""Sharp frames to be won from which a burst counts as begun late."""


@dataclass(frozen=True, slots=True)
class WonSooner:
    """Whether a burst began late, and more sharp frames by how much sooner: one for each of the steps."""

    began_late: bool
    won: tuple[float, ...]


NOTHING = WonSooner(False, (0.0,) * len(STEPS[Change.SOONER]))


def won_sooner(told: BurstFlight, plane: Plane, split: Split, chances: Callable[[Split], Reals]) -> WonSooner:
    """Return what a burst would have held of a flight through the focal plane that it caught the end of.

    Parameters
    ----------
    told : BurstFlight
        With a flight that is believed.
    plane : Plane
        The focal plane.
    split : Split
        Of its first frames, as many as `N_FIRST`.
    chances : callable
        The chance of each frame of a split to be sharp.

    Notes
    -----
    A burst began late where in its first frame the animal was off the focal plane by more than half its depth already,
    and went further. Its mean speed over the first frames, in the picture and away from the plane, is carried back
    evenly, the camera doing what it did; frames whose box would leave the picture do not count. One that gathers speed
    from a perch was longer near the plane than that tells.
    """
    flight = told.flight
    if flight is None or told.setting is None or told.keeps_place or told.numbers[:1] != (0,):
        return NOTHING
    away = flight.away_mm
    goes_off = bool((away.low[1:] > away.high[0]).any())
    if len(told.seen) < N_FIRST or away.likely[0] <= flight.half_depth_mm or not goes_off:
        return NOTHING
    times, first = flight.times_s[:N_FIRST], told.seen[0]
    step_s = float(np.median(np.diff(flight.times_s)))
    before_s = step_s * np.arange(1, int(max(STEPS[Change.SOONER]) / step_s) + 1)
    off_mm_s = float(np.polyfit(times, away.likely[:N_FIRST], 1)[0])
    if off_mm_s <= 0 or not len(before_s):
        return NOTHING
    off = np.abs(away.likely[0] - off_mm_s * before_s)
    disc = plane.disc_px * sharpest_distance(np.array(flight.half_depth_mm), off) / plane.distance_mm
    still = np.ones_like(before_s)
    chance = chances(
        Split(np.median(split.motion) * still, np.asarray(disc_variance(disc)), np.median(split.rest) * still)
    )
    for name, edge_px in (("x_px", told.setting.kit.width_px), ("y_px", told.setting.kit.height_px)):
        px_s = float(np.polyfit(times, [getattr(one, name) for one in told.seen[:N_FIRST]], 1)[0])
        at = getattr(first, name) - px_s * before_s
        chance = np.where(np.minimum(at, edge_px - at) >= first.size_px / 2, chance, 0.0)
    won = tuple(float(chance[before_s <= sooner].sum()) for sooner in STEPS[Change.SOONER])
    return WonSooner(won[-1] >= WORTH, won)
