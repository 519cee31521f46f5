"""Defocus: the disc that a point off the focal plane becomes, and the limits between which it stays small enough."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.framing import magnification

__all__ = ["SharpRange", "blur_disc", "hyperfocal_distance", "sharp_range"]


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

    Notes
    -----
    .. math:: c = A\, m\, |d - s| / d

    with the entrance pupil :math:`A = f/N` and the magnification :math:`m` in the focal plane.

    References
    ----------
    .. [1] S. F. Ray, Applied Photographic Optics, 3rd ed. (2002).

    Examples
    --------
    >>> round(float(blur_disc(3007.22, 3000, 300, 4)), 4)     # 300 mm f/4 at 3 m: the far limit for 0.02 mm
    0.02
    """
    d, s = np.asarray(distance, np.float64), np.asarray(focus_distance, np.float64)
    pupil = np.asarray(focal_length, np.float64) / np.asarray(f_number, np.float64)
    return np.asarray(pupil * magnification(focal_length, s) * np.abs(d - s) / d, np.float64)


def hyperfocal_distance(focal_length: ArrayLike, f_number: ArrayLike, blur_diameter: ArrayLike) -> NDArray[np.float64]:
    """Return the focus distance beyond which infinity is sharp enough: H = f^2 / (N c) + f. [mm]"""
    f = np.asarray(focal_length, np.float64)
    return np.asarray(f * f / (np.asarray(f_number) * np.asarray(blur_diameter)) + f, np.float64)


def sharp_range(
    focus_distance: ArrayLike, focal_length: ArrayLike, f_number: ArrayLike, blur_diameter: ArrayLike
) -> SharpRange:
    r"""Return the limits between which a point's disc stays below ``blur_diameter``.

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
    s, f = np.asarray(focus_distance, np.float64), np.asarray(focal_length, np.float64)
    h = hyperfocal_distance(focal_length, f_number, blur_diameter)
    near = s * (h - f) / (h + s - 2 * f)
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(s < h, s * (h - f) / (h - s), np.inf)
    return SharpRange(np.asarray(near, np.float64), np.asarray(far, np.float64))
