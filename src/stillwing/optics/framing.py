"""Thin lens: where the picture of a thing lies and how large it is; all in mm, from the front principal plane."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import OutsideModel

__all__ = ["focus_distance_for", "image_distance", "magnification", "working_f_number"]


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
    """Return the distance at which a lens gives that magnification: s = f (1 + 1/m). [mm]"""
    f, m = np.asarray(focal_length, np.float64), np.asarray(magnification, np.float64)
    return np.asarray(f * (1 + 1 / m), np.float64)


def working_f_number(f_number: ArrayLike, magnification: ArrayLike, pupil_ratio: float = 1.0) -> NDArray[np.float64]:
    """Return the f-number that light and diffraction feel close up: N (1 + m/p).

    References
    ----------
    .. [1] J. E. Greivenkamp, Field Guide to Geometrical Optics, SPIE FG01 (2004), 29.
    """
    return np.asarray(np.asarray(f_number) * (1 + np.asarray(magnification) / pupil_ratio), np.float64)
