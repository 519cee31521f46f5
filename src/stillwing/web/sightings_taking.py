"""Taking sightings of files in: what they would bring is told first, and kept when a person says so."""

from collections import Counter
from collections.abc import AsyncIterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import take_sightings
from stillwing.fieldbook.sightingsforeseen import foreseen
from stillwing.fieldbook.toldwords import count
from stillwing.records.brought import Brought, brought
from stillwing.records.filedwords import changed_parts, kept_exact_words, place_words, when_words
from stillwing.records.filing import KnownNames, known_names
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk
from stillwing.web.sightings_address import AskedList, sighting_href
from stillwing.web.sightings_held import HeldFiles
from stillwing.web.sightings_view import Failed, sightings_page

__all__ = ["ChangeLine", "TakingPage", "sightings_taking_routes", "taking_page"]

LARGEST_MB = 64
"""Of all files that are sent at once; a record takes about 500 bytes."""
MOST_FILES = 20
MOST_LINES = 200
"""Changes and mistakes told one by one; of more, how many there are besides."""


@dataclass(frozen=True, slots=True)
class ChangeLine:
    """A sighting that is known and would change, or whose exact place stays."""

    words: str
    href: str
    what: str


@dataclass(frozen=True, slots=True)
class TakingPage:
    """What files would bring."""

    title: str
    files: str
    action: str
    n_new: int
    n_changed: int
    n_same: int
    n_unreadable: int
    new: tuple[str, ...]
    """Names that are new records, with how many."""
    changed: tuple[ChangeLine, ...]
    n_more_changed: int
    less_exact_words: str
    less_exact: tuple[ChangeLine, ...]
    n_more_less_exact: int
    told: tuple[str, ...]
    mistakes: tuple[str, ...]
    n_more_mistakes: int
    brings_anything: bool
    """Whether there is anything to take in, be it coarser places alone."""


def taking_page(book: FieldBook, held: Brought, action: str) -> TakingPage:
    """Return what files would bring to the field book as it is now."""
    names, told = known_names(), foreseen(book, held.sightings)
    less_exact = told.less_exact
    return TakingPage(
        "What the file brings",
        ", ".join(held.files),
        action,
        len(told.new),
        len(told.changed),
        len(told.same),
        len(held.mistakes),
        _by_name(told.new, names),
        tuple(
            _change_line(kept, names, f"changes: {', '.join(changed_parts(kept, now))}")
            for kept, now in told.changed[:MOST_LINES]
        ),
        max(0, len(told.changed) - MOST_LINES),
        kept_exact_words(len(less_exact)) if less_exact else "",
        tuple(_change_line(kept, names, f"kept as {place_words(kept.where)}") for kept in less_exact[:MOST_LINES]),
        max(0, len(less_exact) - MOST_LINES),
        held.told,
        held.mistakes[:MOST_LINES],
        max(0, len(held.mistakes) - MOST_LINES),
        bool(told.new or told.changed or less_exact),
    )


def sightings_taking_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes, held = APIRouter(prefix="/sightings/take"), HeldFiles()

    @routes.post("")
    def hold_files(request: Request, sent: SentFiles) -> Response:
        """Read files and show what they bring; nothing is kept yet."""
        files = [
            (one.filename, one.file.read())
            for one in sent.getlist("file")
            if isinstance(one, UploadFile) and one.filename
        ]
        if not files:
            failed = Failed("take", "file", "no file came; pick one that ends in .csv or .zip")
            page = sightings_page(desk.book, AskedList(), failed=failed)
            return desk.leaves.answer(request, page, "sightings.html", page.status)
        return RedirectResponse(f"/sightings/take/{held.hold(brought(files))}", 303)

    @routes.get("/{upload}")
    def show_brought(request: Request, upload: str) -> Response:
        """Show what files would bring."""
        page = taking_page(desk.book, held.named(upload), f"/sightings/take/{upload}")
        return desk.leaves.answer(request, page, "sighting_taking.html")

    @routes.post("/{upload}")
    def take_in(upload: str, sent: Sent) -> Response:
        """Keep what files bring."""
        take_sightings(desk.book, held.named(upload).sightings, replaces_exact=bool(sent.get("replaces_exact")))
        held.drop(upload)
        return RedirectResponse("/sightings#last-step", 303)

    return routes


async def _form(request: Request) -> AsyncIterator[FormData]:
    length = request.headers.get("content-length", "")
    if not length.isdigit() or int(length) > LARGEST_MB * 1_000_000:
        size = f"{int(length) / 1e6:,.0f} MB" if length.isdigit() else "of a size that it does not tell"
        raise InputError(f"what was sent is {size}; files of sightings are up to {LARGEST_MB} MB together")
    async with request.form(max_files=MOST_FILES, max_fields=1) as form:
        yield form


SentFiles = Annotated[FormData, Depends(_form)]


def _by_name(new: Sequence[Sighting], names: KnownNames) -> tuple[str, ...]:
    counted = Counter(one.scientific_name for one in new)
    return tuple(f"{_name(name, names)}: {count(n, 'sighting')}" for name, n in counted.most_common(MOST_LINES))


def _name(scientific: str, names: KnownNames) -> str:
    english = names.english(scientific)
    return f"{english}, {scientific}" if english else scientific


def _change_line(sighting: Sighting, names: KnownNames, what: str) -> ChangeLine:
    words = f"{_name(sighting.scientific_name, names)}, {when_words(sighting.when)}"
    return ChangeLine(words, sighting_href(sighting.id), what)
