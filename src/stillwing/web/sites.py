"""The Sites page: the waters that are kept, and the forms that add one and change what is known of it."""

from collections.abc import AsyncIterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.sites import KeptSite, add_site, change_site, drop_site, site_asked, site_named, sites
from stillwing.place.features import site_geojson
from stillwing.place.gpx import stands_gpx
from stillwing.place.textfile import LARGEST_MB
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk
from stillwing.web.settings_form import FieldError
from stillwing.web.sites_changes import CHANGES, Row, sent_rows, words_of
from stillwing.web.sites_files import as_file, file_stem
from stillwing.web.sites_form import (
    WAYS,
    TypedSite,
    drawn_outline,
    kept_from,
    typed_site,
)
from stillwing.web.sites_view import OutlineTold, SiteView, outline_told, site_view, site_words

__all__ = ["SiteLine", "SitesPage", "Told", "sites_page", "sites_routes"]

BLANK_ROWS = 3
"""Of the horizon's table, for what comes to it."""
MOST_FIELDS = 10_000
LARGEST_FIELD_BYTES = 4_000_000
"""Twenty thousand points as text."""


@dataclass(frozen=True, slots=True)
class SiteLine:
    """One site of the list."""

    name: str
    words: str
    href: str
    is_open: bool


@dataclass(frozen=True, slots=True)
class Told:
    """Why something was not stored: where on the page, for which field, and what was typed there."""

    part: str
    field: str | None
    sentence: str
    sent: Mapping[str, str]
    rows: tuple[Row, ...] = ()
    """Of the horizon's table, where that is the form."""


@dataclass(frozen=True, slots=True)
class SitesPage:
    """All sites, one of them open, and the form that adds one."""

    title: str
    stored: tuple[SiteLine, ...]
    open: SiteView
    is_example: bool
    """The open one is the example, which is not stored and cannot be changed."""
    horizon: tuple[Row, ...]
    """Rows of the open one's table, with blank ones at its end."""
    ways: Mapping[str, str]
    typed: TypedSite
    told: Told | None

    @property
    def status(self) -> int:
        """The HTTP status: 422 where something was not stored."""
        return 200 if self.told is None else InputError.http_status


def sites_page(
    book: FieldBook, name: str | None = None, typed: TypedSite | None = None, told: Told | None = None
) -> SitesPage:
    """Return the page.

    Parameters
    ----------
    book : FieldBook
    name : str, optional
        The site to open; the first by name without it, or the example where none is stored.
    typed : TypedSite, optional
        What was typed into the form that adds a site.
    told : Told, optional
        Why that or another form was not stored.

    Raises
    ------
    UnknownThing
        If there is no such site.
    """
    stored = sites(book)
    kept = site_named(book, name or stored[0].site.name) if stored else site_asked(book, name)
    lines = tuple(_line(one, kept.site.name) for one in stored)
    view = site_view(kept)
    return SitesPage("Sites", lines, view, not stored, _rows(view, told), WAYS, typed or TypedSite(), told)


def sites_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/sites")

    @routes.get("")
    def show_sites(request: Request, site: str | None = None) -> Response:
        """Show the sites and one of them."""
        return desk.leaves.answer(request, sites_page(desk.book, site), "sites.html")

    @routes.get("/site.geojson")
    def show_geojson(site: str | None = None) -> Response:
        """Hand over a site with everything known of it."""
        kept = _open(desk.book, site)
        return as_file(site_geojson(kept.site), f"{file_stem(kept.site.name)}.geojson", "application/geo+json")

    @routes.get("/stands.gpx")
    def show_gpx(site: str | None = None) -> Response:
        """Hand over the stands as waypoints."""
        kept = _open(desk.book, site)
        return as_file(stands_gpx(kept.site), f"{file_stem(kept.site.name)}.gpx", "application/gpx+xml")

    @routes.post("/outline")
    def tell_outline(sent: Sent) -> Response:
        """Answer what a drawing has come to; nothing is stored."""
        return desk.leaves.json(_told_of_drawing(str(sent.get("middle", "")), str(sent.get("metres", ""))))

    @routes.post("")
    def store_site(request: Request, sent: SentForm) -> Response:
        """Store a site."""
        typed = typed_site(words_of(sent))
        try:
            kept = kept_from(typed, *_file(sent))
            kept = add_site(desk.book, kept)
        except InputError as error:
            told = _told("add", error, words_of(sent))
            return _answer(desk, request, sites_page(desk.book, None, typed, told))
        return _back(kept.site.name, "site-name")

    _add_changes(routes, desk)
    return routes


def _add_changes(routes: APIRouter, desk: Desk) -> None:
    @routes.post("/site/{part}")
    def change(request: Request, part: str, sent: SentForm) -> Response:
        """Change what is known of a site."""
        if part not in CHANGES:
            raise UnknownThing(f"nothing of a site is called {part!r}; there are {', '.join(CHANGES)}")
        name = str(sent.get("site", ""))
        kept = site_named(desk.book, name)
        where = CHANGES[part].name
        try:
            changed = CHANGES[part].change(kept, sent)
            changed = change_site(desk.book, kept.site.name, changed)
        except InputError as error:
            told = replace(_told(where, error, words_of(sent)), rows=sent_rows(sent))
            return _answer(desk, request, sites_page(desk.book, name, None, told))
        return _back(changed.site.name, where)

    @routes.post("/drop")
    def drop(sent: SentForm) -> Response:
        """Take a site out of the field book."""
        drop_site(desk.book, str(sent.get("site", "")))
        return RedirectResponse("/sites", 303)


async def _form(request: Request) -> AsyncIterator[FormData]:
    length = request.headers.get("content-length", "")
    if not length.isdigit() or int(length) > (LARGEST_MB + 1) * 1_000_000:
        size = f"{int(length) / 1e6:,.0f} MB" if length.isdigit() else "of a size that it does not tell"
        raise InputError(f"what was sent is {size}; an outline is up to {LARGEST_MB} MB")
    # What was sent as a file lies in a temporary one, which goes when the answer is made.
    async with request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD_BYTES) as form:
        yield form


SentForm = Annotated[FormData, Depends(_form)]
"""A form with what may come more than once, and a file; read before the route runs."""


def _open(book: FieldBook, name: str | None) -> KeptSite:
    stored = sites(book)
    return site_named(book, name or stored[0].site.name) if stored else site_asked(book, name)


def _told_of_drawing(middle: str, metres: str) -> OutlineTold:
    try:
        return outline_told(drawn_outline(middle, metres))
    except InputError as error:
        return OutlineTold("", "", str(error))


def _told(part: str, error: InputError, sent: Mapping[str, str]) -> Told:
    return Told(part, error.field if isinstance(error, FieldError) else None, str(error), sent)


def _rows(view: SiteView, told: Told | None) -> tuple[Row, ...]:
    shown = told.rows if told and told.part == "horizon" else view.horizon
    return (*shown, *[("", "", "", "")] * BLANK_ROWS)


def _file(sent: FormData) -> tuple[str, bytes]:
    file = sent.get("file")
    return (file.filename or "", file.file.read()) if isinstance(file, UploadFile) else ("", b"")


def _answer(desk: Desk, request: Request, page: SitesPage) -> Response:
    return desk.leaves.answer(request, page, "sites.html", page.status)


def _back(name: str, part: str) -> Response:
    # Without a part of its own, an address would take on that of the form.
    return RedirectResponse(f"/sites?{urlencode({'site': name})}#{part}", 303)


def _line(kept: KeptSite, open_name: str) -> SiteLine:
    name = kept.site.name
    return SiteLine(name, site_words(kept), f"/sites?{urlencode({'site': name})}", name == open_name)
