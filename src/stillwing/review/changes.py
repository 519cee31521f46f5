"""One change of setting or stand, in steps, and what it would make of the blur of the frames of a burst."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from stillwing.flight.defocus import Plane, plane_at
from stillwing.flight.seen import FlightKit
from stillwing.optics.prediction import sharpest_distance
from stillwing.review.blursplit import BlurSplit

__all__ = [
    "STEPS",
    "Change",
    "Flown",
    "Split",
    "exposed_by",
    "f_number_by",
    "further_by",
    "log_errors",
    "sharp_chance",
    "turned_by",
]

Reals = NDArray[np.float64]

MOST_THIRDS_SHORTER, MOST_THIRDS_CLOSED = 9, 6
"""Thirds of a stop by which the exposure is shortened and the lens closed at most (a choice, no source)."""
TURNS_DEG = tuple(float(turn) for turn in range(5, 50, 5))
MOST_TWELFTHS_FURTHER = 4
"""Steps of distance, each some 6 %, up to a quarter further off: beyond that it is another picture (a choice)."""
INTERVAL_90_SD = 3.2897
"""Width of a 90 % interval in standard deviations."""
LEAST_SD = 1e-6
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
    Change.DISTANCE: tuple(2 ** (twelfth / 12) for twelfth in range(1, MOST_TWELFTHS_FURTHER + 1)),
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

    @classmethod
    def of(cls, splits: Sequence[BlurSplit]) -> "Split":
        """Return the splits of frames as arrays."""
        return cls(*(np.array([getattr(one, name) for one in splits]) for name in ("motion", "defocus", "rest")))


def log_errors(splits: Sequence[BlurSplit]) -> Reals:
    """Return standard deviations of the logarithms of blurs, by their 90 % intervals, shape (n,)."""
    return np.array([math.log(one.high / one.low) / 2 / INTERVAL_90_SD for one in splits])


def sharp_chance(whole: Reals, sd: Reals, limit_px: float) -> Reals:
    """Return the chance that blurs stay within a limit.

    Parameters
    ----------
    whole : ndarray, shape (n,)
        Variance of each. [px^2]
    sd : ndarray, shape (n,)
        Standard deviation of its logarithm.
    limit_px : float
        The limit. [px]
    """
    behind = np.log(limit_px**2 / np.maximum(whole, 1e-12)) / 2
    return np.asarray(ndtr(behind / np.maximum(sd, LEAST_SD)), np.float64)


@dataclass(frozen=True, eq=False, slots=True)
class Flown:
    """A flight along one way, as far as turning it changes what is seen of it."""

    away_mm: Reals
    """Of the body's middle from the focal plane in each frame, whichever side, shape (n,). [mm]"""
    half_depth_mm: float
    """Half of what the body takes up along the line of sight. [mm]"""
    angle_deg: float
    """Of its way to the focal plane. [deg]"""
    moved_px: float
    """How far it flies in space during one exposure, as large as that shows. [px]"""


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


def turned_by(split: Split, flown: Flown, turn_deg: float) -> Split:
    r"""Return the split had the same flight lain nearer to the focal plane by an angle.

    Parameters
    ----------
    split : Split
        As taken.
    flown : Flown
        How it flew.
    turn_deg : float
        How much further round; beyond along the plane there is nothing to win. [deg]

    Notes
    -----
    The least way from the plane is how far focus missed and stays; the rest of it goes with the sine of the angle. What
    it flies across the line of sight goes with the cosine: motion that was left grows so, and the camera does not
    follow what is new.
    """
    before, then = math.radians(flown.angle_deg), math.radians(max(flown.angle_deg - turn_deg, 0.0))
    if before == 0:
        return split
    least = float(flown.away_mm.min())
    turned = least + (flown.away_mm - least) * math.sin(then) / math.sin(before)
    depth = np.array(flown.half_depth_mm)
    disc = sharpest_distance(depth, turned) / np.maximum(sharpest_distance(depth, flown.away_mm), 1e-9)
    new_px = flown.moved_px * (math.cos(then) - math.cos(before))
    motion = (math.cos(then) / max(math.cos(before), 1e-6)) ** 2
    grown = np.minimum(split.motion * motion, split.motion + flown.moved_px**2 / 24)
    return Split(grown + new_px**2 / 24, split.defocus * disc**2, split.rest)
