"""The page of what an outing teaches: what its frames were lost to, and which one change would have won most."""

from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.responses import Response

from stillwing.fieldbook.outings import Outing
from stillwing.review.outinglessonwords import HEADINGS, ChangeRow, change_rows, lesson_cautions, lesson_sentences
from stillwing.web.desk import Desk
from stillwing.web.flight_teaching import Teaching, TeachingState

__all__ = ["LessonPage", "flight_outing_routes", "lesson_page"]

PATIENCE_S = 0.7
"""A page that takes longer shows how far it has come instead."""


@dataclass(frozen=True, slots=True)
class LessonPage:
    """The page; there are no sentences while flights are being made out."""

    title: str
    outing: Outing
    state_href: str
    is_done: bool
    n_done: int
    n_bursts: int
    wrong: str
    sentences: tuple[str, ...]
    headings: tuple[str, ...]
    rows: tuple[ChangeRow, ...]
    cautions: tuple[str, ...]

    @property
    def status(self) -> int:
        """HTTP status."""
        return 422 if self.wrong else 200


@dataclass(frozen=True, slots=True)
class LessonState:
    """How far it has come, for the page's script."""

    is_done: bool
    n_done: int
    n_bursts: int


def lesson_page(outing: Outing, state: TeachingState) -> LessonPage:
    """Return the page."""
    lesson = state.lesson
    return LessonPage(
        f"What {outing.name} teaches",
        outing,
        f"/outings/{outing.id}/lesson/state",
        state.is_done,
        state.n_done,
        state.n_bursts,
        state.wrong,
        () if lesson is None else lesson_sentences(lesson),
        HEADINGS,
        () if lesson is None else change_rows(lesson),
        () if lesson is None else lesson_cautions(lesson),
    )


def flight_outing_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/outings/{outing_id}/lesson")
    teaching = Teaching(desk.book)

    @routes.get("")
    def show_lesson(request: Request, outing_id: int) -> Response:
        """Show what an outing teaches, or how far that has been made out."""
        outing = desk.outing(outing_id)
        page = lesson_page(outing, teaching.lesson(outing, PATIENCE_S))
        return desk.leaves.answer(request, page, "flight_outing.html", page.status)

    @routes.get("/state")
    def show_lesson_state(outing_id: int) -> Response:
        """Answer how far it has come."""
        state = teaching.state(desk.outing(outing_id).id)
        return desk.leaves.json(LessonState(state.is_done, state.n_done, state.n_bursts))

    return routes
