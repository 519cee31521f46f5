"""How clean the background is: the blur disc of what lies behind the animal, in lengths of the animal."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.focus import blur_disc, blur_disc_at_infinity
from stillwing.optics.framing import magnification
from stillwing.optics.reals import positive

__all__ = ["background_blur"]


def background_blur(
    background_m: ArrayLike,
    animal_m: ArrayLike,
    animal_length_mm: ArrayLike,
    focal_length_mm: ArrayLike,
    f_number: ArrayLike,
) -> NDArray[np.float64]:
    r"""Return the blur disc of the background over the length of the animal, as they lie in the picture, shape (...).

    Parameters
    ----------
    background_m, animal_m : array_like, shape (...)
        From the lens; the background may be inf. [m]
    animal_length_mm : array_like, shape (...)
        Of the body. [mm]
    focal_length_mm, f_number : array_like, shape (...)
        Of the lens. [mm, as engraved]

    Returns
    -------
    ndarray, shape (...)
        From about 1 on, details as large as the animal melt away behind it; NaN where the background's distance is.

    Raises
    ------
    OutsideModel
        If a value is not positive, or the animal not beyond the focal length.

    Notes
    -----
    The disc and the animal grow alike with the magnification, which cancels:
    :math:`(f/N)\,|d - s| / (d\,L)`.

    Examples
    --------
    >>> round(float(background_blur(30, 3, 75, 300, 4)), 2)
    0.9
    """
    behind, at = positive("background_m", background_m, "m") * 1000, positive("animal_m", animal_m, "m") * 1000
    length = positive("animal_length_mm", animal_length_mm, "mm")
    far = np.isinf(behind)
    disc = np.where(
        far,
        blur_disc_at_infinity(at, focal_length_mm, f_number),
        blur_disc(np.where(far, at, behind), at, focal_length_mm, f_number),
    )
    return np.asarray(disc / (magnification(focal_length_mm, at) * length), np.float64)
