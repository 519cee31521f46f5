"""What the page of sightings shows, put together from the field book and the lists of species."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sightings import KeptSighting, sightings
from stillwing.fieldbook.sightingsteps import last_step
from stillwing.fieldbook.toldwords import count
from stillwing.records.filing import KnownNames, known_names, last_recorders, selected
from stillwing.records.yearstrip import days_seen
from stillwing.web.sightings_address import AskedList, list_href, selection_of, whole
from stillwing.web.sightings_giving import KINDS, LICENCES, SQUARES, TypedGiving
from stillwing.web.sightings_lines import LineView, StepView, line_views, step_view
from stillwing.web.sightings_strip import Strip, year_strip

__all__ = ["Failed", "GiveView", "SightingsPage", "sightings_page"]

PAGE_LINES = 40


@dataclass(frozen=True, slots=True)
class Failed:
    """Why a form of the page did nothing: which form, which field, and the sentence."""

    part: str
    field: str
    sentence: str


@dataclass(frozen=True, slots=True)
class GiveView:
    """The form that gives sightings away."""

    typed: TypedGiving
    kinds: Mapping[str, str]
    squares: Mapping[str, str]
    licences: tuple[str, ...]
    n_words: str
    """How many sightings it would give away."""
    n_sensitive: int
    hidden: tuple[tuple[str, str], ...]
    """What the list is narrowed to, sent along."""


@dataclass(frozen=True, slots=True)
class SightingsPage:
    """All sightings of the field book that are asked for."""

    title: str
    new_href: str
    """The form of a new sighting, of the outing that the list is narrowed to."""
    n_all: int
    n_words: str
    """How many are shown of how many, in words."""
    sensitive_words: str
    """How many are sensitive and how they leave the house; empty where none is."""
    asked: AskedList
    is_narrowed: bool
    outings: tuple[tuple[str, str], ...]
    """To narrow the list to: what is sent, and words."""
    years: tuple[str, ...]
    names: tuple[tuple[str, str], ...]
    step: StepView | None
    strip: Strip
    lines: tuple[LineView, ...]
    shown_words: str
    before_href: str
    after_href: str
    give: GiveView
    troubles: tuple[str, ...]
    """Lists of species that cannot be used."""
    failed: Failed | None

    @property
    def status(self) -> int:
        """The HTTP status: 422 where a form did nothing."""
        return 200 if self.failed is None else InputError.http_status


def sightings_page(
    book: FieldBook, asked: AskedList, giving: TypedGiving | None = None, failed: Failed | None = None
) -> SightingsPage:
    """Return the page.

    Parameters
    ----------
    book : FieldBook
    asked : AskedList
        What the list is narrowed to.
    giving : TypedGiving, optional
        What was typed into the form that gives sightings away.
    failed : Failed, optional
        Why a form of the page did nothing.

    Raises
    ------
    InputError
        If the address tells no whole number where one belongs.
    """
    names, kept = known_names(), sightings(book)
    found = selected(kept, selection_of(asked))
    first = min(max(1, whole("the first one shown", asked.first) or 1), max(1, len(found)))
    shown = found[first - 1 : first - 1 + PAGE_LINES]
    narrowing = tuple(
        (name, value) for name in ("outing", "year", "name", "verified") if (value := getattr(asked, name))
    )
    n_sensitive = sum(one.sighting.sensitive for one in found)
    typed = giving or TypedGiving(contact=" and ".join(last_recorders(kept)))
    return SightingsPage(
        "Sightings",
        f"/outings/{int(asked.outing)}/sightings/new" if asked.outing else "/sightings/new",
        len(kept),
        _n_words(found, kept),
        _sensitive_words(n_sensitive),
        asked,
        bool(narrowing),
        _outing_choices(book, kept),
        _years(kept),
        _name_choices(kept, names),
        step_view(last_step(book), names),
        year_strip(found, names, asked),
        line_views(book, shown, names),
        f"{first} to {first + len(shown) - 1} of {len(found)}" if len(shown) < len(found) else "",
        list_href(asked, "#list", first=str(max(1, first - PAGE_LINES))) if first > 1 else "",
        list_href(asked, "#list", first=str(first + PAGE_LINES)) if first + len(shown) <= len(found) else "",
        GiveView(typed, KINDS, SQUARES, LICENCES, count(len(found), "sighting"), n_sensitive, narrowing),
        names.troubles,
        failed,
    )


def _n_words(found: Sequence[KeptSighting], kept: Sequence[KeptSighting]) -> str:
    n_names = len({one.sighting.scientific_name for one in found})
    words = f"{count(len(found), 'sighting')} of {count(n_names, 'name')}" if found else "no sighting"
    return words if len(found) == len(kept) else f"{words}, out of {len(kept)}"


def _sensitive_words(n: int) -> str:
    if not n:
        return ""
    verb = "is sensitive: its exact place stays" if n == 1 else "are sensitive: their exact places stay"
    return f"{n} {verb} in this field book, and leaves it only as a square, 10 km wide unless you ask for another"


def _outing_choices(book: FieldBook, kept: Sequence[KeptSighting]) -> tuple[tuple[str, str], ...]:
    told = {one.outing_id for one in kept}
    return tuple((str(one.id), one.name) for one in outings(book) if one.id in told)


def _years(kept: Sequence[KeptSighting]) -> tuple[str, ...]:
    years = {moment.year for one in kept for moment in days_seen(one.sighting.when)}
    return tuple(str(year) for year in sorted(years, reverse=True))


def _name_choices(kept: Sequence[KeptSighting], names: KnownNames) -> tuple[tuple[str, str], ...]:
    scientific = {one.sighting.scientific_name for one in kept}
    choices = ((name, f"{english}, {name}" if (english := names.english(name)) else name) for name in scientific)
    return tuple(sorted(choices, key=lambda one: one[1].casefold()))
