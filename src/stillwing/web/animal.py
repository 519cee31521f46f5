"""The page of the animal of one burst: which species it may be, why, and what to look at next."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from stillwing.errors import InputError
from stillwing.fieldbook.looks import Look, keep_look, list_picked_last, look_of
from stillwing.records.identify import Identification, identify
from stillwing.records.measuredonce import MeasuredOnce
from stillwing.records.region import Region
from stillwing.records.regionpicks import RegionPick, RegionPicks, usable_region
from stillwing.records.seen import Seen
from stillwing.web.animal_address import address, animal_href
from stillwing.web.animal_form import Asked, changed_look
from stillwing.web.animal_view import AnimalPage, Shown, animal_page
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk

__all__ = ["Remembered", "animal_routes", "shown_animal"]

Skipped = Annotated[list[str] | None, Query()]
"""Characters that cannot be seen in the picture, in the page's address: they are no part of what is known."""

ANCHORS = {"answer": "verdict", "sex": "verdict", "region": "verdict", "counts": "sources"}
"""Where on the page a change shows; those of the body at its picture."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """What need not be read again for each answer: pictures and lists of species."""

    measured: MeasuredOnce = field(default_factory=MeasuredOnce)
    regions: RegionPicks = field(default_factory=RegionPicks)


def shown_animal(
    desk: Desk, remembered: Remembered, at: tuple[int, int], skipped: Sequence[str] = (), failure: str = ""
) -> AnimalPage:
    """Return the page.

    Parameters
    ----------
    desk : Desk
    remembered : Remembered
    at : (int, int)
        Numbers of the outing and the burst.
    skipped : sequence of str
        Characters that cannot be seen.
    failure : str
        Why what was sent is not kept; empty where nothing went wrong.

    Raises
    ------
    UnknownThing
        If there is no such burst.
    """
    outing, trace = desk.outing(at[0]), desk.burst_of(*at)
    look, picks = look_of(desk.book, trace.id), remembered.regions.picks()
    region, told, is_proposed = _list_of(desk, look, picks)
    known = found = None
    if region is not None:
        known = remembered.measured.animal_seen(desk.book, trace, region, look)
        found, told = _identified(region, known.seen)
    said = failure or told
    return animal_page(
        Shown(outing, trace, look, region, picks, known, found, skipped, said, bool(failure), is_proposed)
    )


def animal_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/outings/{outing_id}/bursts/{burst_id}/animal")
    remembered = Remembered()

    @routes.get("")
    def show_animal(request: Request, outing_id: int, burst_id: int, skip: Skipped = None) -> Response:
        """Show which animal it may be."""
        page = shown_animal(desk, remembered, (outing_id, burst_id), skip or ())
        return desk.leaves.answer(request, page, "animal.html")

    @routes.post("/look")
    def keep_what_was_said(
        request: Request, outing_id: int, burst_id: int, sent: Sent, skip: Skipped = None
    ) -> Response:
        """Keep what was said of the animal."""
        trace, picks = desk.burst_of(outing_id, burst_id), remembered.regions.picks()
        look = look_of(desk.book, burst_id)
        region, _, _ = _list_of(desk, look, picks)
        try:
            changed = changed_look(look, Asked(trace, region, picks), sent)
        except InputError as error:
            page = shown_animal(desk, remembered, (outing_id, burst_id), skip or (), str(error))
            return desk.leaves.answer(request, page, "animal.html", page.status)
        keep_look(desk.book, burst_id, changed)
        where = ANCHORS.get(str(sent["part"]), "picture")
        return RedirectResponse(f"{address(animal_href(outing_id, burst_id), skip or ())}#{where}", 303)

    return routes


def _list_of(desk: Desk, look: Look, picks: tuple[RegionPick, ...]) -> tuple[Region | None, str, bool]:
    """Return the list to look through, why there is none, and whether it was picked for another burst."""
    key = look.region or list_picked_last(desk.book)
    try:
        return usable_region(picks, key), "", not look.region and bool(key)
    except InputError as error:
        return None, str(error), False


def _identified(region: Region, seen: Seen) -> tuple[Identification | None, str]:
    try:
        return identify(region, seen), ""
    except InputError as error:
        return None, str(error)
