"""The figures behind a trace plot, and the cut-outs that hang on it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box
from stillwing.frames.sharpfor import parse_sharp_for
from stillwing.web import words
from stillwing.web.cutouts import Subject, padded

__all__ = [
    "SHARP_PX",
    "SOFT_PX",
    "CurveCut",
    "TraceColumns",
    "blur_limit_px",
    "blur_words",
    "choice_words",
    "curve_cuts",
    "cut_box",
    "cut_href",
    "duration_s",
    "lead",
    "sharpest",
    "softest_px",
    "spoken",
    "trace_columns",
]

SHARP_PX = 0.5
"""Top of the blur axis; a pixel's own box alone gives 0.29 px, and no lens reaches it."""

SOFT_PX = 16.0
"""Bottom of the blur axis where nothing asks for more; softer frames stand on the floor."""

CURVE_CUT_PX = 64
"""Longest side of a cut-out on the curve. [CSS px]"""

Column = tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class TraceColumns:
    """The trace as columns, one value per animal, and one for a frame without; ``None`` where there is no figure."""

    id: tuple[int, ...]
    """The frame's number in the field book."""
    number: tuple[int, ...]
    """The frame's place in its burst, from 1."""
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


@dataclass(frozen=True, slots=True)
class CurveCut:
    """A frame's cut-out, to be hung on the curve."""

    number: int
    href: str
    source: str
    width: int
    """CSS px, as `height`."""
    height: int
    blur_px: float
    is_kept: bool
    is_decided: bool
    words: str


def lead(frame: TraceFrame) -> TraceAnimal | None:
    """Return the animal that stands for the frame, or ``None`` where none was found."""
    return frame.animals[0] if frame.animals else None


def trace_columns(trace: BurstTrace) -> TraceColumns:
    """Return the columns of a trace."""
    rows = [
        _row(frame, animal, is_lead=place == 0)
        for frame in trace.frames
        for place, animal in enumerate(frame.animals or (None,))
    ]
    return TraceColumns(*zip(*rows, strict=True)) if rows else TraceColumns(*((),) * len(TraceColumns.__slots__))


def curve_cuts(outing_id: int, trace: BurstTrace) -> tuple[CurveCut, ...]:
    """Return the cut-outs of the kept frames whose blur is known, in order of frame; of the sharpest where none is."""
    kept = [frame for frame in trace.frames if frame.choice is Choice.KEEP]
    best = sharpest(trace)
    cuts = []
    for frame in kept or ([] if best is None else [best]):
        animal = lead(frame)
        if animal is None or animal.blur is None:
            continue
        box = cut_box(frame, animal)
        scale = CURVE_CUT_PX / max(box.width_px, box.height_px)
        cuts.append(
            CurveCut(
                frame.number + 1,
                f"/outings/{outing_id}/bursts/{trace.id}?frame={frame.number + 1}",
                cut_href(frame, animal, "lane"),
                max(round(box.width_px * scale), 20),
                max(round(box.height_px * scale), 20),
                animal.blur.blur_px,
                frame.choice is Choice.KEEP,
                frame.by_hand is not None,
                f"frame {frame.number + 1}, blur {words.pixels(animal.blur.blur_px)}, {choice_words(frame)}",
            )
        )
    return tuple(cuts)


def cut_box(frame: TraceFrame, animal: TraceAnimal) -> Box:
    """Return what the animal's cut-out shows of the original."""
    right, bottom = animal.box.x_px + animal.box.width_px, animal.box.y_px + animal.box.height_px
    return padded(animal.box, frame.width_px or right, frame.height_px or bottom)


def cut_href(frame: TraceFrame, animal: TraceAnimal | None, use: str) -> str:
    """Return where the cut-out of an animal is served; the address changes with the box."""
    box = None if animal is None else cut_box(frame, animal)
    mark = Subject(frame.path, box).key()[:10]
    number = "none" if animal is None else animal.number
    return f"/pictures/{frame.id}/{number}/{use}.jpg?v={mark}"


def sharpest(trace: BurstTrace) -> TraceFrame | None:
    """Return the frame of least blur, or ``None`` where none was measured."""
    blurs = [
        (animal.blur.blur_px, frame.number)
        for frame in trace.frames
        if (animal := lead(frame)) is not None and animal.blur is not None
    ]
    return trace.frames[min(blurs)[1]] if blurs else None


def blur_words(frame: TraceFrame) -> str:
    """Return the blur on the frame's animal in words, or why there is none."""
    animal = lead(frame)
    if animal is None:
        return "no animal found" if frame.is_measured else "not measured"
    return "blur not measured" if animal.blur is None else words.pixels(animal.blur.blur_px)


def choice_words(frame: TraceFrame) -> str:
    """Return the standing choice in words, and whose it is."""
    if frame.by_hand is not None:
        return f"{frame.by_hand} decided"
    return "nothing proposed" if frame.proposed is None else f"{frame.proposed} proposed"


def spoken(trace: BurstTrace) -> str:
    """Return the trace in one sentence, for those who do not see the plot."""
    measured = [
        (animal.blur.blur_px, frame.number + 1)
        for frame in trace.frames
        if (animal := lead(frame)) is not None and animal.blur is not None
    ]
    n_kept = sum(frame.choice is Choice.KEEP for frame in trace.frames)
    if not measured:
        return f"{words.count(len(trace.frames), 'frame')}, no animal measured"
    sharpest, softest = min(measured), max(measured)
    return (
        f"{words.count(len(trace.frames), 'frame')}; blur from {words.pixels(sharpest[0])} in frame {sharpest[1]} "
        f"to {words.pixels(softest[0])} in frame {softest[1]}; {n_kept} kept"
    )


def duration_s(trace: BurstTrace) -> float | None:
    """Return the time from the first frame to the last, or ``None`` where the files do not tell. [s]"""
    times = [frame.taken_at for frame in trace.frames]
    if len(times) < 2 or times[0] is None or times[-1] is None:
        return None
    return (times[-1] - times[0]).total_seconds()


def softest_px(traces: Sequence[BurstTrace]) -> float:
    """Return where the blur axis ends: a power of two that holds nearly all of the traces, 8 to 64. [px]"""
    blurs = sorted(
        animal.blur.blur_px
        for trace in traces
        for frame in trace.frames
        if (animal := lead(frame)) is not None and animal.blur is not None
    )
    if not blurs:
        return SOFT_PX
    # A few hopeless frames must not press the rest against the top; they stand on the floor.
    high = blurs[math.ceil(0.98 * len(blurs)) - 1]
    return float(min(max(2 ** math.ceil(math.log2(max(high * 1.1, 1.0))), 8), 64))


def blur_limit_px(sharp_for: str | None, traces: Sequence[BurstTrace]) -> float | None:
    """Return the largest blur that the outing's output hides, for the first picture; ``None`` without one. [px]"""
    widths = (frame.width_px for trace in traces for frame in trace.frames if frame.width_px)
    width_px = next(widths, None)
    if sharp_for is None or width_px is None:
        return None
    return parse_sharp_for(sharp_for).blur_limit(width_px)


def _row(frame: TraceFrame, animal: TraceAnimal | None, *, is_lead: bool) -> tuple[object, ...]:
    box = None if animal is None else animal.box
    blur = None if animal is None else animal.blur
    blurs = (None,) * 3 if blur is None else (blur.blur_px, blur.blur_low_px, blur.blur_high_px)
    corners = (None,) * 6 if box is None else _corners(box)
    return (
        frame.id,
        frame.number + 1,
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
