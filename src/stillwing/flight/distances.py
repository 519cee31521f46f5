"""What the uncertain distance and focal length do to all lengths of a burst alike."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from stillwing.flight.defocus import Plane
from stillwing.flight.seen import FlightKit
from stillwing.optics.expected import quantiles
from stillwing.optics.framing import principal_distance
from stillwing.optics.reals import positive
from stillwing.optics.subject import Range

__all__ = ["MOST_TILT_DEG", "Factors", "factors_drawn", "likely_distance"]

Reals = NDArray[np.float64]

MOST_TILT_DEG = 30.0
"""The longest that a body shows in a burst is no shorter than one turned so far would (a choice, no source)."""
SHOWN_ERROR = 0.05
"""Error of the longest that a body shows, as a share (a choice, no source)."""
TAIL = 1.645


@dataclass(frozen=True, eq=False, slots=True)
class Factors:
    """Draws of what lengths across and along the line of sight are to be multiplied with, (n_draws,) each."""

    across: Reals
    along: Reals


def likely_distance(kit: FlightKit, focus_m: Range) -> tuple[float, float]:
    """Return distance from the front principal plane and focal length, the likely ones. [mm]

    Raises
    ------
    OutsideModel
        If the distance is not positive or below four focal lengths.
    """
    positive("focus_m", focus_m, "m")
    focal = kit.focal_length_mm.likely
    return float(principal_distance(focal, 1000 * focus_m.likely)), focal


def factors_drawn(
    kit: FlightKit,
    focus_m: Range,
    plane: Plane,
    body: tuple[Range, float] | None,
    n_draws: int,
    rng: np.random.Generator,
) -> Factors:
    r"""Return draws of the factors.

    Parameters
    ----------
    kit, focus_m
        With their ranges; distance from the sensor, as marked on lenses. [m]
    plane : Plane
        The focal plane at the likely figures.
    body : (Range, float) or None
        Length of the body, and the longest that it shows in the burst, as if in that plane. [mm]
    n_draws : int
        Draws.
    rng : numpy.random.Generator
        Their source.

    Notes
    -----
    Across, lengths go with 1/m; along, by the defocus, with :math:`s N / (f m)`, nearly the square of the distance.
    A known body length keeps the draws in which the body shows no longer than it is, nor shorter than when turned by
    `MOST_TILT_DEG`.
    """
    many = 20 * n_draws
    focal = quantiles(kit.focal_length_mm, tuple(rng.uniform(size=many)))
    sensor = 1000 * quantiles(focus_m, tuple(rng.uniform(size=many)))
    # A thin lens is never longer than a quarter of its distance from thing to picture.
    focal = np.minimum(focal, sensor / 4)
    distance = principal_distance(focal, sensor)
    m = focal / (distance - focal)
    across = plane.magnification / m
    pupil = plane.disc_px * kit.pitch_mm / plane.magnification
    along = across * (distance / plane.distance_mm) * pupil / (focal / kit.f_number)
    chances = np.ones(many) if body is None else _fits(across * body[1], body[0])
    if chances.sum() < 1e-9 * many:
        # Body and distance contradict each other: neither is to be believed more.
        chances = np.ones(many)
    chosen = rng.choice(many, n_draws, p=chances / chances.sum())
    return Factors(across[chosen], along[chosen])


def _fits(shown_mm: Reals, length: Range) -> Reals:
    """Return the chance, for each draw, that the body is no shorter than it shows and not turned too far."""
    spread = math.hypot(math.log(length.high / length.low) / 2 / TAIL, SHOWN_ERROR)
    above = np.log(shown_mm / length.likely) / spread
    least = np.log(shown_mm / math.cos(math.radians(MOST_TILT_DEG)) / length.likely) / spread
    return np.asarray(ndtr(least) - ndtr(above), np.float64)
