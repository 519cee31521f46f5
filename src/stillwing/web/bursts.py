"""The page of an outing: each burst as its trace, with the kept frames' cut-outs on the curve."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from stillwing.errors import UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstlog import burst_logs, log_line
from stillwing.fieldbook.outings import Outing, OutingCounts, counts, failures
from stillwing.fieldbook.traces import BurstSummary, BurstTrace, burst_summaries, traces
from stillwing.frames.chosen import Choice
from stillwing.web.blur_axis import SHARP_PX, blur_limit_px, softest_px
from stillwing.web.captions import blur_words, choice_words, spoken
from stillwing.web.curve import CurveCut, curve_cuts
from stillwing.web.desk import Desk
from stillwing.web.told import Told, log_line_words, told
from stillwing.web.trace import TraceColumns, duration_s, sharpest, trace_columns

__all__ = [
    "PIECE",
    "BurstLine",
    "BurstsPage",
    "OverviewPage",
    "Remark",
    "bursts_page",
    "bursts_routes",
    "overview_page",
]

PIECE = 20
"""Bursts in one piece of the page."""

FAILURES_SHOWN = 20
REMARKS_SHOWN = 4

PER_FRAME = 22
"""CSS px between frames on a trace; a burst too long for the window is pressed together by the page."""

PER_CUT = 44
"""CSS px that a cut-out on the curve wants at least."""

LEAST_WIDTH = 220
PLOT_EDGES = 60
"""CSS px beside the plot itself, as in ``bursts.js``."""

HEIGHT, HEIGHT_WITHOUT_CUTS = 280, 196
"""CSS px of a trace, with and without the lane for cut-outs above it."""


@dataclass(frozen=True, slots=True)
class Remark:
    """Why a frame is kept, or how the sharpest one stands where none is."""

    href: str
    head: str
    reason: str


@dataclass(frozen=True, slots=True)
class BurstLine:
    """One burst on the page of its outing."""

    id: int
    number: int
    """Place in the outing, from 1."""
    name: str
    href: str
    taken_at: datetime | None
    duration_s: float | None
    told: Told
    """What the field log tells."""
    n_frames: int
    n_measured: int
    n_found: int
    n_keep: int
    n_spare: int
    n_by_hand: int
    sharpest_blur_px: float
    spoken: str
    trace: TraceColumns
    cuts: tuple[CurveCut, ...]
    remarks: tuple[Remark, ...]
    n_more_remarks: int
    plot_width: int
    """Room for the trace where the window has it, with ``plot_height``. [CSS px]"""
    plot_height: int


@dataclass(frozen=True, slots=True)
class BurstsPage:
    """A piece of an outing's bursts, in order of time."""

    title: str
    outing: Outing
    counts: OutingCounts
    first: int
    """Number of the first burst shown, from 1."""
    piece: int
    """Bursts in one piece."""
    sharp_px: float
    """Top of every blur axis of the page; ``soft_px`` is its bottom."""
    soft_px: float
    limit_px: float | None
    """Largest blur that the outing's output hides; ``None`` before an output was set."""
    bursts: tuple[BurstLine, ...]
    before_href: str | None
    after_href: str | None
    overview_plot: str
    """Plot of the whole outing: over the hours, or over the bursts' order where a camera had no clock."""
    log_href: str
    log_words: str
    """How much was logged, and of how many bursts it tells."""
    failed: tuple[str, ...]
    """Sentences on the first files that could not be read."""


@dataclass(frozen=True, slots=True)
class OverviewPage:
    """Every burst of an outing in one row of columns, for the plot of the whole outing."""

    id: tuple[int, ...]
    number: tuple[int, ...]
    clock_ms: tuple[float | None, ...]
    """Time by the camera's clock, as milliseconds since 1970 of a clock that stands at UTC."""
    blur_px: tuple[float | None, ...]
    n_keep: tuple[int, ...]
    n_inked: tuple[int, ...]
    n_frames: tuple[int, ...]


def bursts_page(book: FieldBook, outing: Outing, *, first: int = 1, soft_px: float | None = None) -> BurstsPage:
    """Return the piece of the page that begins with burst number ``first``, counted from 1.

    Parameters
    ----------
    soft_px : float, optional
        Bottom of the blur axis of the piece that came before, so that all pieces have one scale. [px]

    Raises
    ------
    UnknownThing
        If the outing has no burst of that number.
    """
    numbers = counts(book, outing.id)
    if not 1 <= first <= max(numbers.n_bursts, 1):
        raise UnknownThing(f"{outing.name} has {numbers.n_bursts} bursts, so none with number {first}")
    summaries = burst_summaries(book, outing.id, offset=first - 1, limit=PIECE)
    shown = traces(book, [one.id for one in summaries])
    told_of = _told(book, outing.id, summaries)
    n_told = sum(bool(one.word) for one in told_of)
    lines = zip(summaries, shown, told_of, strict=True)
    after = first + PIECE
    bottom_px = soft_px if soft_px is not None and 8 <= soft_px <= 64 else softest_px(shown)
    return BurstsPage(
        outing.name,
        outing,
        numbers,
        first,
        PIECE,
        SHARP_PX,
        bottom_px,
        blur_limit_px(outing.sharp_for, shown),
        tuple(_line(outing.id, first + i, *one) for i, one in enumerate(lines)),
        f"/outings/{outing.id}?first={max(1, first - PIECE)}" if first > 1 else None,
        f"/outings/{outing.id}?first={after}&soft_px={bottom_px:g}" if after <= numbers.n_bursts else None,
        _overview_plot(book, outing.id),
        f"/outings/{outing.id}/log",
        log_line_words(log_line(book, outing.id), n_told, numbers.n_bursts, len(shown)),
        tuple(str(one) for one in failures(book, outing.id)[:FAILURES_SHOWN]),
    )


def overview_page(book: FieldBook, outing: Outing) -> OverviewPage:
    """Return every burst of the outing in a few figures."""
    summaries = burst_summaries(book, outing.id, limit=-1)
    rows = [
        (
            one.id,
            number,
            None if one.taken_at is None else _clock_ms(one.taken_at),
            round(one.sharpest_blur_px, 3),
            one.n_keep,
            one.n_by_hand,
            one.n_frames,
        )
        for number, one in enumerate(summaries, start=1)
    ]
    return OverviewPage(*zip(*rows, strict=True)) if rows else OverviewPage((), (), (), (), (), (), ())


def bursts_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/outings/{outing_id}")

    @routes.get("")
    def show_bursts(request: Request, outing_id: int, first: int = 1, soft_px: float | None = None) -> Response:
        """Show a piece of the bursts."""
        page = bursts_page(desk.book, desk.outing(outing_id), first=first, soft_px=soft_px)
        return desk.leaves.answer(request, page, "bursts.html")

    @routes.get("/piece")
    def show_piece(request: Request, outing_id: int, first: int, soft_px: float | None = None) -> Response:
        """Show a piece of the bursts without the page round it, to be appended."""
        page = bursts_page(desk.book, desk.outing(outing_id), first=first, soft_px=soft_px)
        return HTMLResponse(desk.leaves.html(request, page, "bursts_piece.html"))

    @routes.get("/overview")
    def show_overview(request: Request, outing_id: int) -> Response:
        """Answer with the figures of the plot of the whole outing."""
        return desk.leaves.json(overview_page(desk.book, desk.outing(outing_id)))

    return routes


def _told(book: FieldBook, outing_id: int, summaries: Sequence[BurstSummary]) -> list[Told]:
    logs = burst_logs(book, outing_id, [one.id for one in summaries])
    return [told(logs.get(one.id), None if one.taken_at is None else one.taken_at.tzinfo) for one in summaries]


def _line(outing_id: int, number: int, summary: BurstSummary, trace: BurstTrace, told_of: Told) -> BurstLine:
    remarks, cuts = _remarks(outing_id, trace), curve_cuts(outing_id, trace)
    return BurstLine(
        summary.id,
        number,
        summary.name,
        f"/outings/{outing_id}/bursts/{summary.id}",
        summary.taken_at,
        duration_s(trace),
        told_of,
        summary.n_frames,
        summary.n_measured,
        summary.n_found,
        summary.n_keep,
        summary.n_spare,
        summary.n_by_hand,
        summary.sharpest_blur_px,
        spoken(trace),
        trace_columns(trace),
        cuts,
        remarks[:REMARKS_SHOWN],
        max(0, len(remarks) - REMARKS_SHOWN),
        PLOT_EDGES + max(LEAST_WIDTH, PER_FRAME * summary.n_frames, PER_CUT * len(cuts)),
        HEIGHT if cuts else HEIGHT_WITHOUT_CUTS,
    )


def _overview_plot(book: FieldBook, outing_id: int) -> str:
    # Bursts without a time come first, so the first one tells whether all have one.
    first = burst_summaries(book, outing_id, limit=1)
    return "hours" if first and first[0].taken_at is not None else "order"


def _remarks(outing_id: int, trace: BurstTrace) -> tuple[Remark, ...]:
    kept = [frame for frame in trace.frames if frame.choice is Choice.KEEP]
    if not kept:
        best = sharpest(trace.frames)
        kept = [] if best is None else [best]
    return tuple(
        Remark(
            f"/outings/{outing_id}/bursts/{trace.id}?frame={frame.number + 1}",
            f"Frame {frame.number + 1}, {blur_words(frame)}: {choice_words(frame)}",
            frame.reason,
        )
        for frame in kept
    )


def _clock_ms(when: datetime) -> float:
    """Return the camera's wall clock, whatever its offset, on a scale that the plot reads as UTC."""
    return when.replace(tzinfo=UTC).timestamp() * 1000
