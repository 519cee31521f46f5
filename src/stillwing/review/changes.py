"""One change of setting or stand, in steps, and what it would make of the blur of the frames of a burst."""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.defocus import Plane, plane_at
from stillwing.flight.seen import FlightKit
from stillwing.optics.prediction import sharpest_distance

__all__ = ["STEPS", "Change", "Split", "blurred_by", "exposed_by", "f_number_by", "further_by"]

Reals = NDArray[np.float64]

MOST_THIRDS_SHORTER, MOST_THIRDS_CLOSED = 9, 6
"""Thirds of a stop by which the exposure is shortened and the lens closed at most (a choice, no source)."""
TURNS_DEG = tuple(float(turn) for turn in range(5, 50, 5))
MOST_SIXTHS_FURTHER = 6
"""Steps of distance, each some 12 %, up to twice as far (a choice, no source)."""
SOONER_S = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)


class Change(StrEnum):
    """What can be changed, everything else being left."""

    EXPOSURE = "exposure"
    F_NUMBER = "f-number"
    ANGLE = "angle"
    DISTANCE = "distance"
    SOONER = "sooner"


STEPS: dict[Change, tuple[float, ...]] = {
    Change.EXPOSURE: tuple(third / 3 for third in range(1, MOST_THIRDS_SHORTER + 1)),
    Change.F_NUMBER: tuple(third / 3 for third in range(1, MOST_THIRDS_CLOSED + 1)),
    Change.ANGLE: TURNS_DEG,
    Change.DISTANCE: tuple(2 ** (sixth / 6) for sixth in range(1, MOST_SIXTHS_FURTHER + 1)),
    Change.SOONER: SOONER_S,
}
"""What is tried: stops shorter, stops closed, degrees further round, times as far, seconds sooner."""


@dataclass(frozen=True, eq=False, slots=True)
class Split:
    """What the blur of n frames is made of: variances, shape (n,). [px^2]"""

    motion: Reals
    defocus: Reals
    rest: Reals

    @property
    def whole(self) -> Reals:
        """All of it. [px^2]"""
        return self.motion + self.defocus + self.rest


def exposed_by(split: Split, stops: float) -> Split:
    """Return the split with an exposure that is so many stops shorter."""
    return replace(split, motion=split.motion * 4**-stops)


def f_number_by(split: Split, kit: FlightKit, plane: Plane, stops: float) -> Split:
    """Return the split with the lens closed by so many stops: a smaller disc, and more diffraction."""
    closed = replace(kit, f_number=kit.f_number * 2 ** (stops / 2))
    more = closed.floor_variance(plane.magnification) - kit.floor_variance(plane.magnification)
    return replace(split, defocus=split.defocus * 2**-stops, rest=split.rest + more)


def further_by(split: Split, kit: FlightKit, plane: Plane, factor: float) -> Split:
    """Return the split from so many times as far: all that happens at the animal shows smaller."""
    far = plane_at(kit, plane.distance_mm * factor, plane_focal_mm(plane))
    motion = (far.magnification / plane.magnification) ** 2
    defocus = (far.disc_px / far.distance_mm / (plane.disc_px / plane.distance_mm)) ** 2
    more = far.floor_variance - plane.floor_variance
    return Split(split.motion * motion, split.defocus * defocus, np.maximum(split.rest + more, 0.0))


def plane_focal_mm(plane: Plane) -> float:
    """Return the focal length that a focal plane belongs to. [mm]"""
    return plane.distance_mm * plane.magnification / (1 + plane.magnification)


def blurred_by(split: Split, away_mm: Reals, half_depth_mm: float, flown_deg: float, turn_deg: float) -> Split:
    r"""Return the split had the same flight lain nearer to the focal plane by an angle.

    Parameters
    ----------
    split : Split
        As taken.
    away_mm : ndarray, shape (n,)
        Of the body's middle from the focal plane, whichever side. [mm]
    half_depth_mm : float
        Half of what the body takes up along the line of sight. [mm]
    flown_deg : float
        Angle of its way to the focal plane. [deg]
    turn_deg : float
        How much further round; beyond along the plane there is nothing to win. [deg]

    Notes
    -----
    The least way from the plane is how far focus missed and stays; the rest of it goes with the sine of the angle. What
    the animal moves across the line of sight goes with the cosine.
    """
    flown, then = math.radians(flown_deg), math.radians(max(flown_deg - turn_deg, 0.0))
    if flown == 0:
        return split
    least = float(away_mm.min())
    turned = least + (away_mm - least) * math.sin(then) / math.sin(flown)
    depth = np.array(half_depth_mm)
    disc = sharpest_distance(depth, turned) / np.maximum(sharpest_distance(depth, away_mm), 1e-9)
    motion = (math.cos(then) / max(math.cos(flown), 1e-6)) ** 2
    return Split(split.motion * motion, split.defocus * disc**2, split.rest)
