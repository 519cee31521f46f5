"""Other intervals of the share of frames kept, that the one of stillwing is held against; all of 95 %."""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta, chi2, t

Reals = NDArray[np.float64]
Counts = NDArray[np.int64]
Ends = tuple[float, float]

N_RATES, N_SAMENESS, MOST_FRAMES = 160, 24, 40
RATES = np.sin((np.arange(N_RATES) + 0.5) * (np.pi / 2 / N_RATES)) ** 2
EVEN = (np.arange(N_SAMENESS) + 0.5) / N_SAMENESS


def frames_alone(frames: Counts, kept: Counts) -> Ends:
    """Clopper and Pearson's, as if every frame were a burst of its own."""
    return _exact(int(kept.sum()), int(frames.sum()))


def sandwich(frames: Counts, kept: Counts) -> Ends:
    """Log-odds with the variance between bursts and Student's t; the rule of three where none or all were kept."""
    share, error = _ratio(frames, kept)
    n = frames.size
    if share in (0.0, 1.0):
        open_end = 1.0 - 0.05 ** (1.0 / n)
        return (0.0, open_end) if share == 0.0 else (1.0 - open_end, 1.0)
    middle, wide = np.log(share / (1 - share)), t.ppf(0.975, n - 1) * error / (share * (1 - share))
    return float(1 / (1 + np.exp(-(middle - wide)))), float(1 / (1 + np.exp(-(middle + wide))))


def effective_size(frames: Counts, kept: Counts) -> Ends:
    """Clopper and Pearson's of an effective number of frames from the variance between bursts (Korn and Graubard)."""
    share, error = _ratio(frames, kept)
    total, n = float(frames.sum()), frames.size
    plain = share * (1 - share) / total
    worth = total / max(1.0, error**2 / plain) if plain > 0 else float(n)
    worth *= (1.959964 / t.ppf(0.975, n - 1)) ** 2
    return _exact(share * worth, worth)


def profile(frames: Counts, kept: Counts) -> Ends:
    """Return the beta-binomial model's, by its profile likelihood."""
    best = _log_likelihood(frames, kept).max(1)
    inside = RATES[best >= best.max() - chi2.ppf(0.95, 1) / 2]
    step = np.pi / 2 / N_RATES
    angles = np.arcsin(np.sqrt(inside[[0, -1]])) + np.array([-0.5, 0.5]) * step
    return float(np.sin(angles[0]) ** 2), float(np.sin(angles[1]) ** 2)


def beta_binomial(frames: Counts, kept: Counts) -> Ends:
    """Return the beta-binomial model's, under even priors, the sameness averaged out."""
    likelihood = _log_likelihood(frames, kept)
    weight = np.exp(likelihood - likelihood.max()).sum(1)
    below = np.append(0.0, np.cumsum(weight)) / weight.sum()
    edges = np.arange(N_RATES + 1) * (np.pi / 2 / N_RATES)
    low, high = (float(np.sin(np.interp(chance, below, edges)) ** 2) for chance in (0.025, 0.975))
    return 0.0 if kept.sum() == 0 else low, 1.0 if kept.sum() == frames.sum() else high


OTHERS = {
    "frames alone": frames_alone,
    "sandwich": sandwich,
    "effective size": effective_size,
    "beta-binomial profile": profile,
    "beta-binomial Bayes": beta_binomial,
}


def _exact(kept: float, n: float) -> Ends:
    low = 0.0 if kept <= 0 else float(beta.ppf(0.025, kept, n - kept + 1))
    return low, 1.0 if kept >= n else float(beta.ppf(0.975, kept + 1, n - kept))


def _ratio(frames: Counts, kept: Counts) -> tuple[float, float]:
    share = float(kept.sum() / frames.sum())
    squares = float(((kept - share * frames) ** 2).sum())
    return share, float(np.sqrt(squares * frames.size / (frames.size - 1))) / float(frames.sum())


def _log_likelihood(frames: Counts, kept: Counts) -> Reals:
    on, off, all_ = _tables()
    j = np.arange(MOST_FRAMES)
    above = [(counts[:, None] > j).sum(0).astype(float) for counts in (kept, frames - kept, frames)]
    return (above[0] @ on + above[1] @ off - above[2] @ all_).reshape(N_RATES, N_SAMENESS)


@lru_cache(maxsize=1)
def _tables() -> tuple[Reals, Reals, Reals]:
    step = np.arange(MOST_FRAMES)[:, None, None] * (EVEN / (1 - EVEN))
    rate = RATES[None, :, None]
    shape = (MOST_FRAMES, N_RATES, N_SAMENESS)
    on, off, all_ = np.log(rate + step), np.log(1 - rate + step), np.log(np.broadcast_to(1 + step, shape))
    return on.reshape(MOST_FRAMES, -1), off.reshape(MOST_FRAMES, -1), all_.reshape(MOST_FRAMES, -1)
