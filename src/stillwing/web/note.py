"""The note on one frame: its animal, where it is sharp, its figures, and the choice."""

import math
from dataclasses import dataclass
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillwing.errors import UnknownThing
from stillwing.fieldbook.frames import measured_frame
from stillwing.fieldbook.outings import failures
from stillwing.fieldbook.traces import BurstTrace, TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Animal, Blur, Box, FocusMap, MeasuredFrame
from stillwing.frames.sharpfor import print_width_cm
from stillwing.web import words
from stillwing.web.curve import cut_box, cut_href
from stillwing.web.desk import Desk

__all__ = ["BLUR_STEPS_PX", "AnimalNote", "FocusCell", "FrameNote", "frame_note", "note_routes"]

BLUR_STEPS_PX = (0.7, 1.0, 1.4, 2.0, 2.8, 4.0)
"""Where the blur scale changes its step; half octaves, so that a step is the same ratio everywhere."""

NOT_THERE = "the original is not there; put back the card or drive that it lies on, and load the page again"

PRINT_PPI = 240
"""Resolution at which a usable width is also told in centimetres."""

NOTE_CUT_PX = 300
"""Longest side of the note's picture of the animal. [CSS px]"""


@dataclass(frozen=True, slots=True)
class FocusCell:
    """One cell of the focus map: blur, and its step of the blur scale; ``None`` where nothing could be measured.

    Its place is in px of the original, from the top left of the cut-out.
    """

    blur_px: float | None
    step: int | None
    left_px: float
    top_px: float
    width_px: float
    height_px: float


@dataclass(frozen=True, slots=True)
class AnimalNote:
    """What is told about one animal of a frame."""

    number: int
    box: Box
    cut_source: str
    cut_box: Box
    shown_width: int
    """CSS px, as ``shown_height``."""
    shown_height: int
    certainty: float
    origin: str
    blur: Blur | None
    blur_words: str
    spread_words: str
    size_words: str
    edge_words: str
    light_words: str
    background_busyness: float
    outline: str
    """The outline in the cut-out, as points of an SVG polygon in px of the original; empty where there is none."""
    focus_rows: tuple[tuple[FocusCell, ...], ...]


@dataclass(frozen=True, slots=True)
class FrameNote:
    """All that is told about one frame of a burst."""

    outing_id: int
    burst_id: int
    frame_id: int
    number: int
    """Place in the burst, from 1."""
    n_frames: int
    file: str
    folder: Path
    since_first_s: float | None
    settings: str
    width_px: int | None
    height_px: int | None
    choice: Choice | None
    proposed: Choice | None
    is_decided: bool
    reason: str
    usable_words: str
    is_measured: bool
    failure: str
    """Why the last run could not measure it; empty where it could, or where none has tried."""
    from_preview: bool
    animals: tuple[AnimalNote, ...]
    drawn: Box | None
    missing: str
    """A sentence where the original is not at hand, else empty."""
    whole_source: str
    whole_width: int
    """CSS px, as ``whole_height``."""
    whole_height: int


def frame_note(
    measured: MeasuredFrame | None, outing_id: int, trace: BurstTrace, number: int, failure: str = ""
) -> FrameNote:
    """Return the note on frame ``number`` of a burst, from 1; ``measured`` is ``None`` where it was not measured."""
    frame = trace.frames[number - 1]
    first = trace.frames[0].taken_at
    return FrameNote(
        outing_id,
        trace.id,
        frame.id,
        number,
        len(trace.frames),
        words.file_name(frame.path),
        frame.path.parent,
        None if first is None or frame.taken_at is None else (frame.taken_at - first).total_seconds(),
        "" if measured is None else words.settings(measured.frame.tags),
        frame.width_px,
        frame.height_px,
        frame.choice,
        frame.proposed,
        frame.by_hand is not None,
        frame.reason,
        _usable_words(frame),
        frame.is_measured,
        failure,
        frame.from_preview,
        () if measured is None else tuple(_animal_note(frame, i, one) for i, one in enumerate(measured.animals)),
        frame.drawn,
        "" if frame.path.exists() else f"{frame.path}: {NOT_THERE}",
        f"/pictures/{frame.id}/whole.jpg",
        *shown_size(frame, NOTE_CUT_PX),
    )


def note_of(desk: Desk, outing_id: int, trace: BurstTrace, number: int) -> FrameNote:
    """Return the note on a frame of a burst, with what the field book holds on it. Raises `UnknownThing`."""
    if not 1 <= number <= len(trace.frames):
        raise UnknownThing(f"the burst {trace.name} has {len(trace.frames)} frames, so none with number {number}")
    frame = trace.frames[number - 1]
    measured = measured_frame(desk.book, frame.id) if frame.is_measured else None
    failure = "" if frame.is_measured else _failure(desk, outing_id, frame)
    return frame_note(measured, outing_id, trace, number, failure)


def note_routes(desk: Desk) -> APIRouter:
    """Return the route of the note."""
    routes = APIRouter(prefix="/outings/{outing_id}/bursts/{burst_id}")

    @routes.get("/notes/{number}")
    def show_note(request: Request, outing_id: int, burst_id: int, number: int) -> Response:
        """Show the note on one frame without the page round it."""
        note = note_of(desk, outing_id, desk.burst_of(outing_id, burst_id), number)
        return desk.leaves.answer(request, note, "note.html")

    return routes


def shown_size(frame: TraceFrame, side: int) -> tuple[int, int]:
    """Return the width and height of a whole picture whose longest side is ``side``. [CSS px]"""
    width_px, height_px = frame.width_px or 3, frame.height_px or 2
    scale = side / max(width_px, height_px)
    return max(1, round(width_px * scale)), max(1, round(height_px * scale))


def blur_step(blur_px: float) -> int:
    """Return the step of the blur scale, 0 for sharp to 6 for soft."""
    return sum(blur_px >= edge for edge in BLUR_STEPS_PX)


def _failure(desk: Desk, outing_id: int, frame: TraceFrame) -> str:
    return next((one.reason for one in failures(desk.book, outing_id) if one.path == frame.path), "")


def _animal_note(frame: TraceFrame, number: int, animal: Animal) -> AnimalNote:
    seen = frame.animals[number]
    cut = cut_box(frame, seen)
    scale = min(NOTE_CUT_PX / max(cut.width_px, cut.height_px), 4.0)
    return AnimalNote(
        number,
        animal.box,
        cut_href(frame, seen, "plate"),
        cut,
        max(1, round(cut.width_px * scale)),
        max(1, round(cut.height_px * scale)),
        animal.certainty,
        words.origin_words(animal.origin),
        animal.blur,
        "too small or too plain to measure" if animal.blur is None else _blur_words(animal.blur),
        "" if animal.blur is None else _spread_words(animal.blur),
        _size_words(animal),
        _edge_words(animal),
        _light_words(animal),
        animal.background_busyness,
        " ".join(f"{x - cut.x_px:.1f},{y - cut.y_px:.1f}" for x, y in animal.outline_px),
        () if animal.focus_map is None else _focus_rows(animal.focus_map, cut),
    )


def _focus_rows(focus: FocusMap, cut: Box) -> tuple[tuple[FocusCell, ...], ...]:
    width_px, height_px = focus.box.width_px / focus.columns, focus.box.height_px / focus.rows
    left_px, top_px = focus.box.x_px - cut.x_px, focus.box.y_px - cut.y_px

    def cell(row: int, column: int) -> FocusCell:
        blur_px = focus.blur_px[row * focus.columns + column]
        place = round(left_px + column * width_px, 2), round(top_px + row * height_px, 2)
        size = round(width_px, 2), round(height_px, 2)
        if math.isnan(blur_px):
            return FocusCell(None, None, *place, *size)
        return FocusCell(blur_px, blur_step(blur_px), *place, *size)

    return tuple(tuple(cell(row, column) for column in range(focus.columns)) for row in range(focus.rows))


def _blur_words(blur: Blur) -> str:
    between = words.interval(blur.blur_low_px, blur.blur_px, blur.blur_high_px)
    return f"{words.pixels(blur.blur_px)} ({between} with 90 % chance)"


def _spread_words(blur: Blur) -> str:
    kind = words.kind_words(blur.kind)
    if blur.direction_deg is None:
        return f"{kind}, the same in all directions"
    axes = f"{words.pixels(blur.major_px)} along {blur.direction_deg:.0f}°, {words.pixels(blur.minor_px)} across"
    return f"{kind}: {axes}"


def _size_words(animal: Animal) -> str:
    share = words.percent(animal.size_in_frame)
    return f"{animal.box.width_px:.0f} × {animal.box.height_px:.0f} px, {share} of the frame"


def _edge_words(animal: Animal) -> str:
    if animal.edge_clipped:
        return "cut by the frame's edge"
    sides = ("left", "top", "right", "bottom")
    nearest = min(range(4), key=lambda i: animal.edge_distance_px[i])
    return f"{animal.edge_distance_px[nearest]:.0f} px from the {sides[nearest]} edge"


def _light_words(animal: Animal) -> str:
    burnt, black = words.percent(animal.highlights_clipped), words.percent(animal.shadows_clipped)
    return f"{burnt} of the animal burnt out, {black} black"


def _usable_words(frame: TraceFrame) -> str:
    width_px = frame.usable_width_px
    if not math.isfinite(width_px):
        return ""
    return f"{width_px:.0f} px wide, or {print_width_cm(width_px, PRINT_PPI):.0f} cm at {PRINT_PPI} ppi"
