"""The first page: the outings that the field book holds."""

from dataclasses import dataclass
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillwing.fieldbook import outings as kept
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import Outing, OutingCounts
from stillwing.fieldbook.sightings import sightings_by_outing
from stillwing.web.desk import Desk

__all__ = ["OutingLine", "OutingsPage", "outings_page", "outings_routes"]


@dataclass(frozen=True, slots=True)
class OutingLine:
    """One outing with how far it has come."""

    outing: Outing
    counts: OutingCounts
    href: str
    keep_percent: float
    """Frames to keep, in percent of all."""
    keep_or_spare_percent: float
    n_sightings: int


@dataclass(frozen=True, slots=True)
class OutingsPage:
    """All outings, the newest first."""

    title: str
    book_path: Path
    outings: tuple[OutingLine, ...]


def outings_page(book: FieldBook) -> OutingsPage:
    """Return the page of outings."""
    filed = sightings_by_outing(book)
    lines = tuple(_line(book, outing, filed.get(outing.id, 0)) for outing in kept.outings(book))
    return OutingsPage("Outings", book.path, lines)


def outings_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter()

    @routes.get("/")
    def show_outings(request: Request) -> Response:
        """Show the outings."""
        return desk.leaves.answer(request, outings_page(desk.book), "outings.html")

    return routes


def _line(book: FieldBook, outing: Outing, n_sightings: int) -> OutingLine:
    counts = kept.counts(book, outing.id)
    per_frame = 100 / max(counts.n_frames, 1)
    return OutingLine(
        outing,
        counts,
        f"/outings/{outing.id}",
        round(counts.n_keep * per_frame, 2),
        round((counts.n_keep + counts.n_spare) * per_frame, 2),
        n_sightings,
    )
