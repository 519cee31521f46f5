"""The forms of a sighting: a new one, one that a burst suggests, one that is kept; and its withdrawal."""

from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID, uuid4

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from stillwing.errors import UnknownThing
from stillwing.fieldbook.sightings import KeptSighting, keep_sighting, sighting_named, withdraw_sighting
from stillwing.fieldbook.traces import traces
from stillwing.records.filing import KnownNames, known_names
from stillwing.web.desk import Desk
from stillwing.web.sightings_address import sighting_href
from stillwing.web.sightings_draft import Draft, burst_draft, empty_draft, kept_draft
from stillwing.web.sightings_fields import WrongFields, typed_sighting
from stillwing.web.sightings_form import sighting_typed
from stillwing.web.sightings_record import record_page

__all__ = ["sightings_edit_routes"]

MOST_FIELDS = 2_000
LOOK_ONLY = "look"
"""What the button sends that reads name and place and keeps nothing."""
LOOKED_AT = ("name", "where", "uncertainty_m", "place_name")
"""Fields that this button reads; the others may be unfinished still."""


async def _form(request: Request) -> AsyncIterator[FormData]:
    async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
        yield form


SentForm = Annotated[FormData, Depends(_form)]
"""A form with what may come more than once; read before the route runs."""


@dataclass(frozen=True, slots=True)
class _Begun:
    """A form that was begun: from what, with which names, and where it is sent to."""

    draft: Draft
    names: KnownNames
    action: str


def sightings_edit_routes(desk: Desk) -> APIRouter:
    """Return the routes of these pages."""
    routes = APIRouter()

    @routes.get("/sightings/new")
    def show_empty(request: Request) -> Response:
        """Show an empty form."""
        return _show(desk, request, _empty(desk, uuid4()))

    @routes.post("/sightings/new")
    def keep_new(request: Request, sent: SentForm) -> Response:
        """Keep what was typed into an empty form."""
        return _keep(desk, request, _empty(desk, _identity(sent)), sent)

    @routes.get("/outings/{outing_id}/sightings/new")
    def show_suggested(request: Request, outing_id: int, burst: int | None = None, name: str = "") -> Response:
        """Show the record that a burst suggests, or an empty form where none is named."""
        return _show(desk, request, _suggested(desk, request, uuid4(), (outing_id, burst), name))

    @routes.post("/outings/{outing_id}/sightings/new")
    def keep_suggested(
        request: Request, outing_id: int, sent: SentForm, burst: int | None = None, name: str = ""
    ) -> Response:
        """Keep the record that a burst suggested, as it was put right."""
        return _keep(desk, request, _suggested(desk, request, _identity(sent), (outing_id, burst), name), sent)

    @routes.get("/sightings/{sighting_id}")
    def show_kept(request: Request, sighting_id: str) -> Response:
        """Show a sighting that is kept."""
        return _show(desk, request, _kept(desk, sighting_id))

    @routes.post("/sightings/{sighting_id}")
    def change_kept(request: Request, sighting_id: str, sent: SentForm) -> Response:
        """Change a sighting that is kept."""
        return _keep(desk, request, _kept(desk, sighting_id), sent)

    @routes.post("/sightings/{sighting_id}/withdraw")
    def withdraw(sighting_id: str) -> Response:
        """Take a sighting out."""
        withdraw_sighting(desk.book, _named(desk, sighting_id).sighting.id)
        return RedirectResponse("/sightings#last-step", 303)

    return routes


def _empty(desk: Desk, identity: UUID, outing_id: int | None = None, action: str = "/sightings/new") -> _Begun:
    return _Begun(empty_draft(desk.book, identity, outing_id), known_names(), action)


def _suggested(desk: Desk, request: Request, identity: UUID, at: tuple[int, int | None], name: str) -> _Begun:
    outing_id, burst_id = at
    action = f"{request.url.path}?{request.url.query}" if request.url.query else request.url.path
    if burst_id is None:
        return _empty(desk, identity, outing_id, action)
    names = known_names()
    return _Begun(burst_draft(desk.book, identity, desk.burst_of(outing_id, burst_id), name, names), names, action)


def _kept(desk: Desk, sighting_id: str) -> _Begun:
    kept, names = _named(desk, sighting_id), known_names()
    bursts = traces(desk.book, kept.bursts) if kept.bursts else ()
    return _Begun(kept_draft(desk.book, kept, bursts, names), names, sighting_href(kept.sighting.id))


def _named(desk: Desk, sighting_id: str) -> KeptSighting:
    try:
        identity = UUID(sighting_id)
    except ValueError as error:
        raise UnknownThing(f"the field book holds no sighting {sighting_id!r}") from error
    return sighting_named(desk.book, identity)


def _show(desk: Desk, request: Request, begun: _Begun) -> Response:
    page = record_page(desk.book, begun.draft, begun.names, begun.action)
    return desk.leaves.answer(request, page, "sighting.html")


def _keep(desk: Desk, request: Request, begun: _Begun, sent: FormData) -> Response:
    typed, draft = typed_sighting(sent), begun.draft
    wrong: dict[str, str] = {}
    try:
        sighting = sighting_typed(typed, draft.shown, draft.base, begun.names)
    except WrongFields as error:
        wrong = dict(error.sentences)
    is_look = sent.get("do") == LOOK_ONLY
    if is_look:
        wrong = {name: sentence for name, sentence in wrong.items() if name in LOOKED_AT}
    if wrong or is_look:
        page = record_page(desk.book, draft, begun.names, begun.action, typed, wrong)
        return desk.leaves.answer(request, page, "sighting.html", page.status)
    keep_sighting(desk.book, sighting, outing_id=draft.outing_id, bursts=draft.bursts)
    return RedirectResponse(f"{sighting_href(sighting.id)}#kept", 303)


def _identity(sent: FormData) -> UUID:
    """Return the identity that the form was given when it was shown, so that sending it twice keeps one record."""
    try:
        return UUID(str(sent.get("id")))
    except ValueError:
        return uuid4()
