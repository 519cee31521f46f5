"""Whether an animal comes back at all, and how soon: what is known of it after so many absences, for any time gone.

The chance of a return falls while one waits, although those animals that do come back come at a steady rate: the longer
it is gone, the more likely it is one of those that went for good.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError
from stillwing.review.intervals import End
from stillwing.review.survival import waits

__all__ = ["Returns", "learn_returns"]

N_GRID = 64
"""Points of the grid in either direction; 256 move no chance by 0.002 (`tests/review/test_returns.py`)."""
REACH = 6.0
"""Half the width of the grid, in standard deviations of the logarithm of the rate."""
SHORTEST_S = 0.001
"""Taps are kept to the millisecond."""

Reals = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Returns:
    """What is known of the returns of one animal: a grid of how often and how fast, each point with its weight."""

    n_returned: int
    n_elsewhere: int
    n_cut_off: int
    share_back: Reals
    """Share of absences that end in a return, shape (n, 1)."""
    rate_per_s: Reals
    """Rate at which those that come back do so, shape (1, n)."""
    weight: Reals
    """How likely each is, adding up to 1, shape (n, n)."""

    def chance_back(self, gone_s: ArrayLike) -> Reals:
        """Return the chance that it comes back at all, once it has been gone for ``gone_s``, shape (...)."""
        still, coming = self._still_gone(gone_s)
        return np.asarray(coming.sum((-2, -1)) / still, np.float64)

    def hazard_per_s(self, gone_s: ArrayLike) -> Reals:
        """Return the chance of a return in the next moment, per second, shape (...)."""
        still, coming = self._still_gone(gone_s)
        return np.asarray((coming * self.rate_per_s).sum((-2, -1)) / still, np.float64)

    def _still_gone(self, gone_s: ArrayLike) -> tuple[Reals, Reals]:
        """Return how likely it is still gone, and the parts of that in which it will come back."""
        gone = np.asarray(gone_s, np.float64)[..., None, None]
        coming = self.weight * self.share_back * np.exp(-self.rate_per_s * gone)
        never = float((self.weight * (1.0 - self.share_back)).sum())
        return np.asarray(coming.sum((-2, -1)) + never), coming


def learn_returns(lengths_s: ArrayLike, ends: Sequence[End]) -> Returns:
    r"""Return what absences tell of the next one.

    Parameters
    ----------
    lengths_s : array_like, shape (m,)
        How long each absence was, or was seen to be. [s]
    ends : sequence of End, length m
        How each ended.

    Raises
    ------
    InputError
        If none ended in a return, lengths and ends do not fit together, or a length is negative or no number.

    Notes
    -----
    A share :math:`p` of absences ends in a return, at a steady rate :math:`\lambda`; the others never do: the cure
    model of Boag [1]_ with Bayes' rule on top. With returns :math:`r_i`, landings elsewhere :math:`E`, and absences
    that somebody stopped watching at :math:`c_j`,

    .. math:: L = p^R \lambda^R e^{-\lambda \sum r_i} (1 - p)^E \prod_j \left[(1 - p) + p\, e^{-\lambda c_j}\right]

    under an even prior of :math:`p` and of :math:`\ln \lambda`. With returns only the chance after :math:`t` is
    :math:`(R + 1) u / ((R + 1) u + 1)`, :math:`u = (T / (T + t))^R`, :math:`T = \sum r_i`.
    Real returns are often more alike than a steady rate has them; then the chance falls later than it should.

    References
    ----------
    .. [1] J. W. Boag, "Maximum likelihood estimates of the proportion of patients cured by cancer therapy", J. R. Stat.
       Soc. B 11 (1949) 15-53; from memory.

    Examples
    --------
    >>> returns = learn_returns([4, 9, 6, 5, 7, 8], [End.HAPPENED] * 6)
    >>> [round(float(each), 2) for each in returns.chance_back([0, 10, 40])]
    [0.87, 0.64, 0.09]
    """
    is_return = np.array([end is End.HAPPENED for end in ends], np.bool_)
    lengths, returned = waits(lengths_s, is_return)
    n_returned = int(returned.sum())
    if n_returned == 0:
        raise InputError("no absence ended in a return; how soon one comes cannot be told from that")
    cut_off = lengths[np.array([end is End.CUT_OFF for end in ends], np.bool_)]
    n_elsewhere = lengths.size - n_returned - cut_off.size
    total_s = max(float(lengths[returned].sum()), SHORTEST_S * n_returned)
    share = ((np.arange(N_GRID) + 0.5) / N_GRID)[:, None]
    reach = REACH / math.sqrt(n_returned)
    log_rate = math.log(n_returned / total_s) + np.linspace(-reach, reach, N_GRID)[None, :]
    rate = np.exp(log_rate)
    log_weight = n_returned * (np.log(share) + log_rate) - rate * total_s + n_elsewhere * np.log1p(-share)
    for length in cut_off:
        log_weight += np.log(1.0 - share + share * np.exp(-rate * length))
    weight = np.exp(log_weight - log_weight.max())
    return Returns(n_returned, n_elsewhere, cut_off.size, share, rate, weight / weight.sum())
