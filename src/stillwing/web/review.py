"""The Review page: which way of working gave keepers, two ways compared, and practice over outings."""

from dataclasses import dataclass, replace
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.conditions import drop_condition, type_condition
from stillwing.fieldbook.outings import Outing, outing_named, outings
from stillwing.review.outcomesread import Counted
from stillwing.review.reviewing import Reviewed, review
from stillwing.web.choosing import Sent
from stillwing.web.desk import Desk
from stillwing.web.review_conditions import ConditionsPart, conditions_part
from stillwing.web.review_shelf import ReviewShelf
from stillwing.web.review_view import ReviewView, review_view
from stillwing.web.waiting import Pick

__all__ = ["ReviewPage", "Reviewing", "review_page", "review_routes"]

ALL_OUTINGS = "all outings"
COUNTED = {Counted.KEPT: "frames kept", Counted.WOULD_DO: "frames that would do"}


@dataclass(frozen=True, slots=True)
class Reviewing:
    """What the page is asked for, as its address has it; empty words are not asked."""

    by: str = ""
    first: str = ""
    second: str = ""
    counted: Counted = Counted.KEPT
    outing: str = ""

    @property
    def address(self) -> str:
        """The page's address with this question."""
        asked = {"by": self.by, "first": self.first, "second": self.second, "outing": self.outing}
        told = {name: words for name, words in asked.items() if words}
        if self.counted is not Counted.KEPT:
            told["counted"] = self.counted.value
        return f"/review?{urlencode(told)}" if told else "/review"


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """The page; there is no view while nothing is kept or proposed."""

    title: str
    asked: Reviewing
    outings: tuple[Pick, ...]
    counted: tuple[Pick, ...]
    factors: tuple[Pick, ...]
    firsts: tuple[Pick, ...]
    seconds: tuple[Pick, ...]
    """Levels that can be compared, the second without a word for none."""
    view: ReviewView | None
    conditions: ConditionsPart | None
    """None where the field book holds no outing."""

    @property
    def status(self) -> int:
        """HTTP status."""
        return 422 if self.conditions is not None and self.conditions.wrong else 200


def review_page(book: FieldBook, asked: Reviewing, shelf: ReviewShelf | None = None) -> ReviewPage:
    """Return the page for a question.

    Parameters
    ----------
    book : FieldBook
        Its outings are reviewed.
    asked : Reviewing
        The question.
    shelf : ReviewShelf, optional
        Holds what was read and answered since anything was stored.

    Raises
    ------
    UnknownThing
        If there is no such outing, factor or level.
    """
    held = shelf or ReviewShelf()
    return held.kept(book, asked, lambda: _page(book, asked, held))


def _page(book: FieldBook, asked: Reviewing, shelf: ReviewShelf) -> ReviewPage:
    known = outings(book)
    named = outing_named(book, asked.outing) if asked.outing else None
    taken = shelf.taken(book, asked.counted, [named.name] if named else [])
    told = None
    if taken.outcomes:
        ways = (asked.first, asked.second) if asked.first and asked.second and asked.first != asked.second else None
        told = review(taken, asked.by or None, ways)
    typed_of = named or (known[0] if known else None)
    return ReviewPage(
        "Review",
        asked,
        _outing_picks(known, named),
        tuple(Pick(each.value, words, each is asked.counted) for each, words in COUNTED.items()),
        _factor_picks(told),
        _level_picks(told, 0),
        _level_picks(told, 1),
        None if told is None else review_view(told),
        None if typed_of is None else conditions_part(book, typed_of),
    )


def review_routes(desk: Desk) -> APIRouter:
    """Return the routes of this page."""
    routes = APIRouter(prefix="/review")
    shelf = ReviewShelf()

    @routes.get("")
    def show_review(
        request: Request,
        by: str = "",
        first: str = "",
        second: str = "",
        counted: Counted = Counted.KEPT,
        outing: str = "",
    ) -> Response:
        """Show which way of working gave keepers, and how practice goes."""
        page = review_page(desk.book, Reviewing(by, first, second, counted, outing), shelf)
        return desk.leaves.answer(request, page, "review.html", page.status)

    _add_conditions(routes, desk, shelf)
    return routes


def _add_conditions(routes: APIRouter, desk: Desk, shelf: ReviewShelf) -> None:
    @routes.post("/conditions/{outing_id}")
    def keep_condition(request: Request, outing_id: int, sent: Sent) -> Response:
        """Keep how one photographed on an outing."""
        outing = desk.outing(outing_id)
        asked = Reviewing(outing=outing.name, by=str(sent.get("by", "")))
        name, word = str(sent.get("name", "")), str(sent.get("word", ""))
        try:
            type_condition(desk.book, outing_id, name, word)
        except InputError as error:
            page = review_page(desk.book, asked, shelf)
            part = conditions_part(desk.book, outing, name=name, word=word, wrong=str(error))
            page = replace(page, conditions=part)
            return desk.leaves.answer(request, page, "review.html", page.status)
        return RedirectResponse(f"{asked.address}#conditions", 303)

    @routes.post("/conditions/{outing_id}/forget")
    def forget_condition(outing_id: int, sent: Sent) -> Response:
        """Forget one condition of an outing or of one of its bursts."""
        outing = desk.outing(outing_id)
        burst = str(sent.get("burst", ""))
        if burst and not burst.isdigit():
            raise InputError(f"burst {burst!r} is no number; reload the page")
        drop_condition(desk.book, outing_id, str(sent.get("name", "")), burst_id=int(burst) if burst else None)
        return RedirectResponse(f"{Reviewing(outing=outing.name).address}#conditions", 303)


def _outing_picks(known: tuple[Outing, ...], named: Outing | None) -> tuple[Pick, ...]:
    each = tuple(Pick(one.name, one.name, named is not None and one.id == named.id) for one in known)
    return (Pick("", ALL_OUTINGS, named is None), *each)


def _factor_picks(told: Reviewed | None) -> tuple[Pick, ...]:
    if told is None:
        return ()
    return tuple(
        Pick(each.factor, f"{each.name} ({each.n_levels})", each.factor == told.rates.factor) for each in told.factors
    )


def _level_picks(told: Reviewed | None, at: int) -> tuple[Pick, ...]:
    if told is None or told.ways is None:
        return ()
    picked = (told.ways.first, told.ways.second)[at].level.words
    return tuple(Pick(each.level.words, each.level.words, each.level.words == picked) for each in told.rates.levels)
