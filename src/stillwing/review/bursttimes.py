"""When the frames of a burst were taken, as finely as the camera wrote it; without times there is no speed."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.frames.frame import Tags

__all__ = ["FrameTimes", "NoTimes", "frame_times"]

Reals = NDArray[np.float64]

TICKS_US = (1_000_000, 100_000, 10_000, 1_000, 100, 10, 1)
"""Steps in which cameras write fractions of a second. [microseconds]"""
UNEVEN_TICKS = 0.75
"""Frames whose times lie within so many steps of an even series are taken as even; writing alone leaves one half."""


@dataclass(frozen=True, eq=False, slots=True)
class FrameTimes:
    """Moments of all frames of a burst since the first, shape (n,), rising. [s]"""

    seconds: Reals
    tick_s: float
    """Step in which the camera wrote them."""
    is_even: bool
    """The frames came evenly as far as the step shows, and the moments are those of the even series."""

    @property
    def error_s(self) -> float:
        """Standard deviation of a moment: that of rounding down to a step. [s]"""
        return self.tick_s / math.sqrt(12)


@dataclass(frozen=True, slots=True)
class NoTimes:
    """Why there are no moments, and what would give them."""

    reason: str
    cure: str


def frame_times(tags: Sequence[Tags]) -> FrameTimes | NoTimes:
    """Return when each frame of a burst was taken, or why that is not known.

    Parameters
    ----------
    tags : sequence of Tags
        Of all frames of the burst, in order.

    Notes
    -----
    Times that are written in steps as long as the gaps between frames tie. Where they lie on an even series, number
    after number, within the step, the series is taken: a camera that drives its shutter evenly is finer than what it
    writes. Files that were taken out of the burst break the series, and then the written times count.
    """
    written = [one.taken_at for one in tags]
    known = [at for at in written if at is not None]
    if len(known) < len(written):
        n = len(written) - len(known)
        return NoTimes(
            f"{n} of {len(written)} pictures tell no time of their own; no times, no speed",
            "the camera's own files, with their tags, tell it",
        )
    if len({at.tzinfo is None for at in known}) > 1:
        return NoTimes(
            "some pictures tell their time zone and others do not; no times, no speed", "files of one camera tell it"
        )
    if not all(one.has_subseconds for one in tags):
        return NoTimes(
            "the times of the pictures are written in whole seconds; no times, no speed",
            "a camera or setting that writes fractions of a second tells it",
        )
    since_us = [round((at - known[0]).total_seconds() * 1e6) for at in known]
    parts_us = [(at.microsecond, us) for at, us in zip(known, since_us, strict=True)]
    tick_us = next(tick for tick in TICKS_US if all(part % tick == 0 for part, _ in parts_us))
    return _series(np.array(since_us, np.float64) / 1e6, tick_us / 1e6)


def _series(seconds: Reals, tick_s: float) -> FrameTimes | NoTimes:
    numbers = np.arange(len(seconds), dtype=np.float64)
    if len(seconds) > 2:
        gap, first = np.polyfit(numbers, seconds, 1)
        even = first + gap * numbers
        if gap > 0 and np.abs(seconds - even).max() <= UNEVEN_TICKS * tick_s:
            return FrameTimes(np.asarray(even - even[0], np.float64), tick_s, is_even=True)
    stands = np.flatnonzero(np.diff(seconds) <= 0)
    if len(stands):
        at = int(stands[0])
        return NoTimes(
            f"frames {at + 1} and {at + 2} carry the same time, or go back in it, to the {tick_s:g} s that the camera "
            "writes; no times, no speed",
            "a camera that writes finer fractions of a second, or the burst without pictures taken out of it, tells it",
        )
    return FrameTimes(seconds, tick_s, is_even=False)
