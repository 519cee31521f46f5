"""The picture on the page of an animal: its cut-out with the line of the body, and the frames to measure instead."""

from dataclasses import dataclass

from stillwing.fieldbook.looks import Look
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.frames.bodyaxis import BodyAxis
from stillwing.frames.bodylength import BodyLength, SeenLength
from stillwing.frames.measured import Box
from stillwing.records.animalseen import SIDE_ON_DEG, MeasuredBody, frames_to_measure
from stillwing.records.seenwords import length_sentence, tilt_sentence
from stillwing.web.captions import blur_words
from stillwing.web.curve import cut_box, cut_href

__all__ = ["AnimalPicture", "BodyLine", "FrameChoice", "TiltChoice", "animal_picture"]

PICTURE_SIDE_PX = 600
"""Longest side of the cut-out. [CSS px]"""
THUMB_SIDE_PX = 96
"""Longest side of the largest of the small cut-outs, which have one scale. [CSS px]"""
MOST_ENLARGED = 4.0
FIRST_ENDS = ((0.3, 0.5), (0.7, 0.5))
"""Where the ends wait in the animal's box, as shares of its sides, while there is no line."""


@dataclass(frozen=True, slots=True)
class BodyLine:
    """The two ends of the body. [px of the original]"""

    head_x: float
    head_y: float
    tail_x: float
    tail_y: float


@dataclass(frozen=True, slots=True)
class FrameChoice:
    """One frame that may be measured."""

    frame_id: int
    number: int
    source: str
    width: int
    """CSS px, as ``height``."""
    height: int
    words: str
    spoken: str
    is_measured_here: bool


@dataclass(frozen=True, slots=True)
class TiltChoice:
    """One answer to how far the body may be turned."""

    value: str
    words: str
    is_picked: bool


@dataclass(frozen=True, slots=True)
class AnimalPicture:
    """One frame of the animal with the line of its body."""

    frame_id: int
    number: int
    source: str
    width: int
    """CSS px, as ``height``."""
    height: int
    is_enlarged: bool
    cut: Box
    """What the cut-out shows of the original. [px]"""
    line: BodyLine | None
    start: BodyLine
    """The line, or where its ends wait to be put in their places."""
    is_marked: bool
    state: str
    """Whose line it is, in words."""
    length: str
    """In words, or why there is none."""
    is_length_told: bool
    length_px: str
    """Empty where there is no line."""
    tilt_told: str
    tilts: tuple[TiltChoice, ...]
    tilt_deg: str
    is_picked_by_hand: bool
    frames: tuple[FrameChoice, ...]


def animal_picture(trace: BurstTrace, body: MeasuredBody, look: Look) -> AnimalPicture:
    """Return the picture of the frame that was measured."""
    shown = frames_to_measure(trace)
    frame = next(one for one in shown if one.id == body.frame_id)
    animal = frame.animals[0]
    cut = cut_box(frame, animal)
    scale = min(PICTURE_SIDE_PX / max(cut.width_px, cut.height_px), MOST_ENLARGED)
    line = _line(body.seen.axis, is_marked=body.is_marked) if isinstance(body.seen, SeenLength) else None
    return AnimalPicture(
        frame.id,
        frame.number + 1,
        cut_href(frame, animal, "plate"),
        max(1, round(cut.width_px * scale)),
        max(1, round(cut.height_px * scale)),
        scale > 1,
        cut,
        line,
        line or _waiting(animal.box),
        body.is_marked,
        _state(body),
        length_sentence(body),
        isinstance(body.length, BodyLength),
        _length_px(body),
        tilt_sentence(body.length) if isinstance(body.length, BodyLength) else "",
        _tilts(look.most_tilt_deg),
        "" if look.most_tilt_deg is None else f"{look.most_tilt_deg:g}",
        look.frame_id is not None,
        _frames(shown, frame.id),
    )


def _line(axis: BodyAxis, *, is_marked: bool) -> BodyLine:
    # A marked line begins with the head, the tool's own with the thinner end: of a dragonfly that of the abdomen.
    head, tail = (axis.start_px, axis.end_px) if is_marked else (axis.end_px, axis.start_px)
    return BodyLine(*(round(value, 1) for value in (*head, *tail)))


def _waiting(box: Box) -> BodyLine:
    (x0, y0), (x1, y1) = (
        (box.x_px + across * box.width_px, box.y_px + down * box.height_px) for across, down in FIRST_ENDS
    )
    return BodyLine(*(round(value, 1) for value in (x0, y0, x1, y1)))


def _state(body: MeasuredBody) -> str:
    if body.is_marked:
        return "inked: the ends as you marked or confirmed them"
    if isinstance(body.seen, SeenLength):
        return "pencilled: the tool's own line, which nobody has confirmed"
    return "no line yet: put the two ends on the front of the head and the end of the body"


def _length_px(body: MeasuredBody) -> str:
    if not isinstance(body.seen, SeenLength):
        return ""
    low, likely, high = body.seen.length_px
    return f"{likely:.0f} px in the picture ({low:.0f} to {high:.0f})"


def _tilts(most_tilt_deg: float | None) -> tuple[TiltChoice, ...]:
    return (
        TiltChoice("", "not known", most_tilt_deg is None),
        TiltChoice(f"{SIDE_ON_DEG:g}", f"side on (within {SIDE_ON_DEG:g}°)", most_tilt_deg == SIDE_ON_DEG),
    )


def _frames(shown: tuple[TraceFrame, ...], measured_id: int) -> tuple[FrameChoice, ...]:
    boxes = {frame.id: cut_box(frame, frame.animals[0]) for frame in shown}
    largest_px = max(max(box.width_px, box.height_px) for box in boxes.values())
    scale = min(THUMB_SIDE_PX / largest_px, MOST_ENLARGED)
    return tuple(
        FrameChoice(
            frame.id,
            frame.number + 1,
            cut_href(frame, frame.animals[0], "lane"),
            max(8, round(boxes[frame.id].width_px * scale)),
            max(8, round(boxes[frame.id].height_px * scale)),
            blur_words(frame),
            f"measure frame {frame.number + 1}, {blur_words(frame)}",
            frame.id == measured_id,
        )
        for frame in shown
    )
