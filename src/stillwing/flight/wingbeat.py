"""How often the wings beat, from what rises and falls with them; and what the frame rate cannot tell apart."""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.optics.subject import Range

__all__ = ["BEATS_HZ", "Untold", "Wingbeat", "wingbeat"]

Reals = NDArray[np.float64]

BEATS_HZ = (5.0, 250.0)
"""From large birds to hoverflies."""
FEWEST_FRAMES = 10
CHANCE_BY_LUCK = 0.01
"""A peak that noise alone would reach more often is not believed."""
AS_LIKELY = 2.0
"""Frequencies whose log likelihood falls short of the best by no more than this are not told apart (odds of 7 to 1)."""
FINER = 8
"""Steps of the search for each width of a peak, one over the length of the burst."""
MOST_STEPS = 400_000
PHASE_LOST = 0.16
"""Periods by which a moment may err, as a standard deviation: one radian."""
LEVEL = 1.75
"""Half of a 90 % interval in standard deviations: 1.645, widened because the noise is estimated too (tests hold it)."""


class Untold(StrEnum):
    """Why there is no frequency."""

    TOO_FEW = "too few frames"
    NO_RHYTHM = "nothing rises and falls more regularly than noise would"
    CLOCK = "the moments of the frames are not known well enough"


@dataclass(frozen=True, slots=True)
class Wingbeat:
    """What the burst tells of the wingbeat."""

    candidates_hz: tuple[Range, ...]
    """Every frequency that would show alike, each with its 90 % interval, rising; empty where none can be told."""
    chance_by_luck: float
    """Chance that noise alone gives a rhythm as strong."""
    why_none: Untold | None

    @property
    def hz(self) -> Range | None:
        """The frequency, where the burst leaves one alone."""
        return self.candidates_hz[0] if len(self.candidates_hz) == 1 else None


def wingbeat(
    times_s: Reals, rhythm: Reals, clock_sd_s: float = 0.0, between_hz: tuple[float, float] = BEATS_HZ
) -> Wingbeat:
    r"""Return the frequencies that a series allows.

    Parameters
    ----------
    times_s, rhythm : ndarray, shape (n,)
        Moments, and what rises and falls with the wings: size, area of the outline, blur; NaN is left out. [s, any]
    clock_sd_s : float, default 0
        Error of the moments, as a standard deviation. [s]
    between_hz : (float, float)
        Frequencies that come into question. [Hz]

    Raises
    ------
    InputError
        If the series differ in length, or the frequencies do not rise from more than 0.

    Notes
    -----
    A sine is fitted at each frequency beside a mean, a slope and a curve (the generalised periodogram [1]_). Frames
    that come every :math:`1/r` seconds show :math:`f`, :math:`r - f`, :math:`r + f` and so on alike; all of those that
    come into question are named. A rhythm slower than the wings, such as a turn of the body, is folded like the rest:
    at an even frame rate it cannot be told from a wingbeat. The chance by luck counts one and a half independent
    frequencies for each frame (tests/flight/test_wingbeat.py holds it against noise).

    References
    ----------
    .. [1] M. Zechmeister and M. Kürster, "The generalised Lomb-Scargle periodogram", Astron. Astrophys. 496 (2009) 577.
    """
    low, high = between_hz
    if times_s.shape != rhythm.shape:
        raise InputError(f"{len(times_s)} moments were given for {len(rhythm)} figures; there must be one for each")
    if not 0 < low < high < math.inf:
        raise InputError(f"frequencies from {low:g} to {high:g} Hz were given; they must rise from more than 0")
    known = np.isfinite(times_s) & np.isfinite(rhythm)
    t, y = times_s[known], rhythm[known]
    if len(t) < FEWEST_FRAMES or np.ptp(t) == 0:
        return Wingbeat((), 1.0, Untold.TOO_FEW)
    if clock_sd_s * low > PHASE_LOST:
        return Wingbeat((), 1.0, Untold.CLOCK)
    span = float(np.ptp(t))
    told_to = min(high, PHASE_LOST / clock_sd_s) if clock_sd_s > 0 else high
    step = max(1 / (FINER * span), (told_to - low) / MOST_STEPS)
    grid = np.arange(low, told_to + step, step)
    left, rest = _explained(t, y, grid)
    dof = len(t) - 5
    # Scaled to the noise about the best fit: what one more sine takes away beyond its two degrees of freedom.
    noise = max(rest - left.max(), 1e-300 + 1e-12 * rest) / dof
    best = int(np.argmax(left))
    luck = _luck(float(left[best]) / max(rest, 1e-300), len(t))
    if rest <= 0 or luck > CHANCE_BY_LUCK:
        return Wingbeat((), luck, Untold.NO_RHYTHM)
    logs = left / (2 * noise)
    peaks = _peaks(logs)
    chosen = [k for k in peaks if logs[k] >= logs[best] - AS_LIKELY]
    return Wingbeat(tuple(_interval(grid, logs, k) for k in chosen), luck, None)


def _explained(t: Reals, y: Reals, grid: Reals) -> tuple[Reals, float]:
    """Return what a sine takes off the squares beside mean, slope and curve, for each frequency, and what was there."""
    since = (t - t.mean()) / max(np.ptp(t), 1e-12)
    plain, _ = np.linalg.qr(np.vander(since, 3))
    rest = y - plain @ (plain.T @ y)
    out = np.empty(len(grid))
    for first in range(0, len(grid), 4096):
        turns = 2 * np.pi * np.outer(grid[first : first + 4096], t - t.mean())
        c, s = np.cos(turns), np.sin(turns)
        c, s = c - (c @ plain) @ plain.T, s - (s @ plain) @ plain.T
        cc, ss, cs = (c * c).sum(1), (s * s).sum(1), (c * s).sum(1)
        yc, ys = c @ rest, s @ rest
        # Where a sine is always at nothing (half the frame rate), the cosine alone counts.
        mean, half = (cc + ss) / 2, np.hypot((cc - ss) / 2, cs)
        lesser = np.maximum(mean - half, 1e-6 * np.maximum(mean, 1e-12))
        out[first : first + 4096] = (ss * yc**2 + cc * ys**2 - 2 * cs * yc * ys) / ((mean + half) * lesser)
    return np.clip(out, 0.0, float(rest @ rest)), float(rest @ rest)


def _luck(share: float, n: int) -> float:
    """Return the chance that the best of the independent frequencies takes off such a share of noise."""
    one = (1 - min(share, 1 - 1e-12)) ** ((n - 5) / 2)
    return float(-math.expm1(1.5 * n * math.log1p(-min(one, 1 - 1e-12))))


def _peaks(logs: Reals) -> list[int]:
    around = np.concatenate([[-np.inf], logs, [-np.inf]])
    return [int(k) for k in np.flatnonzero((logs >= around[:-2]) & (logs > around[2:]))]


def _interval(grid: Reals, logs: Reals, peak: int) -> Range:
    """Return a peak with its 90 % interval, from the curve of the log likelihood about it."""
    step = float(grid[1] - grid[0])
    if not 0 < peak < len(grid) - 1:
        return Range(float(grid[peak]) - step, float(grid[peak]), float(grid[peak]) + step)
    before, here, after = logs[peak - 1 : peak + 2]
    bend = max(2 * here - before - after, 1e-12)
    middle = float(grid[peak]) + step * float(np.clip((after - before) / (2 * bend), -0.5, 0.5))
    half = LEVEL * step / math.sqrt(bend)
    return Range(middle - half, middle, middle + half)
