"""What own outings taught the plan: how much of the sharpness that the optics allow one's own bursts had."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["OPTICS_ALONE", "OwnShare", "own_words"]

OPTICS_ALONE = "all that the optics allow; no burst of your own outings is counted in it"


@dataclass(frozen=True, slots=True)
class OwnShare:
    """Bursts of one's own with a sharp frame, over those that the chain expects of the settings they were taken at.

    The field book's bursts teach it (`stillwing.review.keepershare`); the plan only takes it.
    """

    likely: float
    """1 where one's own bursts are as often sharp as expected."""
    low: float
    high: float
    """Ends of the 95 % interval."""
    n_bursts: int
    n_outings: int
    n_left_out: int = 0
    """Bursts that tell too little to be held against the chain."""

    def of(self, sharp: ArrayLike) -> NDArray[np.float64]:
        """Return chances of a sharp picture as one's own outings have them, shape (...), never above 1.

        Examples
        --------
        >>> OwnShare(0.7, 0.5, 0.9, 212, 9).of([0.0, 0.5, 1.0]).round(2).tolist()
        [0.0, 0.35, 0.7]
        """
        return np.minimum(1.0, self.likely * np.asarray(sharp, np.float64))


def own_words(own: OwnShare | None) -> str:
    """Return where the plan's sharpness comes from, to stand after "Sharpness:".

    Examples
    --------
    >>> own_words(OwnShare(0.7, 0.5, 0.9, 212, 9))
    'from 212 bursts of 9 outings of your own: 0.70 of what the optics allow, 0.50 to 0.90'
    """
    if own is None:
        return OPTICS_ALONE
    bursts, outings = _counted(own.n_bursts, "burst"), _counted(own.n_outings, "outing")
    left = (
        f"; {_counted(own.n_left_out, 'burst')} left out, of which animal, moment, setting or kit is not known"
        if own.n_left_out
        else ""
    )
    return (
        f"from {bursts} of {outings} of your own: {own.likely:.2f} of what the optics allow, "
        f"{own.low:.2f} to {own.high:.2f}{left}"
    )


def _counted(n: int, thing: str) -> str:
    return f"{n} {thing}" if n == 1 else f"{n} {thing}s"
