"""What a contact sheet shows, before anything is drawn: bursts with keepers, each with its trace and cut-outs.

A plate is one burst; all its cut-outs are at one scale, so that a small animal looks small.
"""

import io
import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import standing_choices
from stillwing.fieldbook.traces import BurstTrace, TraceFrame, traces
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur, Box
from stillwing.frames.pixels import decode_region_rgb, picture_rgb

__all__ = ["CELL_HEIGHT", "CELL_WIDTH", "Cutout", "Plate", "Specimen", "plates"]

CELL_WIDTH, CELL_HEIGHT = 232.0, 174.0
"""Room of a cut-out on the sheet, in 1/96 inch: three beside each other on A4 with a margin column."""

DENSITY = 2.0
"""Pixels of a cut-out's picture per 1/96 inch: 192 ppi, for dense screens and for print."""

LARGEST_SCALE = 1.0
"""A pixel of the original is never shown larger than 1/96 inch; enlarging adds nothing."""

AIR = 0.12
"""Room round the animal, as a share of its box, so that its surroundings tell."""

JPEG_QUALITY = 80

BURSTS_AT_ONCE = 20


@dataclass(frozen=True, slots=True)
class Cutout:
    """A picture cut out of a frame, as a JPEG, and how large it stands on the sheet."""

    jpeg: bytes
    width: float
    """On the sheet. [1/96 inch]"""
    height: float


@dataclass(frozen=True, slots=True)
class Specimen:
    """One frame on a plate."""

    file_name: str
    number: int
    """Place in its burst, from 0."""
    choice: Choice
    is_by_hand: bool
    reason: str
    blur: Blur | None
    usable_width_px: float
    frame_width_px: int
    frame_height_px: int
    box: Box | None
    """The best animal, in pixels of the frame; ``None`` where none was found and the whole frame is shown."""
    cutout: Cutout | None
    """``None`` where the file cannot be read any more."""
    missing: str
    """Why there is no cut-out; empty where there is one."""


@dataclass(frozen=True, slots=True)
class Plate:
    """One burst with those of its frames that the sheet shows."""

    burst: str
    taken_at: datetime | None
    blurs_px: tuple[float, ...]
    """Blur of the best animal of each frame of the burst, NaN where none was measured."""
    scale: float
    """Size on the sheet, in 1/96 inch, of one pixel of the original."""
    specimens: tuple[Specimen, ...]


def plates(book: FieldBook, outing_id: int, choices: Collection[Choice] = (Choice.KEEP,)) -> Iterator[Plate]:
    """Give the plates of an outing in order of time, one at a time, so that memory does not grow with the outing.

    Raises
    ------
    InputError
        If no frame of the outing stands at one of ``choices``.
    """
    shown = {one.frame_id: one.burst_id for one in standing_choices(book, outing_id) if one.choice in choices}
    if not shown:
        words = " or ".join(choices)
        raise InputError(f"no frame of this outing is to {words}, so that a contact sheet would be empty")
    burst_ids = list(dict.fromkeys(shown.values()))
    for start in range(0, len(burst_ids), BURSTS_AT_ONCE):
        for trace in traces(book, burst_ids[start : start + BURSTS_AT_ONCE]):
            yield _plate(trace, [frame for frame in trace.frames if frame.id in shown])


def _plate(trace: BurstTrace, frames: list[TraceFrame]) -> Plate:
    areas = [_area(frame) for frame in frames]
    sizes = [(area.width_px, area.height_px) for area in areas if area is not None]
    scale = min([LARGEST_SCALE, *(min(CELL_WIDTH / width, CELL_HEIGHT / height) for width, height in sizes)])
    specimens = tuple(_specimen(frame, area, scale) for frame, area in zip(frames, areas, strict=True))
    blurs = tuple(
        frame.animals[0].blur.blur_px if frame.animals and frame.animals[0].blur else math.nan for frame in trace.frames
    )
    return Plate(trace.name, trace.taken_at, blurs, scale, specimens)


def _area(frame: TraceFrame) -> Box | None:
    """Return the animal's box with some air, within the frame; ``None`` where there is no animal."""
    if not frame.animals or frame.width_px is None or frame.height_px is None:
        return None
    box = frame.animals[0].box
    air = AIR * max(box.width_px, box.height_px)
    left, top = max(0.0, box.x_px - air), max(0.0, box.y_px - air)
    right = min(float(frame.width_px), box.x_px + box.width_px + air)
    below = min(float(frame.height_px), box.y_px + box.height_px + air)
    return Box(left, top, right - left, below - top)


def _specimen(frame: TraceFrame, area: Box | None, scale: float) -> Specimen:
    cutout, missing = None, ""
    try:
        cutout = _cut_out(frame, area, scale)
    except InputError as error:
        missing = str(error)
    animal = frame.animals[0] if frame.animals else None
    return Specimen(
        file_name=frame.path.name,
        number=frame.number,
        choice=frame.choice or Choice.LEAVE,
        is_by_hand=frame.by_hand is not None,
        reason=frame.why,
        blur=animal.blur if animal else None,
        usable_width_px=frame.usable_width_px,
        frame_width_px=frame.width_px or 0,
        frame_height_px=frame.height_px or 0,
        box=animal.box if animal else None,
        cutout=cutout,
        missing=missing,
    )


def _cut_out(frame: TraceFrame, area: Box | None, scale: float) -> Cutout:
    if area is None:
        whole = picture_rgb(frame.path, round(CELL_WIDTH * DENSITY))
        rows, columns = whole.shape[:2]
        room = min(CELL_WIDTH / columns, CELL_HEIGHT / rows)
        return Cutout(_jpeg(whole, round(columns * room * DENSITY)), columns * room, rows * room)
    region = decode_region_rgb(frame.path, area)
    rows, columns = region.shape[:2]
    return Cutout(_jpeg(region, round(columns * scale * DENSITY)), columns * scale, rows * scale)


def _jpeg(pixels: NDArray[np.uint8], width: int) -> bytes:
    picture = Image.fromarray(pixels)
    if width < picture.width:
        height = max(1, round(picture.height * width / picture.width))
        picture = picture.resize((max(1, width), height), Image.Resampling.LANCZOS, reducing_gap=3.0)
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=JPEG_QUALITY, optimize=True)
    return written.getvalue()
