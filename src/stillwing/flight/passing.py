"""Where a path goes through the focal plane, and at which angle to it."""

import numpy as np
from numpy.typing import NDArray

__all__ = ["angle_to_plane", "crossing_frames", "passages"]

Reals = NDArray[np.float64]


def crossing_frames(offset_mm: Reals, clear_mm: float) -> Reals:
    """Return at which frame, in fractions, each path goes through the focal plane; NaN where it does not.

    Parameters
    ----------
    offset_mm : ndarray, shape (n_draws, n)
        Paths along the line of sight, the focal plane at nothing. [mm]
    clear_mm : float
        A path has gone through when it has been this far off on one side, and then on the other. [mm]

    Returns
    -------
    ndarray, shape (n_draws,)
        Of the first passage, by straight lines between frames.

    Examples
    --------
    >>> float(crossing_frames(np.array([[-30.0, -10.0, 30.0]]), 20.0)[0])
    1.25
    """
    out = np.full(len(offset_mm), np.nan)
    for row, path in enumerate(offset_mm):
        clear = np.flatnonzero(np.abs(path) >= clear_mm)
        turns = np.flatnonzero(np.diff(np.sign(path[clear])))
        if not len(turns):
            continue
        first, last = clear[turns[0]], clear[turns[0] + 1]
        within = path[first : last + 1]
        # The last change of sign on the way: before it the animal may have gone to and fro in the plane.
        step = int(np.flatnonzero(np.diff(np.signbit(within)))[-1])
        before, after = within[step], within[step + 1]
        out[row] = first + step + before / (before - after)
    return out


def passages(path_mm: Reals, clear_mm: float) -> int:
    """Return how often a path, shape (n,), goes from one side of the plane to the other, clear of it each time.

    Examples
    --------
    >>> passages(np.array([-30.0, 30.0, -5.0, 30.0, -30.0]), 20.0)
    2
    """
    clear = path_mm[np.abs(path_mm) >= clear_mm]
    return int(np.count_nonzero(np.diff(np.signbit(clear))))


def angle_to_plane(across_mm: Reals, away_mm: Reals) -> Reals:
    """Return the angle of ways to the focal plane, shape (...): 90 straight towards the lens, -90 away from it. [deg]

    Parameters
    ----------
    across_mm, away_mm : ndarray, shape (...)
        Length in the plane, and way along the line of sight, positive away from the lens. [mm]

    Examples
    --------
    >>> round(float(angle_to_plane(np.array(100.0), np.array(-100.0))))
    45
    """
    return np.asarray(np.degrees(np.arctan2(-away_mm, across_mm)), np.float64)
