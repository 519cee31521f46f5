"""Bursts drawn from known laws: how the rates of bursts lie about their mean, with the sameness asked for."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

Reals = NDArray[np.float64]
Counts = NDArray[np.int64]

FEWEST_FRAMES, MOST_FRAMES = 4, 40
_POINTS, _MASS = np.polynomial.hermite_e.hermegauss(101)


def draw_bursts(
    rng: np.random.Generator, law: str, rate: float, sameness: float, n_bursts: int, n_frames: int = 0
) -> tuple[Counts, Counts]:
    """Return frames and keepers of some bursts; of 4 to 40 frames where no number is given."""
    frames = rng.integers(FEWEST_FRAMES, MOST_FRAMES + 1, n_bursts) if n_frames == 0 else np.full(n_bursts, n_frames)
    return frames, rng.binomial(frames, LAWS[law](rng, rate, sameness, n_bursts))


def _beta(rng: np.random.Generator, rate: float, sameness: float, n: int) -> Reals:
    worth = (1.0 - sameness) / sameness
    return rng.beta(rate * worth, (1.0 - rate) * worth, n)


def _two_point(rng: np.random.Generator, rate: float, sameness: float, n: int) -> Reals:
    """Bursts that missed the animal give nothing, the others all have one rate."""
    good = rate + sameness * (1.0 - rate)
    return good * (rng.random(n) < rate / good)


def _logit_normal(rng: np.random.Generator, rate: float, sameness: float, n: int) -> Reals:
    middle, spread = _logit_moments(rate, sameness)
    return 1.0 / (1.0 + np.exp(-(middle + spread * rng.standard_normal(n))))


def _logit_moments(rate: float, sameness: float) -> tuple[float, float]:
    """Return middle and spread of the log-odds that give a mean rate and a sameness."""
    mass = _MASS / _MASS.sum()

    def off(middle_and_log_spread: Reals) -> list[float]:
        rates = 1.0 / (1.0 + np.exp(-(middle_and_log_spread[0] + np.exp(middle_and_log_spread[1]) * _POINTS)))
        mean = float(mass @ rates)
        return [np.log(mean / rate), np.log((float(mass @ rates**2) - mean**2) / (sameness * rate * (1.0 - rate)))]

    for spread in (0.5, 1.0, 2.0, 3.0, 4.0):
        found = root(off, [np.log(rate / (1.0 - rate)) * (1.0 + spread / 4.0), np.log(spread)])
        if found.success:
            return float(found.x[0]), float(np.exp(found.x[1]))
    raise ValueError(f"no logit-normal law has a mean of {rate:g} and a sameness of {sameness:g}")


LAWS: dict[str, Callable[[np.random.Generator, float, float, int], Reals]] = {
    "beta": _beta,
    "logit-normal": _logit_normal,
    "two-point": _two_point,
}
