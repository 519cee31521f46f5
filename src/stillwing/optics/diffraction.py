"""Diffraction at a round aperture."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["GREEN_MM", "airy_diameter", "airy_sigma"]

GREEN_MM = 0.00055
"""Wavelength of green light, the eye's and the sensor's middle. [mm]"""


def airy_diameter(f_number: ArrayLike, wavelength: float = GREEN_MM) -> NDArray[np.float64]:
    """Return the diameter of the first dark ring: 2.44 lambda N, with N the working f-number. [mm]"""
    return np.asarray(2.44 * wavelength * np.asarray(f_number, np.float64), np.float64)


def airy_sigma(f_number: ArrayLike, wavelength: float = GREEN_MM) -> NDArray[np.float64]:
    r"""Return the standard deviation of the Gaussian that stands for the Airy pattern. [mm]

    Notes
    -----
    The pattern itself has no variance (its wings fall as r^-3). The Gaussian of equal contrast at half modulation has
    :math:`\sigma = 0.46 \lambda N`, that of equal volume and peak :math:`\sqrt 2 / \pi\, \lambda N = 0.45 \lambda N`,
    which is used.

    Examples
    --------
    >>> round(float(airy_sigma(8.0)) * 1000, 2)      # micrometres
    1.98
    """
    return np.asarray(np.sqrt(2) / np.pi * wavelength * np.asarray(f_number, np.float64), np.float64)
