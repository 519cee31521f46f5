"""Diffraction at a round aperture."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.reals import not_negative, positive

__all__ = ["AIRY_FACTOR", "GREEN_MM", "airy_diameter", "airy_mtf", "airy_sigma", "cutoff_frequency"]

GREEN_MM = 0.00055
"""Wavelength of green light, the eye's and the sensor's middle. [mm]"""
AIRY_FACTOR = 2 * 3.8317059702 / np.pi
"""Diameter of the first dark ring in lambda N, 2.43934: twice the first zero of J1 over pi."""


def airy_diameter(f_number: ArrayLike, wavelength: float = GREEN_MM) -> NDArray[np.float64]:
    """Return the diameter of the first dark ring: 2.44 lambda N. [mm]

    Parameters
    ----------
    f_number : array_like, shape (...)
        Working f-number, N (1 + m/p) close up; so in all functions here.
    wavelength : float, default `GREEN_MM`
        In mm.

    Raises
    ------
    OutsideModel
        If f-number or wavelength is not positive; so in all functions here.

    Examples
    --------
    >>> round(float(airy_diameter(8)) * 1000, 3)      # micrometres
    10.733
    """
    return np.asarray(AIRY_FACTOR * _cycle(f_number, wavelength), np.float64)


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
    return np.asarray(np.sqrt(2) / np.pi * _cycle(f_number, wavelength), np.float64)


def cutoff_frequency(f_number: ArrayLike, wavelength: float = GREEN_MM) -> NDArray[np.float64]:
    """Return the frequency from which on nothing is left: 1 / (lambda N). [cycles/mm]

    Examples
    --------
    >>> round(float(cutoff_frequency(8)), 1)
    227.3
    """
    return np.asarray(1 / _cycle(f_number, wavelength), np.float64)


def airy_mtf(frequency: ArrayLike, f_number: ArrayLike, wavelength: float = GREEN_MM) -> NDArray[np.float64]:
    r"""Return the contrast that a perfect lens with a round aperture leaves at a frequency.

    Parameters
    ----------
    frequency : array_like, shape (...)
        On the sensor. [cycles/mm]
    f_number, wavelength
        As in `airy_diameter`.

    Returns
    -------
    ndarray, shape (...)
        1 at frequency 0, falling to 0 at the cutoff and beyond.

    Raises
    ------
    OutsideModel
        If the frequency is negative.

    Notes
    -----
    .. math:: \frac{2}{\pi} \left(\arccos v - v \sqrt{1 - v^2}\right)

    with :math:`v` the frequency over `cutoff_frequency`, for light without coherence [1]_. A square aperture would give
    :math:`1 - v` instead.

    References
    ----------
    .. [1] J. W. Goodman, Introduction to Fourier Optics, 3rd ed. (2005), section 6.3.

    Examples
    --------
    >>> round(float(airy_mtf(0.5 * cutoff_frequency(8), 8)), 4)
    0.391
    """
    v = np.minimum(not_negative("frequency", frequency, "cycles/mm") * _cycle(f_number, wavelength), 1.0)
    return np.asarray(2 / np.pi * (np.arccos(v) - v * np.sqrt(1 - v * v)), np.float64)


def _cycle(f_number: ArrayLike, wavelength: float) -> NDArray[np.float64]:
    """Return lambda N, the length of the finest cycle. [mm]"""
    return np.asarray(positive("f_number", f_number, "(f/N)") * positive("wavelength", wavelength, "mm"), np.float64)
