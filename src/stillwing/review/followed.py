"""How a burst was followed, by what was measured on its frames: when the animal came in, where it stood, how evenly."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime
from statistics import median

import numpy as np

from stillwing.fieldbook.takenframes import TakenBurst, TakenFrame
from stillwing.review.practice import BurstPractice, pan_rms

__all__ = ["followed"]


def followed(burst: TakenBurst, outing: str, when: datetime) -> BurstPractice | None:
    """Return how a burst was followed; ``None`` where none of its frames has been measured.

    Parameters
    ----------
    burst : TakenBurst
        With its measured frames in order of time.
    outing : str
        Name of its outing.
    when : datetime
        When it was taken.

    Notes
    -----
    A frame holds the animal where one was found in it. The offset is that of the best animal's box. How evenly the
    camera was panned is taken over each run of frames whose background could be followed, a run counting by its length.
    """
    frames = burst.frames
    if not frames:
        return None
    holds = [frame.animal_px is not None for frame in frames]
    seconds = _seconds(frames)
    offsets = [_offset(frame, *frame.animal_px) for frame in frames if frame.animal_px is not None]
    return BurstPractice(
        str(burst.id),
        outing,
        when,
        n_frames=len(frames),
        n_inside=sum(holds),
        length_s=None if seconds is None else seconds[-1],
        first_inside_s=None if seconds is None or not any(holds) else seconds[holds.index(True)],
        offset_share=median(offsets) if offsets else None,
        pan_rms_px=_unevenness(frames),
    )


def _seconds(frames: Sequence[TakenFrame]) -> list[float] | None:
    """Return when each frame was taken after the first. [s]"""
    times = [one.taken_at for one in frames if one.taken_at is not None and one.has_subseconds]
    if len(times) < len(frames) or len({at.tzinfo is None for at in times}) > 1:
        return None
    # Copies of a file may stand in the wrong order where two frames carry one instant.
    return [max(0.0, (at - times[0]).total_seconds()) for at in times]


def _offset(frame: TakenFrame, x_px: float, y_px: float) -> float:
    return math.hypot(x_px - frame.width_px / 2, y_px - frame.height_px / 2) / frame.height_px


def _unevenness(frames: Sequence[TakenFrame]) -> float | None:
    squares, n_changes = 0.0, 0
    for run in _runs(frames):
        if len(run) > 1:
            squares += pan_rms(np.array(run)) ** 2 * (len(run) - 1)
            n_changes += len(run) - 1
    return math.sqrt(squares / n_changes) if n_changes else None


def _runs(frames: Sequence[TakenFrame]) -> Iterator[list[tuple[float, float]]]:
    """Give the shifts of the background from frame to frame, one list for each run without a gap. [px]"""
    run: list[tuple[float, float]] = []
    for frame in frames:
        if frame.slip_px is None:
            yield run
            run = []
        else:
            run.append(frame.slip_px)
    yield run
