"""How much a view is worth, each between 0 and 1: side shown, light, background. All curves are choices, no source."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.animals.ramps import ramp
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown, share_shown

__all__ = [
    "EVEN_LIGHT",
    "IN_OWN_SHADOW",
    "VIEWS",
    "clean_worth",
    "facing_worth",
    "glitter_worth",
    "light_worth",
    "side_worths",
    "swing_deg",
]

VIEWS: Mapping[Behaviour, Mapping[Shown, float]] = MappingProxyType(
    {
        Behaviour.HOVER: {Shown.FACE: 0.6, Shown.FRONT_QUARTER: 1.0, Shown.FLANK: 0.8, Shown.BACK_QUARTER: 0.2},
        Behaviour.PERCH: {Shown.FACE: 0.4, Shown.FRONT_QUARTER: 0.9, Shown.FLANK: 1.0, Shown.BACK_QUARTER: 0.3},
        Behaviour.TAKE_OFF: {Shown.FACE: 0.3, Shown.FRONT_QUARTER: 0.8, Shown.FLANK: 1.0, Shown.BACK_QUARTER: 0.2},
        Behaviour.LANDING: {Shown.FACE: 0.3, Shown.FRONT_QUARTER: 0.8, Shown.FLANK: 1.0, Shown.BACK_QUARTER: 0.2},
        Behaviour.PASS: {Shown.FACE: 0.6, Shown.FRONT_QUARTER: 1.0, Shown.FLANK: 1.0, Shown.BACK_QUARTER: 0.2},
    }
)
"""What a sharp, well lit picture of each side is worth; the tail nothing. A hover is best from the front quarter, a
launch across the view, which also keeps it in the focal plane (common practice, no source; figures: a choice)."""

STEADY_WIND_M_S, STEADY_SWING_DEG = 4.0, 25.0
"""In a wind of so much, as forecast, an animal swings so far about it (estimate)."""
CALM_SWING_DEG = 180.0
"""Where no wind turns it, an animal may face anywhere."""

FRONT_UP_TO_DEG, BACK_FROM_DEG = 40.0, 130.0
"""Up to the first angle between sun and camera the light counts in full, from the second on as back light."""
BACK_LIGHT = 0.1
EVEN_LIGHT = 0.7
"""Without sun: no hard shadow, but flat."""
IN_OWN_SHADOW = 0.1
"""Your shadow on the animal before a sunlit background."""

BUSY_LENGTHS, CLEAN_LENGTHS = 0.03, 1.0
"""Blur disc of the background in lengths of the animal: up to the first it disturbs most, from the second on it is one
colour."""
BUSY_WORTH = 0.3
GLITTER_SEEN, GLITTER_BURNT = 0.1, 1.0
"""Glitter over a white sheet in the sun: from the first it shows, from the second on it burns out."""
BURNT_WORTH = 0.2


def swing_deg(wind_m_s: ArrayLike) -> NDArray[np.float64]:
    """Return how far animals that face the wind swing about it, a standard deviation, shape (...). [deg]

    Where the wind is not known (NaN) it is that of calm: any side may show.

    Examples
    --------
    >>> swing_deg([0.0, 4.0, float("nan")]).tolist()
    [180.0, 25.0, 180.0]
    """
    steady = np.clip(np.nan_to_num(np.asarray(wind_m_s, np.float64), nan=0.0) / STEADY_WIND_M_S, 0.0, 1.0)
    return np.asarray(CALM_SWING_DEG * (STEADY_SWING_DEG / CALM_SWING_DEG) ** steady, np.float64)


def side_worths(
    turned_deg: ArrayLike, swings_deg: ArrayLike, behaviour: Behaviour, wanted: Shown | None = None
) -> dict[Shown, NDArray[np.float64]]:
    """Return what each side that counts adds to the worth of what shows, shape (...): together at most 1.

    Parameters
    ----------
    turned_deg, swings_deg : array_like, shape (...)
        Mean and standard deviation of where the head points, 0 towards you. [deg]
    behaviour : Behaviour
        Sides are weighed by `VIEWS`.
    wanted : Shown, optional
        The one side that counts, instead.
    """
    worth = VIEWS[behaviour] if wanted is None else {wanted: 1.0}
    return {side: value * share_shown(turned_deg, swings_deg, side) for side, value in worth.items()}


def facing_worth(
    turned_deg: ArrayLike, swings_deg: ArrayLike, behaviour: Behaviour, wanted: Shown | None = None
) -> NDArray[np.float64]:
    """Return the worth of what shows, shape (...): the sum over `side_worths`, whose parameters it has."""
    worths = side_worths(turned_deg, swings_deg, behaviour, wanted)
    return np.asarray(sum(worths.values()), np.float64)


def light_worth(light_angle_deg: ArrayLike) -> NDArray[np.float64]:
    """Return what sunlight from an angle is worth, 0 in front to 180 behind the animal, shape (...).

    Examples
    --------
    >>> light_worth([0, 40, 85, 180]).round(2).tolist()
    [1.0, 1.0, 0.55, 0.1]
    """
    angle = np.asarray(light_angle_deg, np.float64)
    return BACK_LIGHT + (1.0 - BACK_LIGHT) * ramp(angle, BACK_FROM_DEG, FRONT_UP_TO_DEG)


def clean_worth(blur_lengths: ArrayLike) -> NDArray[np.float64]:
    """Return what a background is worth by its blur disc in lengths of the animal, shape (...); NaN stays NaN.

    Examples
    --------
    >>> clean_worth([0.0, 0.03, 0.3, 1.0, 20.0]).round(2).tolist()
    [0.3, 0.3, 0.81, 1.0, 1.0]
    """
    lengths = np.maximum(np.asarray(blur_lengths), 1e-6)
    return BUSY_WORTH + (1.0 - BUSY_WORTH) * ramp(np.log(lengths), np.log(BUSY_LENGTHS), np.log(CLEAN_LENGTHS))


def glitter_worth(glitter: ArrayLike) -> NDArray[np.float64]:
    """Return what is left of a background with glitter so bright over a white sheet, shape (...); NaN stays NaN."""
    bright = np.maximum(np.asarray(glitter, np.float64), 1e-6)
    return BURNT_WORTH + (1.0 - BURNT_WORTH) * ramp(np.log(bright), np.log(GLITTER_BURNT), np.log(GLITTER_SEEN))
