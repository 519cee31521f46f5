"""The look-back buffer against a person's reaction: whether the first instant of a take-off is among the frames.

From the take-off a person needs the reaction time, and the camera its release lag; the buffer holds what came before.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import log_ndtr, ndtr

from stillwing.errors import OutsideModel
from stillwing.optics.reals import not_negative, positive, within

__all__ = ["RELEASE_LAG_S", "Reaction", "buffer_for", "chance_of_lead", "frames_before", "reaction_at"]

Reals = NDArray[np.float64]

MEAN_S, AGED_S_PER_YEAR = 0.213, 0.00055
"""Simple reaction to light of 1469 people of 18 to 65, less the delay of the apparatus, and how it rises with age."""
YOUNGEST, OLDEST = 18.0, 90.0
MIDDLE_AGE = 40.0
"""Age at which that mean is taken to hold (a choice; the abstract gives the range only)."""
SIGMA_S, TAU_S = 0.020, 0.040
"""Spread of the ex-Gaussian for simple reactions; from memory, as R. D. Luce, Response Times (1986) has it."""
RELEASE_LAG_S = 0.03
"""From the reaction to the press that the camera takes: travel of the button, electronics (a choice, no source; the lag
that ISO 15781 measures ends with an exposure, and does not cover frames from before the press)."""


@dataclass(frozen=True, slots=True)
class Reaction:
    """Reaction times as an ex-Gaussian: a normal time, and an exponential one after it."""

    mu_s: float
    sigma_s: float
    tau_s: float

    def __post_init__(self) -> None:
        """Refuse what no reaction is; raises `OutsideModel`."""
        for name in ("mu_s", "sigma_s", "tau_s"):
            positive(name, getattr(self, name), "s")
            within(name, getattr(self, name), 0.0, 10.0, "s")

    @property
    def mean_s(self) -> float:
        """Mean reaction time."""
        return self.mu_s + self.tau_s

    def chance_within(self, t_s: ArrayLike) -> Reals:
        r"""Return the chance to have reacted within ``t_s``, shape (...).

        Notes
        -----
        .. math:: F(x) = \Phi(u) - e^{-(x - \mu)/\tau + \sigma^2/2\tau^2}\, \Phi(u - \sigma/\tau), \quad
                  u = (x - \mu)/\sigma

        the integral of the density in R. D. Luce, Response Times (1986); checked against scipy's ``exponnorm``.
        """
        x = np.asarray(t_s, np.float64) - self.mu_s
        u, k = x / self.sigma_s, self.sigma_s / self.tau_s
        # In logarithms, since far below the mean the exponential overflows where its factor is nothing.
        late = np.exp(-x / self.tau_s + k**2 / 2 + log_ndtr(u - k))
        return np.asarray(np.clip(ndtr(u) - late, 0.0, 1.0), np.float64)

    def time_for(self, chance: float) -> float:
        """Return within which time one has reacted with a chance of 0 to 1, both left out. [s]"""
        within("chance", chance, 1e-9, 1 - 1e-9, "")
        latest = self.mu_s + 10 * self.sigma_s - 25 * self.tau_s * np.log(1 - chance) + 10 * self.tau_s
        return float(brentq(lambda t_s: float(self.chance_within(t_s)) - chance, self.mu_s - 10 * self.sigma_s, latest))


def reaction_at(age: float | None = None) -> Reaction:
    """Return the reactions of a rested person who watches for one thing, by age in years.

    Raises
    ------
    OutsideModel
        If the age lies outside 18 to 90; beyond 65 the published line is drawn on.

    Notes
    -----
    The mean is 213 ms, and 0.55 ms more with each year [1]_. Watching for a long time lengthens reactions and lets some
    take-offs pass unseen [2]_: what this tells is the best case.

    References
    ----------
    .. [1] D. L. Woods, J. M. Wyma, E. W. Yund, T. J. Herron and B. Reed, "Factors influencing the latency of simple
       reaction time", Front. Hum. Neurosci. 9 (2015) 131, doi:10.3389/fnhum.2015.00131; abstract.
    .. [2] N. H. Mackworth, "The breakdown of vigilance during prolonged visual search", Q. J. Exp. Psychol. 1 (1948)
       6-21; from memory.

    Examples
    --------
    >>> round(reaction_at().mean_s, 3), round(reaction_at(60).mean_s, 3)
    (0.213, 0.224)
    """
    years = MIDDLE_AGE if age is None else age
    if not YOUNGEST <= years <= OLDEST:  # NaN too
        raise OutsideModel("age", years, YOUNGEST, OLDEST, "years")
    return Reaction(MEAN_S + AGED_S_PER_YEAR * (years - MIDDLE_AGE) - TAU_S, SIGMA_S, TAU_S)


def chance_of_lead(
    look_back_s: ArrayLike, lead_s: float, reaction: Reaction, release_lag_s: float = RELEASE_LAG_S
) -> Reals:
    """Return the chance that the buffer reaches back to ``lead_s`` before the take-off, shape (...).

    Parameters
    ----------
    look_back_s : array_like, shape (...)
        Length of the buffer. [s]
    lead_s : float
        How long before the take-off, with the animal still perched; 0 for the take-off alone. [s]
    reaction : Reaction
    release_lag_s : float, default 0.03
        From the reaction to the press that the camera takes. [s]

    Raises
    ------
    OutsideModel
        If a time is negative.

    Examples
    --------
    >>> round(float(chance_of_lead(0.5, 0.0, reaction_at())), 3)
    0.999
    """
    length = not_negative("look_back_s", look_back_s, "s")
    lead, lag = not_negative("lead_s", lead_s, "s"), not_negative("release_lag_s", release_lag_s, "s")
    return np.where(length > 0.0, reaction.chance_within(length - lead - lag), 0.0)


def buffer_for(chance: float, reaction: Reaction, release_lag_s: float = RELEASE_LAG_S, lead_s: float = 0.0) -> float:
    """Return how long a buffer holds the take-off, and ``lead_s`` before it, with a chance of 0 to 1. [s]

    Raises
    ------
    OutsideModel
        If a time is negative, or the chance not between 0 and 1.

    Examples
    --------
    >>> [round(buffer_for(chance, reaction_at()), 2) for chance in (0.5, 0.9, 0.99)]
    [0.23, 0.3, 0.39]
    """
    lag, lead = not_negative("release_lag_s", release_lag_s, "s"), not_negative("lead_s", lead_s, "s")
    return reaction.time_for(chance) + float(lag) + float(lead)


def frames_before(
    look_back_s: float, frames_per_s: float, chance: float, reaction: Reaction, release_lag_s: float = RELEASE_LAG_S
) -> int:
    """Return how many whole frames from before the take-off the buffer holds with at least this chance.

    Raises
    ------
    OutsideModel
        If a time is negative, the frame rate not more than 0, or the chance not between 0 and 1.
    """
    rate = float(positive("frames_per_s", frames_per_s, "1/s"))
    left_s = float(not_negative("look_back_s", look_back_s, "s")) - buffer_for(chance, reaction, release_lag_s)
    return max(0, int(np.floor(left_s * rate + 1e-9)))
