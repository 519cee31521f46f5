"""What an offset from the focal plane shows: blur that grows either way, and a size that falls with distance."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.seen import FlightKit, Seen
from stillwing.optics.prediction import SHARPEST_SHARE
from stillwing.optics.spread import disc_variance

__all__ = ["NEAREST_SHARE", "N_SHARED", "Evidence", "Plane", "evidence_of", "plane_at"]

Reals = NDArray[np.float64]

TAIL_DOF = 4.0
"""Degrees of freedom of Student's t, by which a reading of blur errs: now and then grossly."""
T4_90 = 2.132
"""95th percentile of Student's t with 4 degrees of freedom."""
LEAST_BLUR_ERROR = 0.04
"""No reading of blur is better, as a share (a choice: what noise and JPEG leave, docs/blur.md)."""
MINOR_WIDER = 1.2
"""How much wider the error of one axis is than that of both together (a choice, no source)."""
TURNING_SHARE, TURNING_S = 0.05, 0.4
"""How far the apparent size wanders because the animal turns, as a share, and how fast (choices, no source)."""
OUTLIER = 4.0
SIZE_OPEN = 3.0
"""Spread of the logarithm of a size of which nothing is known."""
HALF_DEPTH_SHARE, HALF_DEPTH_FACTOR = 0.2, 2.0
"""Half of what the body takes up along the line of sight over its apparent length, and the factor to either side as one
standard deviation. By geometry a body 0.15 as thick as long has 0.075 square on, 0.23 when turned by 22 degrees and 0.5
by 45 (that it is turned so is a choice, no source)."""
COMMON_BLUR_ERROR = 0.08
"""By which all readings of a burst may be too soft or too sharp alike, one standard deviation
(between median and ninth decile of benchmarks/flight_boxes.py; before leaves near focus it is more)."""
FLOOR_ERROR = 0.12
"""How far the blur in the focal plane itself is from what the kit says: lenses differ, and sharp readings are a
little too soft (a choice, no source)."""
N_SHARED = 3
"""Unknowns that all frames share."""
NEAREST_SHARE = 0.1
"""The animal is no nearer than this share of the focus distance."""


@dataclass(frozen=True, slots=True)
class Plane:
    """The focal plane: how fast blur grows with the way from it."""

    distance_mm: float
    """From the front principal plane."""
    magnification: float
    disc_px: float
    """Diameter of the disc of a point for each share of its own distance that it lies off the plane: A m / pitch."""
    mm_per_px: float
    image_distance_px: float
    floor_variance: float
    """Per axis of all that blurs in the plane itself. [px^2]"""


def plane_at(kit: FlightKit, distance_mm: float, focal_length_mm: float) -> Plane:
    """Return the focal plane at a distance from the front principal plane. [mm]"""
    m = focal_length_mm / (distance_mm - focal_length_mm)
    disc = focal_length_mm / kit.f_number * m / kit.pitch_mm
    return Plane(distance_mm, m, disc, kit.pitch_mm / m, distance_mm * m / kit.pitch_mm, kit.floor_variance(m))


@dataclass(frozen=True, eq=False, slots=True)
class Residuals:
    """What is left of blur (m, n) and size (m, k); half the sum of their squares is the energy.

    ``by_z`` (m, n) and ``by_shared`` (m, n, 3) tell how the blur's changes with offsets and with what frames share.
    """

    blur: Reals
    size: Reals
    by_z: Reals
    by_shared: Reals


@dataclass(frozen=True, eq=False, slots=True)
class Evidence:
    """Blur and size of n frames, as `energy` weighs an offset against them.

    Unknowns are the offsets ``z`` (m, n) in mm, positive behind the focal plane, and what the frames share, standard
    normal, (m, 3): half depth of the body, common error of the readings, blur in the focal plane itself.
    """

    plane: Plane
    log_blur: Reals
    blur_scale: Reals
    """Of Student's t; inf where the blur was not measured."""
    motion_variance: Reals
    log_size: Reals
    """NaN where there is no size."""
    size_whitener: Reals
    """(k, n): what makes the k sizes' errors independent and 1."""
    half_depth_mm: float

    def half_depth(self, unknown: Reals) -> Reals:
        """Return the body's half depth for standard normal values. [mm]"""
        return np.asarray(self.half_depth_mm * np.exp(math.log(HALF_DEPTH_FACTOR) * unknown), np.float64)

    def residuals(self, z: Reals, shared: Reals) -> "Residuals":
        """Return what is left of blur and size at offsets ``z`` and for what the frames share, and its slopes."""
        p = self.plane
        depth = self.half_depth(shared[:, :1])
        distance = np.maximum(p.distance_mm + z, NEAREST_SHARE * p.distance_mm)
        outside, beyond = _outside(z, depth, self.half_depth_mm)
        disc = disc_variance(p.disc_px * outside / distance)
        floor = p.floor_variance * np.exp(2 * FLOOR_ERROR * shared[:, 2:])
        whole = floor + self.motion_variance + disc
        left = (self.log_blur - np.log(whole) / 2 - COMMON_BLUR_ERROR * shared[:, 1:2]) / self.blur_scale
        # Heavy tails as a residual whose square is the log likelihood.
        soft = np.sign(left) * np.sqrt((TAIL_DOF + 1) * np.log1p(left**2 / TAIL_DOF))
        slope = np.where(
            np.abs(left) > 1e-6,
            (TAIL_DOF + 1) * left / (TAIL_DOF + left**2) / np.where(soft == 0, 1, soft),
            math.sqrt((TAIL_DOF + 1) / TAIL_DOF),
        )
        by_log = -slope / self.blur_scale
        by_outside = by_log * disc / whole / outside
        by_z = by_outside * np.sign(z) * beyond - by_log * disc / whole / distance
        by_depth = by_outside * depth * math.log(HALF_DEPTH_FACTOR) * (SHARPEST_SHARE - (1 - SHARPEST_SHARE) * beyond)
        by_shared = np.stack([by_depth, by_log * COMMON_BLUR_ERROR, by_log * FLOOR_ERROR * floor / whole], axis=2)
        size = np.where(np.isfinite(self.log_size), self.log_size + np.log(distance / p.distance_mm), 0.0)
        return Residuals(soft, size @ self.size_whitener.T, by_z, by_shared)

    def away(self) -> Reals:
        """Return how far each frame's middle lies off the plane, by its blur alone, (n,); NaN where unknown. [mm]"""
        p = self.plane
        rest = np.maximum(np.exp(2 * self.log_blur) - p.floor_variance - self.motion_variance, 0.0)
        off = 4 * np.sqrt(rest) / p.disc_px * p.distance_mm
        inside = SHARPEST_SHARE * self.half_depth_mm
        whole = np.where(off > inside, off + (1 - 2 * SHARPEST_SHARE) * self.half_depth_mm, off)
        return np.asarray(np.where(np.isfinite(self.blur_scale), whole, np.nan), np.float64)


def _outside(z: Reals, half_depth: Reals, typical: float) -> tuple[Reals, Reals]:
    """Return how far the sharpest part ends from the plane, and how much of a step away from it is outside the body.

    `stillwing.optics.prediction.sharpest_distance` with its corner rounded, so that it has a slope everywhere.
    """
    round_mm = 0.05 * typical + 0.05
    over = (np.abs(z) - (1 - SHARPEST_SHARE) * half_depth) / round_mm
    grown = np.logaddexp(0.0, over) * round_mm
    return np.asarray(SHARPEST_SHARE * half_depth + grown, np.float64), np.asarray(
        np.exp(-np.logaddexp(0.0, -over)), np.float64
    )


def evidence_of(seen: Seen, kit: FlightKit, plane: Plane, picture_px_s: Reals) -> Evidence:
    """Return what blur and size tell of the depth.

    Parameters
    ----------
    seen : Seen
        The burst.
    kit : FlightKit
        For the exposure.
    plane : Plane
        The focal plane.
    picture_px_s : ndarray, shape (n,)
        How fast the animal's picture moved on the sensor. [px/s]

    Notes
    -----
    Where the spread has a direction its minor axis is free of motion; else the motion's own share, L^2 / 24, is taken
    off by the speed of the picture.
    """
    has_direction = np.isfinite(seen.direction_deg)
    blur = np.where(has_direction, seen.minor_px, seen.blur_px)
    half = seen.own_blur_share * np.log(seen.blur_high_px / seen.blur_low_px) / 2
    scale = np.hypot(half / T4_90, LEAST_BLUR_ERROR) * np.where(has_direction, MINOR_WIDER, 1.0)
    known = np.isfinite(blur) & (blur > 0) & np.isfinite(scale)
    moved = np.where(has_direction, 0.0, (picture_px_s * kit.exposure_s) ** 2 / 24)
    log_size, whitener = _sizes(seen)
    apparent = np.nanmedian(np.append(seen.size_px, np.nan if np.any(np.isfinite(seen.size_px)) else 200.0))
    return Evidence(
        plane,
        np.where(known, np.log(np.where(known, blur, 1.0)), 0.0),
        np.where(known, scale, np.inf),
        moved,
        log_size,
        whitener,
        HALF_DEPTH_SHARE * float(apparent) * plane.mm_per_px,
    )


def _sizes(seen: Seen) -> tuple[Reals, Reals]:
    """Return logarithms of the sizes about their middle, and what whitens their errors."""
    known = np.isfinite(seen.size_px) & np.isfinite(seen.size_sd_px) & (seen.size_px > 0)
    logs = np.where(known, np.log(np.where(known, seen.size_px, 1.0)), np.nan)
    if known.sum() < 2:
        return np.full(len(seen), np.nan), np.zeros((0, len(seen)))
    at = np.flatnonzero(known)
    logs = logs - np.median(logs[at])
    sd = np.maximum(seen.size_sd_px[at] / seen.size_px[at], 1e-3)
    near = np.array([np.median(logs[at[max(k - 2, 0) : k + 3]]) for k in range(len(at))])
    gross = np.abs(logs[at] - near)
    # One that stands out among its neighbours counts for no more than it stands out.
    variance = sd**2 + np.where(gross > OUTLIER * np.hypot(sd, TURNING_SHARE), gross**2, 0.0)
    apart = np.abs(np.subtract.outer(seen.time_s[at], seen.time_s[at]))
    covariance = np.diag(variance) + TURNING_SHARE**2 * np.exp(-apart / TURNING_S) + SIZE_OPEN**2
    whitener = np.zeros((len(at), len(seen)))
    whitener[:, at] = np.linalg.inv(np.linalg.cholesky(covariance))
    return logs, whitener
