"""Field: what fits in the frame, and how large a thing is in it."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.framing import focus_distance_for
from stillwing.optics.reals import not_negative, positive

__all__ = ["distance_for_size", "field_size", "magnification_for_size", "size_in_frame"]


def field_size(sensor_mm: ArrayLike, magnification: ArrayLike) -> NDArray[np.float64]:
    """Return what of the focal plane fits on a side of the sensor, shape (...): sensor / m; raises `OutsideModel`. [mm]

    Examples
    --------
    >>> float(field_size(17.5, 0.25))
    70.0
    """
    m = positive("magnification", magnification, "x")
    return np.asarray(positive("sensor_mm", sensor_mm, "mm") / m, np.float64)


def size_in_frame(length_mm: ArrayLike, magnification: ArrayLike, sensor_mm: ArrayLike) -> NDArray[np.float64]:
    """Return the length of a thing's picture over the side of the sensor along it, above 1 where it does not fit.

    Parameters
    ----------
    length_mm, magnification, sensor_mm : array_like, shape (...)
        Of the thing, in its plane, and of the side. [mm]

    Raises
    ------
    OutsideModel
        If length or magnification is negative, or the sensor not positive.
    """
    picture = not_negative("length_mm", length_mm, "mm") * not_negative("magnification", magnification, "x")
    return np.asarray(picture / positive("sensor_mm", sensor_mm, "mm"), np.float64)


def magnification_for_size(share: ArrayLike, length_mm: ArrayLike, sensor_mm: ArrayLike) -> NDArray[np.float64]:
    """Return the magnification at which a thing fills a share of the side of the sensor along it.

    Parameters
    ----------
    share, length_mm, sensor_mm : array_like, shape (...)
        Wanted size in the frame, the thing's length and the side. [1, mm, mm]

    Raises
    ------
    OutsideModel
        If one is not positive.

    Examples
    --------
    >>> round(float(magnification_for_size(0.5, 70, 17.5)), 3)
    0.125
    """
    picture = positive("share", share, "of the frame") * positive("sensor_mm", sensor_mm, "mm")
    return np.asarray(picture / positive("length_mm", length_mm, "mm"), np.float64)


def distance_for_size(
    share: ArrayLike, length_mm: ArrayLike, sensor_mm: ArrayLike, focal_length: ArrayLike
) -> NDArray[np.float64]:
    """Return the distance from the front principal plane at which a thing has a size in the frame. [mm]

    Parameters and errors are those of `magnification_for_size` and `focus_distance_for`.
    """
    return focus_distance_for(focal_length, magnification_for_size(share, length_mm, sensor_mm))
