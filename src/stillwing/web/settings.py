"""The Settings page: one question, its answer, the plane of all settings, and the kits that answer it."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from urllib.parse import parse_qsl

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from stillwing.animals.catalogue import read_catalogue
from stillwing.errors import InputError
from stillwing.fieldbook.asking import answer_asked
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.kits import remove_kit, use_kit
from stillwing.optics.answer import Answer
from stillwing.optics.light import TYPICAL_EV
from stillwing.optics.tradeoff import Point, point_at, trade_off
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk
from stillwing.web.plane import PlaneView, plane_view
from stillwing.web.settings_form import FieldError, Typed, address, asked_of, blamed, chosen_of, typed_in
from stillwing.web.settings_kits import KitsPart, add_kit, kits_part
from stillwing.web.settings_view import AnswerView, answer_view, point_view

__all__ = ["Choices", "Result", "SettingsPage", "Wrong", "settings_page", "settings_routes"]


@dataclass(frozen=True, slots=True)
class Choices:
    """What the fields of the question offer: values with their words."""

    animals: tuple[str, ...]
    behaviours: Mapping[str, str]
    lights: tuple[str, ...]
    outputs: tuple[str, ...]
    following: Mapping[str, str]
    supports: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why there is no answer."""

    sentence: str
    field: str | None


@dataclass(frozen=True, slots=True)
class Result:
    """The answer: its figures, and what the page shows of them."""

    answer: Answer
    view: AnswerView
    plane: PlaneView


@dataclass(frozen=True, slots=True)
class SettingsPage:
    """The page; ``result`` or ``wrong`` is there, never both."""

    title: str
    typed: Typed
    choices: Choices
    kits: KitsPart
    address: str
    result: Result | None
    wrong: Wrong | None

    @property
    def status(self) -> int:
        """The HTTP status: 422 where a field or the question cannot be used."""
        return 200 if self.wrong is None and self.kits.sentence is None else InputError.http_status


CHOICES_BEHAVIOUR = {
    "hover": "hovers",
    "pass": "passes",
    "perch": "sits on its perch",
    "take-off": "takes off",
    "landing": "lands",
}
CHOICES_OUTPUT = ("full", "print 30 cm at 240 ppi", "print 60 cm at 180 ppi", "screen 2560")
CHOICES_FOLLOWING = {
    "": "as a practised hand (15 % of its motion left)",
    "5": "very closely (5 % left)",
    "35": "roughly (35 % left)",
    "100": "not at all (all of it left)",
}
CHOICES_SUPPORT = {
    "0": "tripod",
    "0.1": "rest or one leg (0.1 deg/s)",
    "0.4": "held, with stabiliser (0.4 deg/s)",
    "1.7": "held, without (1.7 deg/s)",
}


def settings_page(book: FieldBook, typed: Typed, kits: KitsPart | None = None) -> SettingsPage:
    """Return the page for what was typed.

    Parameters
    ----------
    book : FieldBook
        Holds the kits.
    typed : Typed
        The fields; a wrong one is told on the page, and stays as it was typed.
    kits : KitsPart, optional
        The part about kits where its form has something to say.
    """
    result: Result | None = None
    wrong: Wrong | None = None
    try:
        result = _result(book, typed)
    except FieldError as error:
        wrong = Wrong(str(error), error.field)
    except InputError as error:
        wrong = Wrong(str(error), blamed(book, asked_of(typed)))
    shown = kits_part(book) if kits is None else kits
    return SettingsPage("Settings", typed, _choices(typed), shown, address(typed), result, wrong)


def settings_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/settings")

    def show(request: Request, page: SettingsPage) -> Response:
        return desk.leaves.answer(request, page, "settings.html", page.status)

    def back(sent: Mapping[str, object], kit: str) -> Response:
        return RedirectResponse(f"{address(replace(_before(sent), kit=kit))}#kits", 303)

    @routes.get("")
    def show_settings(request: Request) -> Response:
        """Show what to set for the question in the address."""
        return show(request, settings_page(desk.book, typed_in(request.query_params)))

    @routes.get("/point")
    def show_point(request: Request) -> Response:
        """Answer what one setting would give."""
        typed = typed_in(request.query_params)
        answer = answer_asked(desk.book, asked_of(typed))
        return desk.leaves.json(point_view(answer, _point(answer, typed)))

    @routes.get("/kits")
    def show_kits(request: Request) -> Response:
        """Show the page where its form about kits was sent to, as when that is loaded again."""
        return show(request, settings_page(desk.book, Typed()))

    @routes.post("/kits")
    def store_kit(request: Request, sent: Sent) -> Response:
        """Store a kit, and answer the question with it."""
        try:
            kit = add_kit(desk.book, sent)
        except InputError as error:
            typed = {name: str(value) for name, value in sent.items()}
            return show(request, settings_page(desk.book, _before(sent), kits_part(desk.book, typed, str(error))))
        return back(sent, kit.name)

    @routes.post("/kits/use")
    def stand_kit(sent: Sent) -> Response:
        """Make a kit the standing one."""
        return back(sent, use_kit(desk.book, str(sent.get("name", ""))).name)

    @routes.post("/kits/remove")
    def take_out_kit(sent: Sent) -> Response:
        """Take a kit out of the field book."""
        remove_kit(desk.book, str(sent.get("name", "")))
        return back(sent, "")

    return routes


def _result(book: FieldBook, typed: Typed) -> Result:
    answer = answer_asked(book, asked_of(typed))
    made = trade_off(answer)
    point = _point(answer, typed)
    return Result(answer, answer_view(answer, made.lines, point), plane_view(answer, made, point.setting))


def _point(answer: Answer, typed: Typed) -> Point:
    try:
        chosen = chosen_of(typed)
        if chosen is not None:
            return point_at(answer, *chosen)
    except InputError as error:
        raise FieldError("f_number", str(error)) from error
    return point_at(answer, answer.best.f_number, answer.best.exposure_s)


def _before(sent: Mapping[str, object]) -> Typed:
    """Return the question that stood on the page when a form about kits was sent."""
    question = str(sent.get("question", "")).partition("?")[2]
    return typed_in(dict(parse_qsl(question)))


def _choices(typed: Typed) -> Choices:
    return Choices(
        tuple(animal.name for animal in read_catalogue().animals),
        CHOICES_BEHAVIOUR,
        tuple(TYPICAL_EV),
        CHOICES_OUTPUT,
        _with(CHOICES_FOLLOWING, typed.following_percent, "% of its motion left"),
        _with(CHOICES_SUPPORT, typed.shake_deg_s, "deg/s"),
    )


def _with(choices: Mapping[str, str], typed: str, unit: str) -> Mapping[str, str]:
    """Return choices with what was typed into the address, where it is none of them."""
    return choices if typed in choices else {**choices, typed: f"{typed} {unit}"}
