"""Waiting with a model: a steady chance at every moment, or one that rises or falls while you wait."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import chdtri, ndtri

from stillwing.errors import InputError
from stillwing.review.survival import Chance, check_confidence, waits

__all__ = ["Exponential", "Limits", "Weibull", "aic_gain", "fit_exponential", "fit_weibull"]

SHORTEST_S = 0.001
"""Taps are kept to the millisecond; the Weibull model knows no interval of nothing."""


@dataclass(frozen=True, slots=True)
class Limits:
    """A figure with its interval."""

    likely: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Exponential:
    """A steady chance: what has been waited says nothing of what is still to wait."""

    rate_per_s: Limits
    n_happened: int
    total_s: float
    """Of all intervals, those cut off too."""

    @property
    def log_likelihood(self) -> float:
        """Natural logarithm of the density of what was seen, at the likely rate."""
        if not self.n_happened:
            return 0.0
        return self.n_happened * (math.log(self.rate_per_s.likely) - 1.0)

    def chance_by(self, t_s: float) -> Chance:
        """Return the chance that it happens within ``t_s``, with its interval."""
        likely, low, high = (
            -math.expm1(-rate * t_s) for rate in (self.rate_per_s.likely, self.rate_per_s.low, self.rate_per_s.high)
        )
        return Chance(likely, low, high)


@dataclass(frozen=True, slots=True)
class Weibull:
    """A chance that changes while you wait: S(t) = exp(-(t / scale)^shape)."""

    shape: Limits
    """Below 1 the chance falls with waiting, above 1 it rises."""
    scale_s: Limits
    """Time by which 63 % have happened."""
    log_likelihood: float


def fit_exponential(lengths_s: ArrayLike, has_happened: ArrayLike, *, confidence: float = 0.95) -> Exponential:
    r"""Return the steady rate of what was waited for, with an exact interval.

    Parameters
    ----------
    lengths_s : array_like, shape (m,)
        How long each interval was, or was seen to be; together more than nothing. [s]
    has_happened : array_like of bool, shape (m,)
        Whether what was waited for was seen; else the interval was cut off.
    confidence : float, default 0.95
        That the interval holds the rate.

    Raises
    ------
    InputError
        If there are no intervals, all are of nothing, or as `kaplan_meier` refuses them.

    Notes
    -----
    .. math:: \hat\lambda = d / T, \quad
              \frac{\chi^2_{\alpha/2}(2d)}{2T} \le \lambda \le \frac{\chi^2_{1-\alpha/2}(2d + 2)}{2T}

    with :math:`d` seen in :math:`T` of waiting [1]_. Exact where the waiting was cut off by the clock, as it is when
    one watches from arrival to departure; else on the safe side. With none seen the upper end is one-sided,
    :math:`-\ln(\alpha) / T`: at 95 % the rule of three, 3/T [2]_.

    References
    ----------
    .. [1] B. Epstein and M. Sobel, "Life testing", J. Am. Stat. Assoc. 48 (1953) 486-502; from memory.
    .. [2] J. A. Hanley and A. Lippman-Hand, "If nothing goes wrong, is everything all right?", JAMA 249 (1983)
       1743-1745.

    Examples
    --------
    >>> rate = fit_exponential([4, 9, 6, 12, 7], [True, True, False, True, True]).rate_per_s
    >>> round(rate.likely, 3), round(rate.low, 3), round(rate.high, 3)
    (0.105, 0.029, 0.27)
    """
    lengths, happened = waits(lengths_s, has_happened)
    check_confidence(confidence)
    total, n_happened = float(lengths.sum()), int(happened.sum())
    if total <= 0.0:
        raise InputError("nobody waited at all; a rate needs some waiting, seen to its end or not")
    low, high = count_limits(n_happened, confidence)
    return Exponential(Limits(n_happened / total, low / total, high / total), n_happened, total)


def count_limits(n: int, confidence: float) -> tuple[float, float]:
    """Return the exact interval of the mean of a Poisson count; one-sided where nothing was counted.

    References
    ----------
    .. [1] F. Garwood, "Fiducial limits for the Poisson distribution", Biometrika 28 (1936) 437-442; from memory.
    """
    alpha = 1.0 - confidence
    if n == 0:
        return 0.0, -math.log(alpha)
    return float(chdtri(2 * n, 1 - alpha / 2)) / 2, float(chdtri(2 * n + 2, alpha / 2)) / 2


def fit_weibull(lengths_s: ArrayLike, has_happened: ArrayLike, *, confidence: float = 0.95) -> Weibull:
    """Return the Weibull model of greatest likelihood; takes two seconds the first time, to load its library.

    Parameters
    ----------
    lengths_s, has_happened, confidence
        As of `fit_exponential`; an interval shorter than a millisecond counts as one.

    Raises
    ------
    InputError
        If fewer than two intervals of different lengths were seen to their end: then any shape fits.

    Notes
    -----
    The intervals are those of the large-sample normal distribution of log shape and log scale: with few intervals they
    are too narrow (docs/waiting.md tells how often they hold).
    """
    lengths, happened = waits(lengths_s, has_happened)
    check_confidence(confidence)
    lengths = np.maximum(lengths, SHORTEST_S)
    if np.unique(lengths[happened]).size < 2:
        raise InputError(
            "fewer than two different lengths were seen to their end; the shape of waiting cannot be told from that"
        )
    from lifelines import WeibullFitter  # two seconds, which nobody pays who does not ask for this model

    # In units of the mean time the search starts near its end, whatever the animal.
    unit_s = float(lengths.sum() / happened.sum())
    fitted = WeibullFitter().fit(lengths / unit_s, happened)
    z = float(ndtri(0.5 + confidence / 2))
    errors = np.sqrt(np.diag(fitted.variance_matrix_.to_numpy()))
    scale, shape = float(fitted.lambda_), float(fitted.rho_)
    return Weibull(
        shape=_log_limits(shape, z * float(errors[1])),
        scale_s=_log_limits(scale * unit_s, z * float(errors[0]) * unit_s),
        log_likelihood=float(fitted.log_likelihood_) - int(happened.sum()) * math.log(unit_s),
    )


def aic_gain(exponential: Exponential, weibull: Weibull) -> float:
    """Return by how much the Weibull model's AIC is lower, its second parameter paid for; negative: it is no better.

    A difference below 2 tells little, one above 10 tells much.

    References
    ----------
    .. [1] H. Akaike, "A new look at the statistical model identification", IEEE Trans. Autom. Control 19 (1974)
       716-723; K. P. Burnham and D. R. Anderson, Model Selection and Multimodel Inference (2002); both from memory.
    """
    return 2.0 * (weibull.log_likelihood - exponential.log_likelihood) - 2.0


def _log_limits(likely: float, wide: float) -> Limits:
    return Limits(likely, likely * math.exp(-wide / likely), likely * math.exp(wide / likely))
