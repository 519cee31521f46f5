"""The page of sightings: the list and the year of each species, taking the last step back, giving away."""

from typing import Annotated

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response

from stillwing.errors import InputError
from stillwing.fieldbook.sightings import sightings, undo_sightings
from stillwing.fieldbook.sightingsteps import last_step
from stillwing.records.filing import selected
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk
from stillwing.web.settings_form import FieldError
from stillwing.web.sightings_address import AskedList, asked_list, list_href, selection_of
from stillwing.web.sightings_giving import given_file, typed_giving
from stillwing.web.sightings_view import Failed, SightingsPage, sightings_page
from stillwing.web.sites_files import as_file, file_stem

__all__ = ["sightings_routes"]


def _asked(request: Request) -> AskedList:
    return asked_list(request.query_params)


Asked = Annotated[AskedList, Depends(_asked)]


def sightings_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/sightings")

    @routes.get("")
    def show_sightings(request: Request, asked: Asked) -> Response:
        """Show the sightings that are asked for."""
        return _answer(desk, request, sightings_page(desk.book, asked))

    @routes.post("/undo")
    def take_back(request: Request, sent: Sent) -> Response:
        """Take the last step back, if it is the one that the page showed."""
        step = last_step(desk.book)
        if step is None or step.made_at.isoformat() != sent.get("made_at"):
            told = "nothing is taken back: the last step is not the one that you were shown; look at it first"
            failed = Failed("step", "", told)
            return _answer(desk, request, sightings_page(desk.book, AskedList(), failed=failed))
        undo_sightings(desk.book)
        return RedirectResponse(list_href(AskedList(), "#last-step"), 303)

    @routes.post("/give")
    def give_away(request: Request, sent: Sent) -> Response:
        """Hand over sightings as a file."""
        asked, typed = asked_list(sent), typed_giving(sent)
        try:
            file = given_file(typed, selected(sightings(desk.book), selection_of(asked)))
        except InputError as error:
            field = error.field if isinstance(error, FieldError) else ""
            page = sightings_page(desk.book, asked, typed, Failed("give", field, str(error)))
            return _answer(desk, request, page)
        return as_file(file.content, f"{file_stem(typed.title)}{file.suffix}", file.media_type)

    return routes


def _answer(desk: Desk, request: Request, page: SightingsPage) -> Response:
    return desk.leaves.answer(request, page, "sightings.html", page.status)
