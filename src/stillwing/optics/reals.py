"""Numbers as they enter the optics: double precision, any shape, and within what a model covers."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import OutsideModel

__all__ = ["SMALLEST", "not_negative", "positive", "within"]

SMALLEST = 1e-12
"""What counts as more than nothing, in any of the house units."""


def within(name: str, value: ArrayLike, low: float, high: float, unit: str) -> NDArray[np.float64]:
    """Return ``value`` in double precision, refusing what lies outside ``low`` to ``high``.

    Parameters
    ----------
    name, unit : str
        As the error names them.
    value : array_like, shape (...)
        NaN, the mark of what is not known, is let through.
    low, high : float
        Both are allowed.

    Returns
    -------
    ndarray, shape (...)
        Not a copy where ``value`` is in double precision already.

    Raises
    ------
    OutsideModel
        If a value lies outside; the first one is named.
    """
    given = np.asarray(value, np.float64)
    outside = given[(given < low) | (given > high)]
    if outside.size:
        raise OutsideModel(name, float(outside.flat[0]), low, high, unit)
    return given


def positive(name: str, value: ArrayLike, unit: str) -> NDArray[np.float64]:
    """Return ``value``, shape (...), in double precision, refusing nothing and less; raises `OutsideModel`."""
    return within(name, value, SMALLEST, np.inf, unit)


def not_negative(name: str, value: ArrayLike, unit: str) -> NDArray[np.float64]:
    """Return ``value``, shape (...), in double precision, refusing less than nothing; raises `OutsideModel`."""
    return within(name, value, 0.0, np.inf, unit)
