"""Waiting with a model: a steady chance at every moment, or one that rises or falls while you wait."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.special import chdtri, stdtrit

from stillwing.errors import InputError
from stillwing.review.survival import Chance, Flags, Reals, check_confidence, waits

__all__ = ["Exponential", "Limits", "Weibull", "aic_gain", "count_limits", "fit_exponential", "fit_weibull"]

WIDEST = 600.0
"""Logarithm of the largest factor that is reckoned with."""
SHORTEST_S = 0.001
"""Taps are kept to the millisecond; the Weibull model knows no interval of nothing."""
SAME = 1e-9
"""Logarithms of lengths nearer than this are of one length; a millisecond in two hours is 1e-7."""


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
    :math:`-\ln(\alpha) / T`: at 95 % the rule of three, 3/T [2]_; where some three were to be expected the interval
    then holds 93.8 %.

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
    r"""Return the Weibull model of greatest likelihood.

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
    The likely shape :math:`k` solves, over all intervals :math:`t` and with :math:`D` those seen to their end,

    .. math:: \frac{1}{k} + \overline{\ln t}_D = \frac{\sum t^k \ln t}{\sum t^k}, \quad
              \text{then} \quad \text{scale}^k = \frac{1}{d} \sum t^k

    whose left side less the right only falls with :math:`k`, so that there is one answer [1]_. The intervals are those
    of log shape and log scale from the observed information, with Student's distribution of :math:`d - 1` degrees of
    freedom in place of the normal one: our choice, because the normal one held 81 % where it said 90 % with 8
    intervals, and this one 88 % (`benchmarks/waiting.py`; docs/waiting.md has more).

    References
    ----------
    .. [1] J. F. Lawless, Statistical Models and Methods for Lifetime Data (1982), chapter 4; from memory.

    Examples
    --------
    >>> shape = fit_weibull([4, 9, 6, 12, 7], [True, True, False, True, True]).shape
    >>> round(shape.likely, 2), round(shape.low, 2), round(shape.high, 2)
    (3.31, 0.98, 11.21)
    """
    lengths, happened = waits(lengths_s, has_happened)
    check_confidence(confidence)
    log_t = np.log(np.maximum(lengths, SHORTEST_S))
    if happened.sum() < 2 or np.ptp(log_t[happened]) < SAME:
        raise InputError(
            "fewer than two different lengths were seen to their end; the shape of waiting cannot be told from that"
        )
    n = int(happened.sum())
    longest = float(log_t.max())
    k = _likely_shape(log_t - longest, happened)
    log_scale = longest + math.log(float(np.exp(k * (log_t - longest)).sum()) / n) / k
    z = k * (log_t - log_scale)
    # The observed information of log scale and log shape, inverted by hand; the sum of exp(z) is n.
    first, second = float((z * np.exp(z)).sum()), float((z**2 * np.exp(z)).sum())
    determinant = n * (n + second) - first**2
    wide = float(stdtrit(n - 1, 0.5 + confidence / 2))
    return Weibull(
        shape=_log_limits(k, wide * math.sqrt(n / determinant)),
        scale_s=_log_limits(math.exp(log_scale), wide * math.sqrt((n + second) / determinant) / k),
        log_likelihood=n * (math.log(k) - 1.0) + float((z - log_t)[happened].sum()),
    )


def _likely_shape(log_t: Reals, happened: Flags) -> float:
    """Return the shape of greatest likelihood from logarithms of lengths, of which the greatest is 0."""
    mean = float(log_t[happened].mean())

    def slope(shape: float) -> float:
        weight = np.exp(shape * log_t)
        return 1.0 / shape + mean - float((weight * log_t).sum() / weight.sum())

    low = high = 1.0
    while slope(low) < 0.0:
        low /= 2.0
    while slope(high) > 0.0:
        high *= 2.0
    return low if low == high else float(brentq(slope, low, high))


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
    # With two lengths seen an interval may be wider than numbers go.
    return Limits(likely, likely * math.exp(-wide), likely * math.exp(min(wide, WIDEST)))
