"""Frames put together again as the camera took them: one burst for each press of the button.

The rules look at tags and names only, and the answer does not depend on the order of the frames given.

1. Frames of different cameras never meet: the serial number tells them apart; without one, the model, the folder and
   the letters before the number in the file name do.
2. Within a camera, frames follow one another by time, then by file number, then by the maker's sequence number.
3. A burst ends where the maker's sequence number starts again, where the camera was turned or its picture size or lens
   changed, or where it was zoomed by more than a tenth.
4. A burst ends at a pause longer than four of its own frame intervals, the interval being the median; pauses below
   0.3 s never end one and pauses above 1 s always do. A pause is counted from the end of the exposure. Where sequence
   numbers run on, the camera itself says that the press goes on, and only 5 s end it.
5. Whole seconds (no sub-seconds, or sub-seconds that are always zero) tell no pauses. There a burst ends where two
   seconds differ by more than one, where file numbers jump, or between two shots that the camera calls single.
6. A clock that was set back, or two cameras that cannot be told apart, show as file numbers that run to and fro while
   the time runs forwards. Such frames follow one another by file number instead, and a burst ends where time runs
   backwards.
7. Without any time, frames of one folder whose numbers run on, evenly as in 3, 6, 9 or nearly so, are one burst.
"""

import os
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from statistics import median

from stillwing.frames.frame import Burst, Frame
from stillwing.frames.listing import natural_key

__all__ = ["group_bursts"]

INTERVALS = 4.0
SHORTEST_PAUSE_S, LONGEST_PAUSE_S = 0.3, 1.0
LONGEST_RUNNING_PAUSE_S = 5.0
SHORTEST_STEP, LONGEST_STEP = 1.0, 10.0
"""File numbers further apart than the longest are no burst, however even the steps."""
ZOOM_TOLERANCE = 0.1
COUNTER_LENGTH = 10_000
"""A camera's counter comes round from 9999 to 0001 (DCF, JEITA CP-3461)."""

CLOCK_START = datetime(2000, 1, 1)
_NUMBER = re.compile(r"(.*?)(\d+)\D*", re.DOTALL | re.ASCII)


@dataclass(frozen=True, slots=True)
class _Shot:
    frame: Frame
    seconds: float | None
    """On the camera's clock; ``None`` where the file gives no time."""
    prefix: str
    number: int | None
    place: tuple[tuple[tuple[int, int, str], ...], ...]
    """Natural order of the path."""


def group_bursts(frames: Sequence[Frame], *, root: Path | None = None) -> tuple[Burst, ...]:
    """Return the bursts that the frames make up, each frame in exactly one.

    Parameters
    ----------
    frames : sequence of Frame
        In any order.
    root : Path, optional
        Folder that the names are relative to, default the deepest one that holds all frames. Give the folder that was
        listed, so that names stay the same when a folder is added to it.

    Returns
    -------
    tuple of Burst
        In order of time, those without a time last; frames within a burst in order of time. Names are unique.

    Notes
    -----
    The rules stand at the head of this module.
    """
    streams: dict[tuple[object, ...], list[_Shot]] = defaultdict(list)
    for shot in map(_shot, frames):
        streams[_stream(shot)].append(shot)
    bursts = [burst for shots in streams.values() for burst in _split(shots)]
    bursts.sort(key=lambda shots: (shots[0].seconds is None, shots[0].seconds or 0.0, shots[0].place))
    names = _names([shots[0].frame.path for shots in bursts], root)
    return tuple(Burst(name, tuple(shot.frame for shot in shots)) for name, shots in zip(names, bursts, strict=True))


def _shot(frame: Frame) -> _Shot:
    when, seconds = frame.tags.taken_at, None
    if when is not None:
        seconds = (when.replace(tzinfo=None) - (when.utcoffset() or timedelta(0)) - CLOCK_START).total_seconds()
    match = _NUMBER.fullmatch(frame.path.stem)
    prefix, number = (match[1], int(match[2])) if match else (frame.path.stem, None)
    return _Shot(frame, seconds, prefix, number, natural_key(frame.path))


def _stream(shot: _Shot) -> tuple[object, ...]:
    """Return what frames of one burst have in common."""
    tags, folder = shot.frame.tags, shot.frame.path.parent
    if tags.taken_at is None:
        return None, tags.camera, tags.camera_serial, folder, shot.prefix
    # Times with and without an offset from UTC cannot be compared.
    is_aware = tags.taken_at.tzinfo is not None
    if tags.camera_serial is not None:
        return is_aware, tags.camera, tags.camera_serial
    return is_aware, tags.camera, None, folder, shot.prefix


def _split(shots: list[_Shot]) -> list[list[_Shot]]:
    """Return the shots of one camera in bursts; a burst split again stays whole, since it passed the same questions."""
    bursts, waiting = [], [shots]
    while waiting:
        ordered = _in_order(waiting.pop())
        ends = _ends(ordered)
        if not ends:
            bursts.append(ordered)
            continue
        edges = [0, *ends, len(ordered)]
        waiting += [ordered[first:last] for first, last in pairwise(edges)]
    return bursts


def _in_order(shots: list[_Shot]) -> list[_Shot]:
    """Return the shots by time, or by file number where time contradicts it (rule 6)."""
    counted = _unwound(shots)
    by_time = sorted(
        shots,
        key=lambda shot: (
            shot.seconds or 0.0,
            counted[shot.frame.path],
            shot.frame.tags.sequence_number or 0,
            shot.place,
        ),
    )
    if (
        shots[0].seconds is None
        or len({shot.prefix for shot in shots}) > 1
        or any(shot.number is None for shot in shots)
    ):
        return by_time
    by_number = sorted(by_time, key=lambda shot: counted[shot.frame.path])
    jumps = sum(_jumps(one, other, counted) for one, other in pairwise(by_time))
    backwards = sum(_goes_back(one, other) or _jumps(one, other, counted) for one, other in pairwise(by_number))
    return by_number if backwards < jumps else by_time


def _unwound(shots: list[_Shot]) -> dict[Path, int]:
    """Return each shot's file number, counted on where the camera's counter came round; 0 where it has none."""
    numbers = {shot.frame.path: shot.number or 0 for shot in shots}
    values = [shot.number for shot in shots if shot.number is not None]
    if values and max(values) < COUNTER_LENGTH and max(values) - min(values) > COUNTER_LENGTH // 2:
        numbers = {
            path: number + COUNTER_LENGTH if number < COUNTER_LENGTH // 2 else number
            for path, number in numbers.items()
        }
    return numbers


def _jumps(one: _Shot, other: _Shot, counted: dict[Path, int]) -> bool:
    return not 0 <= counted[other.frame.path] - counted[one.frame.path] <= LONGEST_STEP


def _goes_back(one: _Shot, other: _Shot) -> bool:
    return one.seconds is not None and other.seconds is not None and other.seconds < one.seconds


def _ends(shots: list[_Shot]) -> list[int]:
    """Return the places where a burst certainly ends, else the place of the longest pause if that is too long."""
    if shots[0].seconds is None:
        return _ends_by_number(shots)
    is_coarse = _is_coarse(shots)
    counted = _unwound(shots)
    certain = [
        place
        for place, (one, other) in enumerate(pairwise(shots), start=1)
        if _is_changed(one, other)
        or _goes_back(one, other)
        or _pause(one, other) > (LONGEST_RUNNING_PAUSE_S if _runs_on(one, other) else LONGEST_PAUSE_S)
        or (is_coarse and not _runs_on(one, other) and _ends_within_seconds(one, other, counted))
    ]
    if certain or is_coarse or len(shots) < 2:
        return certain
    pauses = [0.0 if _runs_on(one, other) else _pause(one, other) for one, other in pairwise(shots)]
    interval = median((other.seconds or 0.0) - (one.seconds or 0.0) for one, other in pairwise(shots))
    longest = max(pauses)
    return [pauses.index(longest) + 1] if longest > max(INTERVALS * interval, SHORTEST_PAUSE_S) else []


def _ends_by_number(shots: list[_Shot]) -> list[int]:
    certain = [
        place
        for place, (one, other) in enumerate(pairwise(shots), start=1)
        if _is_changed(one, other) or one.number is None or other.number is None
    ]
    if certain or len(shots) < 2:
        return certain
    steps = [(other.number or 0) - (one.number or 0) for one, other in pairwise(shots)]
    limit = min(max(INTERVALS * median(steps), SHORTEST_STEP), LONGEST_STEP)
    longest = max(steps)
    return [steps.index(longest) + 1] if longest > limit else []


def _is_changed(one: _Shot, other: _Shot) -> bool:
    """Return whether the sequence starts again, or the pictures no longer lie over one another (rule 3)."""
    before, after = one.frame.tags, other.frame.tags
    sequence = before.sequence_number, after.sequence_number
    if sequence[0] is not None and sequence[1] is not None and sequence[1] < sequence[0]:
        return True
    if (before.orientation, before.lens) != (after.orientation, after.lens):
        return True
    if (before.width_px, before.height_px) != (after.width_px, after.height_px):
        return True
    if before.focal_length_mm is None or after.focal_length_mm is None:
        return False
    return abs(after.focal_length_mm / before.focal_length_mm - 1) > ZOOM_TOLERANCE


def _runs_on(one: _Shot, other: _Shot) -> bool:
    before, after = one.frame.tags.sequence_number, other.frame.tags.sequence_number
    return before is not None and after is not None and after > before


def _pause(one: _Shot, other: _Shot) -> float:
    """Return the time from the end of one exposure to the start of the other. [s]"""
    # Rounded to microseconds, the resolution of the clock: a difference of floats must not end a burst.
    return round((other.seconds or 0.0) - (one.seconds or 0.0) - (one.frame.tags.exposure_s or 0.0), 6)


def _is_coarse(shots: list[_Shot]) -> bool:
    """Return whether the clock tells whole seconds only."""
    if not all(shot.frame.tags.has_subseconds for shot in shots):
        return True
    times = [shot.seconds or 0.0 for shot in shots]
    return all(time.is_integer() for time in times) and len(set(times)) < len(times)


def _ends_within_seconds(one: _Shot, other: _Shot, counted: dict[Path, int]) -> bool:
    if one.frame.tags.drive_mode == other.frame.tags.drive_mode == "single":
        return True
    is_numbered = one.number is not None and other.number is not None and one.prefix == other.prefix
    return is_numbered and _jumps(one, other, counted)


def _names(paths: list[Path], root: Path | None) -> list[str]:
    """Return a name for each burst from its first file: its path, without the ending where that leaves it unique."""
    if root is None and paths:
        try:
            root = Path(os.path.commonpath([path.parent for path in paths]))
        except ValueError:  # on different drives
            root = None
    relative = [path.relative_to(root) if root is not None and path.is_relative_to(root) else path for path in paths]
    short = [path.with_suffix("").as_posix() for path in relative]
    uses = Counter(short)
    return [name if uses[name] == 1 else path.as_posix() for name, path in zip(short, relative, strict=True)]
