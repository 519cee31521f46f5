"""Thin lens: where the picture of a thing lies and how large it is; all in mm, from the front principal plane."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError, OutsideModel
from stillwing.optics.reals import SMALLEST, not_negative, positive, within

__all__ = [
    "Lengthened",
    "close_focal_length",
    "focal_length_at",
    "focus_distance_for",
    "image_distance",
    "magnification",
    "principal_distance",
    "sensor_distance",
    "with_teleconverter",
    "working_f_number",
]

ROUNDING = 1e-9
"""Share by which two distances may differ and still be the same."""


def image_distance(focal_length: ArrayLike, distance: ArrayLike) -> NDArray[np.float64]:
    r"""Return the distance of the sharp picture behind the lens.

    Parameters
    ----------
    focal_length, distance : array_like, shape (...)
        Focal length, and distance of the thing. [mm]

    Returns
    -------
    ndarray, shape (...)
        Image distance. [mm]

    Raises
    ------
    OutsideModel
        If a distance is not beyond the focal length: there is no real picture then.

    Notes
    -----
    .. math:: 1/f = 1/s + 1/s'

    Examples
    --------
    >>> float(image_distance(100, 300))
    150.0
    """
    f, s = np.broadcast_arrays(np.asarray(focal_length, np.float64), np.asarray(distance, np.float64))
    if np.any(s <= f):
        raise OutsideModel("distance", float(s[s <= f].flat[0]), float(f.max()), np.inf, "mm")
    return np.asarray(f * s / (s - f), np.float64)


def magnification(focal_length: ArrayLike, distance: ArrayLike) -> NDArray[np.float64]:
    """Return the size of the picture over the size of the thing: m = f / (s - f).

    Parameters
    ----------
    focal_length, distance : array_like, shape (...)
        Focal length, and distance of the thing. [mm]

    Returns
    -------
    ndarray, shape (...)
        Magnification, positive.

    Raises
    ------
    OutsideModel
        If a distance is not beyond the focal length.

    Examples
    --------
    >>> float(magnification(100, 200))
    1.0
    """
    return image_distance(focal_length, distance) / np.asarray(distance, np.float64)


def focus_distance_for(focal_length: ArrayLike, magnification: ArrayLike) -> NDArray[np.float64]:
    """Return the distance at which a lens gives that magnification: s = f (1 + 1/m); raises `OutsideModel`. [mm]"""
    f, m = positive("focal_length", focal_length, "mm"), positive("magnification", magnification, "x")
    return np.asarray(f * (1 + 1 / m), np.float64)


def working_f_number(f_number: ArrayLike, magnification: ArrayLike, pupil_ratio: float = 1.0) -> NDArray[np.float64]:
    """Return the f-number that light and diffraction feel close up: N (1 + m/p).

    Parameters
    ----------
    f_number, magnification : array_like, shape (...)
        As engraved, and in the focal plane.
    pupil_ratio : float, default 1
        Exit over entrance pupil.

    Raises
    ------
    OutsideModel
        If f-number or pupil ratio is not positive, or the magnification negative.

    References
    ----------
    .. [1] J. E. Greivenkamp, Field Guide to Geometrical Optics, SPIE FG01 (2004), 29.
    """
    n, m = positive("f_number", f_number, "(f/N)"), not_negative("magnification", magnification, "x")
    return np.asarray(n * (1 + m / positive("pupil_ratio", pupil_ratio, "x")), np.float64)


def sensor_distance(focal_length: ArrayLike, distance: ArrayLike) -> NDArray[np.float64]:
    """Return the distance of the thing from the sensor, u + v. [mm]

    Parameters
    ----------
    focal_length, distance : array_like, shape (...)
        Focal length, and distance from the front principal plane. [mm]

    Raises
    ------
    OutsideModel
        If a distance is not beyond the focal length.

    Examples
    --------
    >>> float(sensor_distance(100, 200))
    400.0
    """
    return np.asarray(np.asarray(distance, np.float64) + image_distance(focal_length, distance), np.float64)


def principal_distance(focal_length: ArrayLike, sensor_distance: ArrayLike) -> NDArray[np.float64]:
    r"""Return the distance from the front principal plane of a thing so far from the sensor.

    Parameters
    ----------
    focal_length, sensor_distance : array_like, shape (...)
        Focal length at that distance, and the distance, as marked on lenses. [mm]

    Returns
    -------
    ndarray, shape (...)
        The larger of the two that there are, which has a magnification up to 1. [mm]

    Raises
    ------
    OutsideModel
        If a distance is below four focal lengths: no thin lens focuses there.

    Notes
    -----
    From :math:`u + v = D` and :math:`1/u + 1/v = 1/f`: :math:`u = (D + \sqrt{D^2 - 4 f D}) / 2`. The distance between
    the two principal planes of a real lens counts as nothing.

    Examples
    --------
    >>> float(principal_distance(100, 400))
    200.0
    """
    f, d = positive("focal_length", focal_length, "mm"), positive("sensor_distance", sensor_distance, "mm")
    f, d = np.broadcast_arrays(f, d)
    too_close = d < 4 * f * (1 - ROUNDING)
    if np.any(too_close):
        least = float(4 * f[too_close].flat[0])
        raise OutsideModel("sensor_distance", float(d[too_close].flat[0]), least, np.inf, "mm")
    return np.asarray(d * (1 + np.sqrt(np.maximum(1 - 4 * f / d, 0.0))) / 2, np.float64)


def close_focal_length(closest_sensor_distance: ArrayLike, magnification: ArrayLike) -> NDArray[np.float64]:
    """Return the focal length that a lens really has at its closest focus: D / (2 + m + 1/m). [mm]

    Lenses that focus by moving glass inside grow shorter as they focus closer.

    Parameters
    ----------
    closest_sensor_distance : array_like, shape (...)
        As marked, from the sensor. [mm]
    magnification : array_like, shape (...)
        Largest one, at that distance.

    Raises
    ------
    OutsideModel
        If one is not positive.

    Notes
    -----
    The distance between thing and picture is f (2 + m + 1/m) [1]_; that between the principal planes counts as nothing.

    References
    ----------
    .. [1] S. F. Ray, Applied Photographic Optics, 3rd ed. (2002).

    Examples
    --------
    >>> float(close_focal_length(1300, 0.25))
    208.0
    """
    d = positive("closest_sensor_distance", closest_sensor_distance, "mm")
    m = positive("magnification", magnification, "x")
    return np.asarray(d / (2 + m + 1 / m), np.float64)


def focal_length_at(
    sensor_distance: ArrayLike, engraved: ArrayLike, closest: ArrayLike, largest_magnification: ArrayLike | None
) -> NDArray[np.float64]:
    """Return the focal length that a lens really has when it is focused on a distance. [mm]

    Parameters
    ----------
    sensor_distance : array_like, shape (...)
        Of the thing from the sensor. [mm]
    engraved : array_like, shape (...)
        Focal length as engraved, which is that at infinity. [mm]
    closest : array_like, shape (...)
        Closest focus from the sensor; 0 where it is not known. [mm]
    largest_magnification : array_like, shape (...), or None
        At the closest focus, up to 1; NaN or None where it is not known.

    Returns
    -------
    ndarray, shape (...)
        Where closest focus or magnification is not known, the engraved one. [mm]

    Raises
    ------
    OutsideModel
        If a distance is closer than the closest focus, or a value is out of its range.
    InputError
        If the closest focus is below four focal lengths, so that the lens has to grow shorter, and the magnification
        that tells by how much is not known.

    Notes
    -----
    Linear in 1/distance from the engraved one at infinity to `close_focal_length`; that it is linear is an assumption.

    Examples
    --------
    >>> [round(float(focal_length_at(d, 400, 1300, 0.25))) for d in (1300, 2600, 1e9)]
    [208, 304, 400]
    """
    d, f = positive("sensor_distance", sensor_distance, "mm"), positive("engraved", engraved, "mm")
    given = np.nan if largest_magnification is None else largest_magnification
    m = within("largest_magnification", given, SMALLEST, 1.0, "x")
    d, f, near, m = np.broadcast_arrays(d, f, not_negative("closest", closest, "mm"), m)
    too_close = d < near * (1 - ROUNDING)
    if np.any(too_close):
        raise OutsideModel("sensor_distance", float(d[too_close][0]), float(near[too_close][0]), np.inf, "mm")
    unknown = (near == 0) | np.isnan(m)
    _refuse_unknown_shortening(f, near, unknown)
    at_closest = close_focal_length(np.where(unknown, 1.0, near), np.where(unknown, 1.0, m))
    return np.asarray(np.where(unknown, f, f + (at_closest - f) * near / d), np.float64)


def _refuse_unknown_shortening(f: NDArray[np.float64], near: NDArray[np.float64], unknown: NDArray[np.bool_]) -> None:
    wrong = unknown & (near > 0) & (near < 4 * f * (1 - ROUNDING))
    if np.any(wrong):
        raise InputError(
            f"a lens of {f[wrong][0]:g} mm that focuses to {near[wrong][0] / 1000:g} m must grow shorter to do so; "
            f"give its largest magnification, such as 0.25, which tells by how much"
        )


class Lengthened(NamedTuple):
    """A lens with its converter."""

    focal_length: NDArray[np.float64]
    """In mm."""
    f_number: NDArray[np.float64]


def with_teleconverter(focal_length: ArrayLike, f_number: ArrayLike, factor: ArrayLike) -> Lengthened:
    """Return focal length and f-number with a teleconverter: both grow by its factor, the entrance pupil stays.

    Parameters
    ----------
    focal_length, f_number, factor : array_like, shape (...)
        Of the lens alone, and the converter's factor, 1 to 3.

    Raises
    ------
    OutsideModel
        If a value is not positive or the factor not 1 to 3.
    """
    by = within("factor", factor, 1.0, 3.0, "x")
    f, n = positive("focal_length", focal_length, "mm"), positive("f_number", f_number, "(f/N)")
    return Lengthened(np.asarray(f * by, np.float64), np.asarray(n * by, np.float64))
