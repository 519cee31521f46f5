"""Smooth curves from 0 to 1 between two thresholds that are themselves only known as ranges."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import Figure

__all__ = ["Chances", "falling", "ramp", "rising"]


class Chances(NamedTuple):
    """A chance between 0 and 1 with its range, each of one shape: everything at its worst, as likely, at its best."""

    low: NDArray[np.float64]
    likely: NDArray[np.float64]
    high: NDArray[np.float64]


def ramp(x: NDArray[np.float64], none: float, full: float) -> NDArray[np.float64]:
    r"""Return 0 at ``none`` and before, 1 at ``full`` and beyond, and smoothly between; NaN stays NaN.

    Notes
    -----
    .. math:: y = t^2 (3 - 2 t), \quad t = (x - none) / (full - none)

    clipped to 0 to 1: half way up in the middle, level at both ends. No source gives the shape of any of the curves,
    only their ends; this is the lowest polynomial that joins both without a corner.

    Examples
    --------
    >>> ramp(np.array([10.0, 12.0, 13.5, 15.0, 20.0]), 12.0, 15.0).tolist()
    [0.0, 0.0, 0.5, 1.0, 1.0]
    """
    t = np.clip((x - none) / (full - none), 0.0, 1.0)
    return np.asarray(t * t * (3.0 - 2.0 * t))


def rising(x: NDArray[np.float64], none: Figure, full: Figure) -> Chances:
    """Return the chance of what needs more of ``x``: it grows from ``none`` to ``full``."""
    return Chances(ramp(x, none.high, full.high), ramp(x, none.likely, full.likely), ramp(x, none.low, full.low))


def falling(x: NDArray[np.float64], full: Figure, none: Figure) -> Chances:
    """Return the chance of what bears less of ``x``: it shrinks from ``full`` to ``none``."""
    return Chances(ramp(x, none.low, full.low), ramp(x, none.likely, full.likely), ramp(x, none.high, full.high))
