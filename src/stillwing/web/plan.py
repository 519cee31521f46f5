"""The Plan page: a day at a water, which hour, which stand, which way to face; and the files to carry it away in."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillwing.animals.catalogue import read_catalogue
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.planning import PlanAsked, day_asked
from stillwing.fieldbook.sites import site_asked, sites
from stillwing.place.heading import Shown
from stillwing.plan.told import DayTold
from stillwing.share.plancopies import copy_of
from stillwing.share.plansheet import plan_sheet_svg
from stillwing.sky.forecast import PLACE_DECIMALS
from stillwing.sky.toldweather import SERVICES
from stillwing.web.desk import Desk
from stillwing.web.plan_form import (
    MORE,
    OPTICS,
    SHARPNESS,
    PlanTyped,
    field_to_blame,
    plan_address,
    question_of,
    typed_plan,
    whole,
)
from stillwing.web.plan_shelf import PlanShelf
from stillwing.web.plan_view import HourView, PlanView, hour_view, plan_view
from stillwing.web.settings import CHOICES_BEHAVIOUR, CHOICES_OUTPUT, Wrong
from stillwing.web.settings_form import FieldError
from stillwing.web.settings_kits import KitsPart, kits_part
from stillwing.web.sites_files import as_file, file_stem

__all__ = ["Files", "PlanChoices", "PlanPage", "at_some_site", "plan_page", "plan_routes"]

COPIES = {
    ".pdf": "application/pdf",
    ".ics": "text/calendar; charset=utf-8",
    ".gpx": "application/gpx+xml",
    ".geojson": "application/geo+json",
}
"""What can be carried away, by its ending, in the order of `Files`."""
SIDES = {"": "any, each for what it is worth"} | {side.value: side.value for side in Shown}


@dataclass(frozen=True, slots=True)
class PlanChoices:
    """What the fields of the question offer."""

    sites: tuple[str, ...]
    """Names of the sites kept; none where the example answers."""
    animals: tuple[str, ...]
    behaviours: Mapping[str, str]
    outputs: tuple[str, ...]
    sides: Mapping[str, str]
    sharpness: Mapping[str, str]
    """Whose it is."""
    services: Mapping[str, str]
    """Keys of the forecast services, with their credit."""
    place: str
    """What a service is told of the place; empty where the site is not known."""
    day: str
    """That is meant where none is typed."""


@dataclass(frozen=True, slots=True)
class Files:
    """Addresses of what can be carried away."""

    sheet: str
    pdf: str
    calendar: str
    gpx: str
    geojson: str


@dataclass(frozen=True, slots=True)
class PlanPage:
    """The page; ``view`` or ``wrong`` is there, never both."""

    title: str
    typed: PlanTyped
    choices: PlanChoices
    kits: KitsPart
    address: str
    """Of the question, without the cell that is looked at."""
    is_more_open: bool
    view: PlanView | None
    files: Files
    wrong: Wrong | None

    @property
    def status(self) -> int:
        """The HTTP status: 422 where a field or the question cannot be used."""
        return 200 if self.wrong is None else InputError.http_status


@dataclass(frozen=True, slots=True)
class PlanHour:
    """The piece of the page that follows the slider."""

    hour: HourView


def plan_page(book: FieldBook, shelf: PlanShelf, typed: PlanTyped, now: datetime | None = None) -> PlanPage:
    """Return the page for what was typed.

    Parameters
    ----------
    book : FieldBook
        Holds sites and kits.
    shelf : PlanShelf
        Holds the plans just made.
    typed : PlanTyped
        The fields; a wrong one is told on the page, and stays as it was typed.
    now : datetime, optional
        The present, aware.
    """
    present = now or datetime.now(UTC)
    view: PlanView | None = None
    wrong: Wrong | None = None
    try:
        asked = _asked(book, shelf, typed)
        try:
            told = shelf.told(book, asked, present)
            view = plan_view(told, *_looked_at(told, typed))
        except FieldError:
            raise
        except InputError as error:
            wrong = Wrong(str(error), field_to_blame(book, asked))
    except FieldError as error:
        wrong = Wrong(str(error), error.field)
    is_more_open = wrong is not None and wrong.field in MORE
    address = plan_address(typed)
    return PlanPage(
        "Plan",
        typed,
        _choices(book, typed, present),
        kits_part(book),
        address,
        is_more_open,
        view,
        _files(typed),
        wrong,
    )


def plan_routes(desk: Desk, cache_folder: Path | None = None) -> APIRouter:
    """Return the routes of this page; answers of forecast services are kept in ``cache_folder``."""
    routes = APIRouter(prefix="/plan")
    shelf = PlanShelf(cache_folder)

    def typed_of(request: Request) -> PlanTyped:
        typed = at_some_site(desk.book, typed_plan(request.query_params))
        if typed.forecast and request.headers.get("sec-fetch-site") == "cross-site":
            # A foreign page must not have the place of a site sent anywhere, by a link or a picture of its own.
            raise InputError("a page from elsewhere asked for a forecast; open the plan and press the button there")
        return typed

    def told_of(request: Request) -> tuple[DayTold, PlanTyped]:
        typed = typed_of(request)
        return shelf.told(desk.book, _asked(desk.book, shelf, typed)), typed

    @routes.get("")
    def show_plan(request: Request) -> Response:
        """Show the plan of the day in the address."""
        page = plan_page(desk.book, shelf, typed_of(request))
        return desk.leaves.answer(request, page, "plan.html", page.status)

    @routes.get("/water")
    def show_water(request: Request) -> Response:
        """Answer the water at one moment and one stretch of its bank, as a piece of the page."""
        told, typed = told_of(request)
        return desk.leaves.answer(request, PlanHour(hour_view(told, *_looked_at(told, typed))), "plan_hour.html")

    @routes.get("/sheet.svg")
    def show_sheet(request: Request) -> Response:
        """Show the plan as the page that is printed."""
        told, _ = told_of(request)
        return Response(plan_sheet_svg(told), media_type="image/svg+xml")

    def hand_over(request: Request) -> Response:
        told, _ = told_of(request)
        kind = Path(request.url.path).suffix
        return as_file(copy_of(told, kind, datetime.now(UTC)), f"{_stem(told)}{kind}", COPIES[kind])

    for kind in COPIES:
        routes.add_api_route(f"/plan{kind}", hand_over, description=f"Hand over the plan as {kind[1:]}.", name=kind)
    return routes


def at_some_site(book: FieldBook, typed: PlanTyped) -> PlanTyped:
    """Return the question with the first site by name where it names none and the book holds some."""
    if typed.site:
        return typed
    kept = sites(book)
    return replace(typed, site=kept[0].site.name) if kept else typed


def _asked(book: FieldBook, shelf: PlanShelf, typed: PlanTyped) -> PlanAsked:
    asked = question_of(typed)
    return asked if typed.sharpness == OPTICS else replace(asked, own=shelf.own_share(book))


def _looked_at(told: DayTold, typed: PlanTyped) -> tuple[int | None, int | None]:
    moment = whole("moment", typed.moment, len(told.plan.times))
    return moment, whole("stretch", typed.stretch, len(told.stretches))


def _stem(told: DayTold) -> str:
    question = told.plan.question
    return file_stem(question.site.name, question.day.isoformat(), question.animal.name)


def _files(typed: PlanTyped) -> Files:
    return Files(plan_address(typed, "/sheet.svg"), *(plan_address(typed, f"/plan{kind}") for kind in COPIES))


def _choices(book: FieldBook, typed: PlanTyped, present: datetime) -> PlanChoices:
    place = day = ""
    try:
        kept = site_asked(book, typed.site or None)
        observer = kept.observer
        place = f"{observer.latitude_deg:.{PLACE_DECIMALS}f}, {observer.longitude_deg:.{PLACE_DECIMALS}f}"
        day = day_asked(None, kept.zone, present).isoformat()
    except InputError:
        pass  # told beside the form already
    return PlanChoices(
        tuple(one.site.name for one in sites(book)),
        tuple(animal.name for animal in read_catalogue().animals),
        CHOICES_BEHAVIOUR,
        CHOICES_OUTPUT,
        SIDES,
        SHARPNESS,
        {key: service.credit for key, service in SERVICES.items()},
        place,
        day,
    )
