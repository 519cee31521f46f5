"""Blur and noise that a setting will give, in the same pixels and with the same meaning as they are measured on frames.

Questions are of shape (n,), settings of shape (n, k): k of them for each.
"""

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.diffraction import airy_sigma
from stillwing.optics.noise import MID_GREY_SHARE, electrons, snr, snr_per_output_pixel
from stillwing.optics.question import Question
from stillwing.optics.spread import MOSAIC_VARIANCE, PIXEL_VARIANCE, disc_variance

__all__ = [
    "SHARPEST_SHARE",
    "animal_variances",
    "blur_ratio",
    "camera_variance",
    "depth_variance",
    "diffraction_variance",
    "motion_variance",
    "output_snr",
    "sharpest_distance",
]

Reals = NDArray[np.float64]

TYPICAL_OFFSET = 0.6745
"""Median of the absolute value of a normal error, in standard deviations."""
SOFT_ENDS_COUNT = 0.15
"""Weight of what the whole body is softer than the limit, beside its sharpest part (a choice, no source): where not all
of a body can be sharp, the part in the focal plane comes first, as it does when frames are sifted."""
SHARPEST_SHARE = 0.2
"""Share of the body that counts as its sharpest part; what is measured on frames is the blur that this share keeps."""


def camera_variance(question: Question) -> Reals:
    """Return what pixel, colour mosaic and the lens's own faults add, per axis, shape (n,). [px^2]"""
    return np.asarray(PIXEL_VARIANCE + MOSAIC_VARIANCE + question.own_blur_px**2, np.float64)


def diffraction_variance(question: Question, f_number: Reals) -> Reals:
    """Return what diffraction adds, per axis, for f-numbers of shape (n, k). [px^2]"""
    working = f_number * question.bellows[:, None]
    return np.asarray((airy_sigma(working) / question.pitch_mm[:, None]) ** 2, np.float64)


def motion_variance(speed_mm_s: Reals, pitch_mm: Reals, exposure_s: Reals) -> Reals:
    """Return what even motion along a line adds, as the mean of both axes: (L^2 / 12 + 0) / 2. [px^2]

    Parameters
    ----------
    speed_mm_s, pitch_mm, exposure_s : ndarray, shape (...)
        Speed on the sensor, distance between pixels, exposure.
    """
    return np.asarray((speed_mm_s * exposure_s / pitch_mm) ** 2 / 24, np.float64)


def depth_variance(question: Question, distance_mm: Reals, f_number: Reals) -> Reals:
    r"""Return what defocus adds, per axis, to a point ``distance_mm`` before or behind the focal plane. [px^2]

    Parameters
    ----------
    distance_mm : ndarray, shape (n,)
        Along the line of sight. [mm]
    f_number : ndarray, shape (n, k)
        As engraved.

    Notes
    -----
    The disc is :math:`A\, m\, |d - s| / d` (`stillwing.optics.focus.blur_disc`) with :math:`d` set to :math:`s`: the
    mean of a point before and one behind the plane, but for a share of :math:`(\text{distance}/s)^2`.
    """
    return disc_variance((question.disc_px_per_mm * distance_mm)[:, None] / f_number)


def sharpest_distance(half_depth_mm: Reals, focus_error_mm: Reals) -> Reals:
    """Return how far from the focal plane the body's sharpest part ends. [mm]

    Parameters
    ----------
    half_depth_mm, focus_error_mm : ndarray, shape (...)
        The body reaches that far before and behind its middle, and its middle lies that far from the plane.

    Notes
    -----
    The 20th percentile (`SHARPEST_SHARE`) of the distance from the plane over a body that is even in depth.

    Examples
    --------
    >>> float(sharpest_distance(np.array(10.0), np.array(0.0)))     # the plane cuts the body in its middle
    2.0
    >>> float(sharpest_distance(np.array(10.0), np.array(30.0)))    # all of the body lies off the plane
    24.0
    """
    inside = SHARPEST_SHARE * half_depth_mm
    return np.asarray(np.maximum(inside, np.abs(focus_error_mm) - (1 - 2 * SHARPEST_SHARE) * half_depth_mm), np.float64)


def output_snr(question: Question, iso: Reals) -> Reals:
    """Return signal to noise of a mid grey, per pixel of the picture as shown, for ISO of shape (n, k)."""
    q = question
    signal = electrons(MID_GREY_SHARE, q.electrons_at_white[:, None], q.lowest_iso[:, None], iso)
    per_pixel = snr(signal, q.read_noise_e[:, None])
    return snr_per_output_pixel(per_pixel, q.frame_width_px[:, None], q.shown_width_px[:, None])


def animal_variances(question: Question, f_number: Reals) -> tuple[Reals, Reals]:
    """Return what defocus adds over the whole body, and at its sharpest part, for f-numbers of shape (n, k). [px^2]

    Notes
    -----
    The whole body: a point at half its depth, the error of focus added as squares. Its sharpest part: as far off the
    focal plane as it is in half of all frames.
    """
    q = question
    whole = np.hypot(q.half_depth_mm, q.focus_error_mm)
    sharpest = sharpest_distance(q.half_depth_mm, TYPICAL_OFFSET * q.focus_error_mm)
    at_one_mm = depth_variance(q, np.ones_like(whole), f_number)
    return at_one_mm * whole[:, None] ** 2, at_one_mm * sharpest[:, None] ** 2


def blur_ratio(whole_px: Reals, sharpest_px: Reals, limit_px: Reals) -> Reals:
    """Return blur against what the output hides: up to 1 the whole body looks sharp.

    Above that it is the sharpest part's own ratio, 1 where that looks sharp, and `SOFT_ENDS_COUNT` of what the whole
    body exceeds the limit by.
    """
    whole = whole_px / limit_px
    return np.where(whole <= 1, whole, np.maximum(sharpest_px / limit_px, 1) + SOFT_ENDS_COUNT * (whole - 1))
