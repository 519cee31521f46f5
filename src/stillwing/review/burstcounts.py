"""Bursts as counts: frames and keepers of each, and on which outing it was taken."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError

__all__ = ["BurstCounts", "count_bursts"]

Counts = NDArray[np.int64]
Reals = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class BurstCounts:
    """Frames and keepers of some bursts, each shape (n_bursts,)."""

    frames: Counts
    kept: Counts
    outing: Counts
    """Number of each burst's outing in ``outings``."""
    outings: tuple[str, ...]

    @property
    def n_bursts(self) -> int:
        """How many bursts there are."""
        return self.frames.size

    @property
    def n_outings(self) -> int:
        """On how many outings they were taken."""
        return len(self.outings)

    @cached_property
    def n_frames(self) -> int:
        """Frames of all bursts."""
        return int(self.frames.sum())

    @cached_property
    def n_kept(self) -> int:
        """Frames kept of all bursts."""
        return int(self.kept.sum())

    @property
    def n_bursts_kept(self) -> int:
        """Bursts with at least one frame kept."""
        return int((self.kept > 0).sum())

    @property
    def rate(self) -> float:
        """Share of frames that were kept."""
        return self.n_kept / self.n_frames

    @cached_property
    def burst_concentration(self) -> float:
        """Sum of the squares of the bursts' shares of all frames: 1 where one burst has them all."""
        return float(((self.frames / self.n_frames) ** 2).sum())

    @cached_property
    def outing_shares(self) -> dict[str, float]:
        """Each outing's share of all frames."""
        shares = np.bincount(self.outing, self.frames, len(self.outings)) / self.n_frames
        return dict(zip(self.outings, shares.tolist(), strict=True))

    @cached_property
    def outing_concentration(self) -> float:
        """Sum of the squares of the outings' shares of all frames."""
        return sum(share**2 for share in self.outing_shares.values())

    def above(self, counts: Counts, size: int) -> Reals:
        """Return how many bursts of each outing have a count of more than 0, 1 ... ``size`` - 1."""
        more = counts[:, None] > np.arange(size)[None, :]
        table = np.zeros((len(self.outings), size))
        np.add.at(table, self.outing, more)
        return table

    def alone(self) -> "BurstCounts":
        """Return the same bursts as one frame each, kept where any frame was."""
        return BurstCounts(np.ones_like(self.frames), (self.kept > 0).astype(np.int64), self.outing, self.outings)


def count_bursts(n_frames: Sequence[int], n_kept: Sequence[int], outings: Sequence[str] | None = None) -> BurstCounts:
    """Return the counts of some bursts; their order does not matter.

    Parameters
    ----------
    n_frames, n_kept : sequence of int
        Of each burst.
    outings : sequence of str, optional
        On which outing each was taken; without it, each on one of its own.

    Raises
    ------
    InputError
        If there is no burst, one has no frame, or more frames were kept than there are.
    """
    frames, kept = np.asarray(n_frames, np.int64), np.asarray(n_kept, np.int64)
    names = [str(at) for at in range(frames.size)] if outings is None else list(outings)
    if frames.shape != kept.shape or frames.ndim != 1 or not frames.size or len(names) != frames.size:
        raise InputError(f"{kept.size} counts of frames kept for {frames.size} bursts; it takes one each, and a burst")
    bad = np.flatnonzero((frames < 1) | (kept < 0) | (kept > frames))
    if bad.size:
        raise InputError(f"{kept[bad[0]]} of {frames[bad[0]]} frames kept in a burst; it takes 0 or more of 1 or more")
    known = tuple(sorted(set(names)))
    at = {name: number for number, name in enumerate(known)}
    return BurstCounts(frames, kept, np.array([at[name] for name in names], np.int64), known)
