"""How far the camera's clock lies from a phone's, from the taps that say "a burst was shot".

A tap comes after the press of the shutter: the other hand reaches for the phone within ten seconds. Nobody knows which
tap belongs to which burst, some bursts have no tap, some taps no burst (its frames were deleted, or it was a mistake).
So the difference is looked for that explains most taps, each by a burst of its own; any difference will do, as of a
wrong zone or a wrong day.

1. Search. For every difference, count the taps that can have a burst of their own up to ten seconds before them. The
   best count must be at least four, and stand out: three more than at any difference further than ten seconds away,
   and one and a half times the square root of that other count, since chance alone gives counts that spread by about
   that root.
   Where it does not, the search is made again with three seconds in place of ten, in which the taps of a steady hand
   still fall while chance gives fewer; else nothing can be told.
2. Refinement. Each tap takes the burst that fits the median best; the median delay of the taps, less the usual delay of
   a tap, is the difference.
3. Interval. That of the median by order statistics (at least 95 %, from six taps on; for fewer the smallest and the
   largest), made wider by what is not known of the usual delay.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import binom

__all__ = ["CannotTell", "ClockEstimate", "estimate_offset"]

LONGEST_DELAY_S = 10.0
STEADY_S = 3.0
"""Within which most taps of one person fall, whatever their usual delay (a choice, no source)."""
USUAL_DELAY_S = (0.5, 2.0, 5.0)
"""Median delay of a person's taps: shortest, usual, longest. A press takes 0.2 s to react to (Woods et al. 2015, Front.
Hum. Neurosci. 9:131), the rest is reaching for the phone (a choice, no source)."""
FEWEST_TAPS = 4
LEAST_LEAD, LEAD_IN_SPREADS = 3, 1.5
"""With them, taps that have nothing to do with the bursts gave a difference in 2 of 2,240 invented outings."""
LEVEL = 0.95
ROUNDS = 20
"""Of refinement; it comes to rest after two or three."""


@dataclass(frozen=True, slots=True)
class ClockEstimate:
    """How far the camera's clock is ahead of the phone's."""

    camera_minus_phone_s: float
    low_s: float
    high_s: float
    n_matched: int
    """Taps that agree."""
    n_taps: int


@dataclass(frozen=True, slots=True)
class CannotTell:
    """Why the taps do not give a difference, in one sentence."""

    reason: str


@dataclass(frozen=True, slots=True)
class _Peak:
    middle_s: float
    """Phone minus camera plus delay of the taps, in the middle of those that explain as many taps."""
    n_matched: int
    n_elsewhere: int
    """Taps explained by the best difference further away."""

    @property
    def stands_out(self) -> bool:
        lead = self.n_matched - self.n_elsewhere
        return (
            self.n_matched >= FEWEST_TAPS
            and lead >= LEAST_LEAD
            and lead >= LEAD_IN_SPREADS * math.sqrt(self.n_elsewhere)
        )


def estimate_offset(
    taps_s: ArrayLike, starts_s: ArrayLike, *, camera_step_s: float = 0.0
) -> ClockEstimate | CannotTell:
    """Return how far the camera's clock is ahead of the phone's, or why that cannot be told.

    Parameters
    ----------
    taps_s : array_like, shape (n,)
        Burst taps by the phone's clock, in any order. [s]
    starts_s : array_like, shape (m,)
        Starts of bursts by the camera's clock, in any order. [s]
    camera_step_s : float, default 0
        1 where the camera tells whole seconds only, so that a burst began up to that much later. [s]

    Notes
    -----
    The method stands at the head of this module.

    Examples
    --------
    >>> starts = [0.0, 31.0, 95.0, 170.0, 182.0, 260.0, 411.0]
    >>> taps = [start - 7200.0 + 2.0 for start in starts]
    >>> estimate_offset(taps, starts).camera_minus_phone_s
    7200.0
    """
    taps, starts = (np.unique(np.asarray(given, np.float64)) for given in (taps_s, starts_s))
    if len(taps) < FEWEST_TAPS or len(starts) < FEWEST_TAPS:
        return CannotTell(
            f"{len(taps)} burst taps and {len(starts)} bursts with a time are too few to compare the clocks; "
            f"at least {FEWEST_TAPS} of each are needed"
        )
    peak = _peak(taps, starts, LONGEST_DELAY_S)
    if not peak.stands_out:
        peak = _peak(taps, starts, STEADY_S)
    if not peak.stands_out:
        return CannotTell(
            f"of {len(taps)} burst taps {peak.n_matched} fit the bursts at best, and {peak.n_elsewhere} fit as well "
            "with the clocks set otherwise; set the difference by hand"
        )
    delays = _refined(taps, starts, peak.middle_s)
    return _with_interval(delays, len(taps), camera_step_s)


def _peak(taps: NDArray[np.float64], starts: NDArray[np.float64], window_s: float) -> _Peak:
    """Return the difference at which most taps lie up to ``window_s`` after a burst of their own."""
    edges, bounds = _upper_bounds(taps, starts, window_s)
    middles = (edges[:-1] + edges[1:]) / 2.0
    counts = np.zeros(len(bounds), np.int64)
    best = 0
    # Bounds are what can be had at most, so that the search ends as soon as nothing better can come.
    order = np.argsort(-bounds, kind="stable")
    for i in order:
        if bounds[i] < best:
            break
        counts[i] = _n_matched(taps, starts, float(middles[i]), window_s)
        best = max(best, int(counts[i]))
    at = np.flatnonzero(counts == best)
    # Of several pieces of one hill the middle; of several hills the first, the others then count as elsewhere.
    hill = at[np.abs(middles[at] - middles[at[0]]) <= window_s]
    middle = float((edges[hill[0]] + edges[hill[-1] + 1]) / 2.0)
    elsewhere = 0
    for i in order:
        if bounds[i] <= elsewhere:
            break
        if abs(middles[i] - middle) > window_s:
            elsewhere = max(elsewhere, _n_matched(taps, starts, float(middles[i]), window_s))
    return _Peak(middle + window_s / 2.0, best, elsewhere)


def _upper_bounds(
    taps: NDArray[np.float64], starts: NDArray[np.float64], window_s: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Return pieces of the axis of differences, and for each how many taps can have a burst at most.

    Returns
    -------
    edges : ndarray, shape (n + 1,)
    bounds : ndarray, shape (n,)
        The smaller of the number of taps with any burst, and of bursts with any tap.
    """
    # Tap p and burst c fit at the differences t with p - c - window <= t <= p - c: there the count can change. Bursts
    # that follow one another within the window make one interval per tap, and so do taps for a burst.
    fits = (taps[:, None] - starts[None, :]).ravel()
    edges = np.unique(np.concatenate([fits, fits - window_s]))
    by_tap = _intervals(taps[:, None], _clusters(starts, window_s), window_s)
    by_start = _intervals(-starts[:, None], [(-last, -first) for first, last in _clusters(taps, window_s)], window_s)
    covered = [
        np.searchsorted(np.sort(lows), edges[:-1], "right") - np.searchsorted(np.sort(highs), edges[:-1], "right")
        for lows, highs in (by_tap, by_start)
    ]
    return edges, np.minimum(*covered).astype(np.int64)


def _intervals(
    here: NDArray[np.float64], clusters: list[tuple[float, float]], window_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    first, last = np.array(clusters).T
    return (here - last - window_s).ravel(), (here - first).ravel()


def _clusters(points: NDArray[np.float64], window_s: float) -> list[tuple[float, float]]:
    """Return first and last of each row of points that follow one another within the window."""
    parts = np.split(points, np.flatnonzero(np.diff(points) > window_s) + 1)
    return [(float(part[0]), float(part[-1])) for part in parts]


def _n_matched(taps: NDArray[np.float64], starts: NDArray[np.float64], difference_s: float, window_s: float) -> int:
    """Return how many taps can have a burst of their own; all windows are equally long, so first come is best."""
    moved = (taps - difference_s).tolist()
    free = iter(starts.tolist())
    start = next(free, math.inf)
    count = 0
    for tap in moved:
        while start < tap - window_s:
            start = next(free, math.inf)
        if start <= tap:
            count += 1
            start = next(free, math.inf)
    return count


def _refined(taps: NDArray[np.float64], starts: NDArray[np.float64], middle_s: float) -> NDArray[np.float64]:
    """Return phone minus camera for each tap that agrees, sorted."""
    median_s, delays = middle_s, np.zeros(0)
    for _ in range(ROUNDS):
        delays = _paired(taps, starts, median_s)
        found_s = float(np.median(delays)) if len(delays) else median_s
        if found_s == median_s:
            break
        median_s = found_s
    return delays


def _paired(taps: NDArray[np.float64], starts: NDArray[np.float64], median_s: float) -> NDArray[np.float64]:
    """Return phone minus camera for pairs of which each is the other's best, within half the longest delay."""
    wanted = taps - median_s
    nearest_start = _nearest(starts, wanted)
    nearest_tap = _nearest(wanted, starts)
    mutual = nearest_tap[nearest_start] == np.arange(len(taps))
    delays = taps - starts[nearest_start]
    return np.sort(delays[mutual & (np.abs(delays - median_s) <= LONGEST_DELAY_S / 2.0)])


def _nearest(points: NDArray[np.float64], wanted: NDArray[np.float64]) -> NDArray[np.int64]:
    after = np.clip(np.searchsorted(points, wanted), 1, len(points) - 1)
    is_before = wanted - points[after - 1] <= points[after] - wanted
    return np.where(is_before, after - 1, after)


def _with_interval(delays: NDArray[np.float64], n_taps: int, camera_step_s: float) -> ClockEstimate:
    n = len(delays)
    # The smallest k for which fewer than k of n lie below the median with a chance of at most 2.5 %.
    k = int(binom.ppf((1 - LEVEL) / 2.0, n, 0.5))
    low_s, high_s = float(delays[max(k - 1, 0)]), float(delays[n - max(k, 1)])
    shortest, usual, longest = USUAL_DELAY_S
    median_s = float(np.median(delays))
    return ClockEstimate(
        camera_minus_phone_s=usual + camera_step_s / 2.0 - median_s,
        low_s=shortest - high_s,
        high_s=longest + camera_step_s - low_s,
        n_matched=n,
        n_taps=n_taps,
    )
