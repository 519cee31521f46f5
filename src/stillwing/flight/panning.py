"""The photographer's panning, told from the background, and the animal's way with the panning taken out."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.figures import Band, band_of
from stillwing.flight.manoeuvre import Manoeuvre
from stillwing.flight.seen import Seen
from stillwing.flight.smooth import Axis, Observed, smoothed

__all__ = ["UNKNOWN_TURN_DEG_S", "Panning", "Sideways", "sideways"]

Reals = NDArray[np.float64]

UNKNOWN_TURN_DEG_S = 40.0
"""How fast the camera may turn where the background does not tell, as a standard deviation: 5 m/s at 7 m. What tells
nothing is most often smeared by a fast pan (a choice, no source; benchmarks/flight_stored.py)."""
LEAST_ERROR_PX = 0.05
"""No shift is known better."""


@dataclass(frozen=True, slots=True)
class Panning:
    """How the camera turned: to the right and down, as the speed at which it moves a background across the picture."""

    x_px_s: Band
    y_px_s: Band
    speed_deg_s: Band
    known_share: float
    """Share of the steps between frames in which the background told its shift."""


@dataclass(frozen=True, eq=False, slots=True)
class Sideways:
    """Draws of the way across the line of sight, as if all of it lay in the focal plane. [mm]

    The middle frame of the burst looks straight ahead; ``x`` runs to the right, ``y`` down.
    """

    x: Axis
    y: Axis
    picture_px_s: Reals
    """Speed of the picture on the sensor, the panning left in, (n_draws, n)."""
    panning: Panning


def sideways(
    seen: Seen, manoeuvre: Manoeuvre, mm_per_px: float, image_distance_px: float, n_draws: int, rng: np.random.Generator
) -> Sideways:
    """Return draws of the way across the line of sight, and the panning.

    Parameters
    ----------
    seen : Seen
        The burst.
    manoeuvre : Manoeuvre
        At the same moments.
    mm_per_px : float
        In the focal plane. [mm/px]
    image_distance_px : float
        Of the picture behind the lens: turning by an angle moves the picture by its tangent times this. [px]
    n_draws : int
        Draws of each axis.
    rng : numpy.random.Generator
        Their source.

    Notes
    -----
    Where the background moves by b between frames, the camera has turned by -b, and the animal by its own step in the
    picture less b. The errors of these steps add up along the burst, and are carried as such. A camera that is moved,
    not turned, is not told apart from one that turns.
    """
    axes: list[Axis] = []
    pictures: list[Axis] = []
    turns: list[Axis] = []
    known = Observed(np.zeros(len(seen)), np.ones(len(seen)), np.full(len(seen) - 1, 1e-6), np.zeros((len(seen),) * 2))
    for places, shifts in ((seen.x_px, seen.background_x_px), (seen.y_px, seen.background_y_px)):
        turned, step_sd, opened = _turned(shifts, seen, image_distance_px)
        turned_mm, steps_mm, open_mm2 = turned * mm_per_px, step_sd * mm_per_px, opened * mm_per_px**2
        own_mm = seen.centre_sd_px * mm_per_px
        whole = Observed(places * mm_per_px + turned_mm, own_mm, steps_mm, open_mm2)
        axes.append(smoothed(manoeuvre, whole, n_draws, rng))
        pictures.append(smoothed(manoeuvre, replace(known, places=places * mm_per_px, own_sd=own_mm), n_draws, rng))
        exact = np.full(len(seen), LEAST_ERROR_PX * mm_per_px)
        turns.append(smoothed(manoeuvre, Observed(turned_mm, exact, steps_mm, open_mm2), n_draws, rng))
    told = np.isfinite(seen.background_x_px[1:] + seen.background_y_px[1:] + seen.background_sd_px[1:])
    rates = [axis.speed / mm_per_px for axis in turns]
    # Turning by one radian moves the picture by its distance.
    degrees = np.degrees(np.hypot(*rates) / image_distance_px)
    panning = Panning(band_of(rates[0]), band_of(rates[1]), band_of(degrees), float(told.mean()))
    picture = np.hypot(pictures[0].speed, pictures[1].speed) / mm_per_px
    return Sideways(axes[0], axes[1], np.asarray(picture, np.float64), panning)


def _turned(shifts: Reals, seen: Seen, image_distance_px: float) -> tuple[Reals, Reals, Reals]:
    """Return how far the camera has turned since the middle frame, the error of each step, and what is open of it.

    Shapes are (n,), (n - 1,) and (n, n). [px, px, px2]
    """
    steps, sd = -shifts[1:], seen.background_sd_px[1:]
    known = np.isfinite(steps) & np.isfinite(sd)
    turned = np.concatenate([[0.0], np.cumsum(np.where(known, steps, 0.0))])
    error = np.where(known, np.maximum(sd, LEAST_ERROR_PX), LEAST_ERROR_PX)
    # Who pans goes on panning: where nothing is told, one speed for the whole burst is open, and as much for each step.
    gaps = np.where(known, 0.0, math.radians(UNKNOWN_TURN_DEG_S) * image_distance_px * np.diff(seen.time_s))
    whole = np.concatenate([[0.0], np.cumsum(gaps)])
    each = np.concatenate([[0.0], np.cumsum(gaps**2)])
    opened = np.outer(whole, whole) + np.minimum.outer(each, each)
    return np.asarray(turned - turned[len(seen) // 2], np.float64), np.asarray(error, np.float64), opened
