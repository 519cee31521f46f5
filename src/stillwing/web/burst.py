"""The page of one burst: its trace large, the animals all at one scale beneath, and the note on one frame."""

from dataclasses import dataclass
from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillwing.fieldbook.burstlog import burst_logs
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import BurstTrace, TraceFrame, neighbours
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur
from stillwing.web.blur_axis import SHARP_PX, blur_limit_px, softest_px
from stillwing.web.captions import blur_words, choice_words, spoken
from stillwing.web.curve import CurveCut, curve_cuts, cut_box, cut_href
from stillwing.web.desk import Desk
from stillwing.web.measuring import MeasuringState
from stillwing.web.note import FrameNote, note_of, shown_size
from stillwing.web.originals import TILE_PX
from stillwing.web.sightings_evidence import Linked
from stillwing.web.sightings_lines import filed_from
from stillwing.web.told import Told, told
from stillwing.web.trace import TraceColumns, duration_s, lead, sharpest, trace_columns

__all__ = ["BurstPage", "PlateItem", "PlateScale", "burst_page", "burst_routes", "plate_scale"]

PLATE_SIDE_PX = 168
"""Longest side of the largest cut-out on the plate. [CSS px]"""

WHOLE_SIDE_PX = 96
"""Longest side of a whole picture on the plate, small beside the animals: it is at no scale. [CSS px]"""

MOST_ENLARGED = 4.0

SCALE_BAR_PX = (40, 110)
"""The scale bar is between these lengths. [CSS px]"""


@dataclass(frozen=True, slots=True)
class PlateScale:
    """The one scale of a plate: CSS px per px of the original, and a bar to measure with.

    A narrow window shows both smaller, so the bar holds there too.
    """

    scale: float
    bar_px: int
    """Length of the bar in the original."""
    bar_width: int
    """The same in CSS px."""


@dataclass(frozen=True, slots=True)
class PlateItem:
    """One frame on the plate."""

    frame_id: int
    number: int
    href: str
    source: str
    width: int
    """CSS px, as ``height``."""
    height: int
    is_measured: bool
    is_found: bool
    blur: Blur | None
    blur_words: str
    choice: Choice | None
    is_decided: bool
    reason: str
    words: str


@dataclass(frozen=True, slots=True)
class BurstPage:
    """One burst."""

    title: str
    outing: Outing
    burst_id: int
    place: int
    """Place in the outing, from 1."""
    n_bursts: int
    outing_href: str
    before_href: str | None
    after_href: str | None
    taken_at: datetime | None
    duration_s: float | None
    told: Told
    """What the field log tells."""
    clocks_href: str
    filed: tuple[Linked, ...]
    """Sightings that it shows."""
    spoken: str
    sharp_px: float
    soft_px: float
    limit_px: float | None
    frame_width_px: int | None
    frame_height_px: int | None
    trace: TraceColumns
    cuts: tuple[CurveCut, ...]
    has_way: bool
    """An animal was found in some frame, so that its way across the picture can be drawn."""
    plate: tuple[PlateItem, ...]
    plate_scale: PlateScale
    note: FrameNote
    measuring: MeasuringState
    wants_measuring: bool
    tile_px: int


def burst_page(desk: Desk, outing: Outing, trace: BurstTrace, number: int | None) -> BurstPage:
    """Return the page of a burst with the note on frame ``number``, or on the frame that a reader wants first."""
    beside = neighbours(desk.book, trace.id)
    scale = plate_scale(trace)
    href = f"/outings/{outing.id}/bursts/"
    first = trace.frames[0] if trace.frames else None
    return BurstPage(
        trace.name,
        outing,
        trace.id,
        beside.place + 1,
        beside.n_bursts,
        f"/outings/{outing.id}?first={max(1, beside.place + 1 - beside.place % 20)}#burst-{trace.id}",
        None if beside.before is None else f"{href}{beside.before}",
        None if beside.after is None else f"{href}{beside.after}",
        trace.taken_at,
        duration_s(trace),
        told(
            burst_logs(desk.book, outing.id, [trace.id]).get(trace.id),
            None if trace.taken_at is None else trace.taken_at.tzinfo,
        ),
        f"/outings/{outing.id}/log#clocks",
        filed_from(desk.book, trace.id),
        spoken(trace),
        SHARP_PX,
        softest_px([trace]),
        blur_limit_px(outing.sharp_for, [trace]),
        None if first is None else first.width_px,
        None if first is None else first.height_px,
        trace_columns(trace),
        curve_cuts(outing.id, trace),
        any(frame.animals for frame in trace.frames),
        tuple(_plate_item(outing.id, trace, frame, scale.scale) for frame in trace.frames),
        scale,
        note_of(desk, outing.id, trace, number or first_number(trace)),
        desk.measuring.state(outing.id),
        desk.measuring.wants_measuring(outing.id, trace.id),
        TILE_PX,
    )


def burst_routes(desk: Desk) -> APIRouter:
    """Return the route of this page."""
    routes = APIRouter(prefix="/outings/{outing_id}/bursts/{burst_id}")

    @routes.get("")
    def show_burst(request: Request, outing_id: int, burst_id: int, frame: int | None = None) -> Response:
        """Show a burst."""
        page = burst_page(desk, desk.outing(outing_id), desk.burst_of(outing_id, burst_id), frame)
        return desk.leaves.answer(request, page, "burst.html")

    return routes


def first_number(trace: BurstTrace) -> int:
    """Return the frame that a reader wants to see first: the sharpest kept, else the sharpest, else the first."""
    kept = tuple(frame for frame in trace.frames if frame.choice is Choice.KEEP)
    best = sharpest(kept) or sharpest(trace.frames) or next(iter(kept), None)
    return 1 if best is None else best.number + 1


def plate_scale(trace: BurstTrace) -> PlateScale:
    """Return the scale at which the largest animal of the burst just fits its room on the plate."""
    boxes = [cut_box(frame, animal) for frame in trace.frames if (animal := lead(frame)) is not None]
    largest_px = max((max(box.width_px, box.height_px) for box in boxes), default=float(PLATE_SIDE_PX))
    scale = min(PLATE_SIDE_PX / largest_px, MOST_ENLARGED)
    low, high = SCALE_BAR_PX
    # The roundest length whose bar has a handy size: 1, 2 or 5 times a power of ten.
    lengths = [digit * 10**power for power in range(5) for digit in (1, 2, 5)]
    bar_px = next((one for one in lengths if low <= one * scale <= high), lengths[-1])
    return PlateScale(scale, bar_px, round(bar_px * scale))


def _plate_item(outing_id: int, trace: BurstTrace, frame: TraceFrame, scale: float) -> PlateItem:
    animal = lead(frame)
    number = frame.number + 1
    told = blur_words(frame)
    if animal is None:
        width, height = shown_size(frame, WHOLE_SIDE_PX)
    else:
        box = cut_box(frame, animal)
        width, height = max(8, round(box.width_px * scale)), max(8, round(box.height_px * scale))
    return PlateItem(
        frame.id,
        number,
        f"/outings/{outing_id}/bursts/{trace.id}?frame={number}",
        cut_href(frame, animal, "plate"),
        width,
        height,
        frame.is_measured,
        animal is not None,
        None if animal is None else animal.blur,
        told,
        frame.choice,
        frame.by_hand is not None,
        frame.reason,
        f"frame {number}, {told}, {choice_words(frame)}",
    )
