"""The figures behind a trace plot."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.frames.measured import Box

__all__ = ["TraceColumns", "duration_s", "lead", "sharpest", "trace_columns"]

Column = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class TraceColumns:
    """The trace as columns, one value per animal, and one for a frame without; ``None`` where there is no figure."""

    id: tuple[int, ...]
    """The frame's number in the field book."""
    number: tuple[int, ...]
    """The frame's place in its burst, from 1."""
    is_measured: tuple[bool, ...]
    is_found: tuple[bool, ...]
    is_lead: tuple[bool, ...]
    """The animal that stands for its frame; also a frame without any."""
    choice: tuple[str | None, ...]
    is_decided: tuple[bool, ...]
    blur_px: Column
    blur_low_px: Column
    blur_high_px: Column
    size_percent: Column
    x_px: Column
    y_px: Column
    right_px: Column
    bottom_px: Column
    centre_x_px: Column
    centre_y_px: Column


def lead(frame: TraceFrame) -> TraceAnimal | None:
    """Return the animal that stands for the frame, or ``None`` where none was found."""
    return frame.animals[0] if frame.animals else None


def sharpest(frames: Sequence[TraceFrame]) -> TraceFrame | None:
    """Return the frame of least blur, the first of equals; ``None`` where none was measured."""
    measured = [
        (animal.blur.blur_px, frame)
        for frame in frames
        if (animal := lead(frame)) is not None and animal.blur is not None
    ]
    return min(measured, key=lambda one: one[0])[1] if measured else None


def trace_columns(trace: BurstTrace) -> TraceColumns:
    """Return the columns of a trace."""
    rows = [
        _row(frame, animal, is_lead=place == 0)
        for frame in trace.frames
        for place, animal in enumerate(frame.animals or (None,))
    ]
    return TraceColumns(*zip(*rows, strict=True)) if rows else TraceColumns(*((),) * len(TraceColumns.__slots__))


def duration_s(trace: BurstTrace) -> float | None:
    """Return the time from the first frame to the last, or ``None`` where the files do not tell. [s]"""
    times = [frame.taken_at for frame in trace.frames]
    if len(times) < 2 or times[0] is None or times[-1] is None:
        return None
    return (times[-1] - times[0]).total_seconds()


def _row(frame: TraceFrame, animal: TraceAnimal | None, *, is_lead: bool) -> tuple[object, ...]:
    box = None if animal is None else animal.box
    blur = None if animal is None else animal.blur
    blurs = (None,) * 3 if blur is None else (blur.blur_px, blur.blur_low_px, blur.blur_high_px)
    corners = (None,) * 6 if box is None else _corners(box)
    return (
        frame.id,
        frame.number + 1,
        frame.is_measured,
        animal is not None,
        is_lead,
        None if frame.choice is None else frame.choice.value,
        frame.by_hand is not None,
        *(_at(one, 3) for one in blurs),
        None if animal is None else _at(100 * animal.size_in_frame, 2),
        *(_at(one, 1) for one in corners),
    )


def _corners(box: Box) -> tuple[float, ...]:
    return (box.x_px, box.y_px, box.x_px + box.width_px, box.y_px + box.height_px, *box.centre_px)


def _at(value: float | None, digits: int) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, digits)
