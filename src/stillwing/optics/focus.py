"""Defocus: the disc that a point off the focal plane becomes, and the limits between which it stays small enough."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import j1

from stillwing.optics.framing import magnification, working_f_number
from stillwing.optics.reals import not_negative, positive

__all__ = [
    "SharpRange",
    "acceptable_blur",
    "blur_disc",
    "blur_disc_at_infinity",
    "close_up_depth",
    "depth_of_focus",
    "disc_mtf",
    "hyperfocal_distance",
    "sharp_range",
]

SHARP_DIAGONAL = 1500.0
"""Diagonal of the sensor over the largest disc that passes as a point, in lens makers' tables; formerly 1000."""


class SharpRange(NamedTuple):
    """Near and far limit of acceptable sharpness; far is inf beyond the hyperfocal distance. [mm]"""

    near: NDArray[np.float64]
    far: NDArray[np.float64]


def blur_disc(
    distance: ArrayLike, focus_distance: ArrayLike, focal_length: ArrayLike, f_number: ArrayLike
) -> NDArray[np.float64]:
    r"""Return the diameter, on the sensor, of the disc that a point becomes.

    Parameters
    ----------
    distance, focus_distance, focal_length : array_like, shape (...)
        Of the point, of the focal plane, of the lens; distances from the front principal plane. [mm]
    f_number : array_like, shape (...)
        As engraved.

    Returns
    -------
    ndarray, shape (...)
        Diameter of the disc, zero in the focal plane. [mm]

    Raises
    ------
    OutsideModel
        If a value is not positive, or the focal plane not beyond the focal length.

    Notes
    -----
    .. math:: c = A\, m\, |d - s| / d

    with the entrance pupil :math:`A = f/N` and the magnification :math:`m` in the focal plane: the cone from the point
    to the pupil is :math:`A |d - s| / d` wide where it cuts the focal plane. That holds for any pupil ratio as long as
    distances run from the entrance pupil; with a ratio of 1 it lies in the front principal plane.

    References
    ----------
    .. [1] S. F. Ray, Applied Photographic Optics, 3rd ed. (2002).

    Examples
    --------
    >>> round(float(blur_disc(3007.22, 3000, 300, 4)), 4)     # 300 mm f/4 at 3 m: the far limit for 0.02 mm
    0.02
    """
    d, s = positive("distance", distance, "mm"), positive("focus_distance", focus_distance, "mm")
    pupil = positive("focal_length", focal_length, "mm") / positive("f_number", f_number, "(f/N)")
    return np.asarray(pupil * magnification(focal_length, s) * np.abs(d - s) / d, np.float64)


def hyperfocal_distance(focal_length: ArrayLike, f_number: ArrayLike, blur_diameter: ArrayLike) -> NDArray[np.float64]:
    """Return the focus distance beyond which infinity is sharp enough: H = f^2 / (N c) + f. [mm]

    Parameters
    ----------
    focal_length, f_number, blur_diameter : array_like, shape (...)
        Of the lens, and of the largest disc that passes as a point. [mm, 1, mm]

    Raises
    ------
    OutsideModel
        If one is not positive.
    """
    f, n = positive("focal_length", focal_length, "mm"), positive("f_number", f_number, "(f/N)")
    return np.asarray(f * f / (n * positive("blur_diameter", blur_diameter, "mm")) + f, np.float64)


def sharp_range(
    focus_distance: ArrayLike, focal_length: ArrayLike, f_number: ArrayLike, blur_diameter: ArrayLike
) -> SharpRange:
    r"""Return the limits between which a point's disc stays below ``blur_diameter``.

    Parameters
    ----------
    focus_distance, focal_length, f_number, blur_diameter : array_like, shape (...)
        Distance from the front principal plane, lens, largest disc that passes as a point. [mm]

    Returns
    -------
    SharpRange
        Distances from the front principal plane.

    Raises
    ------
    OutsideModel
        If a value is not positive, or the focal plane not beyond the focal length.

    Notes
    -----
    Exact for a thin lens: :math:`D_n = s(H - f)/(H + s - 2f)`, :math:`D_f = s(H - f)/(H - s)`.

    References
    ----------
    .. [1] S. F. Ray, Applied Photographic Optics, 3rd ed. (2002).

    Examples
    --------
    >>> near, far = sharp_range(5000, 400, 5.6, 0.03)
    >>> round(float(near), 2), round(float(far), 2)
    (4975.97, 5024.27)
    """
    s, f = positive("focus_distance", focus_distance, "mm"), positive("focal_length", focal_length, "mm")
    magnification(f, s)  # refuses a focal plane that the lens cannot have
    h = hyperfocal_distance(focal_length, f_number, blur_diameter)
    near = s * (h - f) / (h + s - 2 * f)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(s < h, s * (h - f) / (h - s), np.inf)
    return SharpRange(np.asarray(near, np.float64), np.asarray(far, np.float64))


def blur_disc_at_infinity(
    focus_distance: ArrayLike, focal_length: ArrayLike, f_number: ArrayLike
) -> NDArray[np.float64]:
    """Return the diameter, on the sensor, of the disc that a point far behind becomes: A m. [mm]

    Parameters and errors are those of `blur_disc`. The larger it is against the animal's picture, the calmer the
    background.

    Examples
    --------
    >>> float(blur_disc_at_infinity(3300, 300, 4))
    7.5
    """
    pupil = positive("focal_length", focal_length, "mm") / positive("f_number", f_number, "(f/N)")
    return np.asarray(pupil * magnification(focal_length, focus_distance), np.float64)


def close_up_depth(
    f_number: ArrayLike, blur_diameter: ArrayLike, magnification: ArrayLike, pupil_ratio: float = 1.0
) -> NDArray[np.float64]:
    """Return the whole depth of field close up, before and behind the focal plane: 2 N c (1 + m/p) / m^2. [mm]

    Parameters
    ----------
    f_number, blur_diameter, magnification : array_like, shape (...)
        As engraved; of the largest disc that passes as a point [mm]; in the focal plane.
    pupil_ratio : float, default 1
        Exit over entrance pupil.

    Returns
    -------
    ndarray, shape (...)
        Good where it is far less than the distance; else see `sharp_range`. [mm]

    Raises
    ------
    OutsideModel
        If a value is not positive.

    References
    ----------
    .. [1] S. F. Ray, Applied Photographic Optics, 3rd ed. (2002).
    .. [2] L. Lefkowitz, The Manual of Close-Up Photography (1979).

    Examples
    --------
    >>> round(float(close_up_depth(8, 0.03, 0.5)), 2)
    2.88
    """
    m = positive("magnification", magnification, "x")
    return np.asarray(depth_of_focus(f_number, blur_diameter, m, pupil_ratio) / (m * m), np.float64)


def depth_of_focus(
    f_number: ArrayLike, blur_diameter: ArrayLike, magnification: ArrayLike = 0.0, pupil_ratio: float = 1.0
) -> NDArray[np.float64]:
    """Return how far the sensor may lie off, both ways together: 2 N c (1 + m/p); else as `close_up_depth`. [mm]"""
    working = working_f_number(f_number, magnification, pupil_ratio)
    return np.asarray(2 * working * positive("blur_diameter", blur_diameter, "mm"), np.float64)


def acceptable_blur(
    width_mm: ArrayLike, height_mm: ArrayLike, diagonal_over_blur: float = SHARP_DIAGONAL
) -> NDArray[np.float64]:
    """Return the circle of confusion that tables assume for a sensor: its diagonal over 1500. [mm]

    Parameters
    ----------
    width_mm, height_mm : array_like, shape (...)
        Of the sensor. [mm]
    diagonal_over_blur : float, default 1500
        1730 for the 0.025 mm of strict tables on 36 x 24 mm film, 1440 for the usual 0.030 mm.

    Raises
    ------
    OutsideModel
        If one is not positive.

    Examples
    --------
    >>> round(float(acceptable_blur(36, 24)), 4)
    0.0288
    """
    diagonal = np.hypot(positive("width_mm", width_mm, "mm"), positive("height_mm", height_mm, "mm"))
    return np.asarray(diagonal / positive("diagonal_over_blur", diagonal_over_blur, "to 1"), np.float64)


def disc_mtf(diameter: ArrayLike, frequency: ArrayLike) -> NDArray[np.float64]:
    """Return the contrast that a disc of even blur leaves at a frequency: 2 J1(x) / x with x = pi d f.

    Parameters
    ----------
    diameter, frequency : array_like, shape (...)
        In units that are each other's inverse, such as mm and cycles/mm.

    Returns
    -------
    ndarray, shape (...)
        1 at frequency 0; below 0 where black and white have changed places.

    Raises
    ------
    OutsideModel
        If one is negative.
    """
    cycles = not_negative("diameter", diameter, "(px or mm)") * not_negative("frequency", frequency, "cycles")
    x = np.pi * cycles
    return np.asarray(np.where(x == 0, 1.0, 2 * j1(x) / np.where(x == 0, 1.0, x)), np.float64)
