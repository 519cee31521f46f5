"""How wide a picture may be shown before a blur in it is seen, and how much blur a width hides."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.spread import PIXEL_VARIANCE

__all__ = ["SHARP_LIMIT_PX", "blur_limit", "usable_width"]

SHARP_LIMIT_PX = 0.85
"""Largest blur, in pixels of the picture as it is shown, that still looks sharp.

The middle of two derived bounds. Below 0.70 px a round Gaussian passes more than 9 % contrast (Rayleigh's criterion as
contrast) at the finest detail that pixels hold, so more sharpness would hardly show; at 1.0 px two lines two pixels
apart, the closest that pixels can part, merge into one (Sparrow's criterion: separation of two standard deviations).
That the middle is the right place to stop is common practice, no source.
"""

SPREAD_SHOWN = SHARP_LIMIT_PX**2 - PIXEL_VARIANCE
"""Variance that is left for everything but the shown pixel. [px^2]"""


def usable_width(blur_px: ArrayLike, frame_width_px: ArrayLike) -> NDArray[np.float64]:
    """Return the widest picture of the whole frame that still looks sharp with this blur. [px]

    Parameters
    ----------
    blur_px : array_like, shape (...)
        Blur on the animal in the original, pixel included. [px]
    frame_width_px : array_like, shape (...)
        Width of the original. [px]

    Returns
    -------
    ndarray, shape (...)
        At most ``frame_width_px``; NaN where the blur is NaN.

    Notes
    -----
    Reducing by averaging, w pixels from W, scales the point spread and brings in the larger pixel's own box:
    out^2 = (w/W)^2 (blur^2 - 1/12) + 1/12, variances adding. The width is where out = `SHARP_LIMIT_PX`.

    Examples
    --------
    >>> round(float(usable_width(3.0, 5184)))
    1388
    """
    spread = np.asarray(blur_px, np.float64) ** 2 - PIXEL_VARIANCE
    share = np.sqrt(SPREAD_SHOWN / np.maximum(spread, SPREAD_SHOWN))
    return np.asarray(np.asarray(frame_width_px, np.float64) * share, np.float64)


def blur_limit(shown_width_px: ArrayLike, frame_width_px: ArrayLike) -> NDArray[np.float64]:
    """Return the largest blur in the original that a picture of the whole frame that wide hides. [px]

    Examples
    --------
    >>> round(float(blur_limit(2592, 5184)), 2)
    1.62
    """
    scale = np.asarray(shown_width_px, np.float64) / np.asarray(frame_width_px, np.float64)
    return np.asarray(np.sqrt(SPREAD_SHOWN / scale**2 + PIXEL_VARIANCE), np.float64)
