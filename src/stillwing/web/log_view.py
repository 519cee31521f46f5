"""What the Log page holds, and the small document that a phone keeps of the field book."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from stillwing.animals.catalogue import read_catalogue
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.moment import LONGEST_NOTE, LONGEST_WORDS, MomentKind, instant_text
from stillwing.fieldbook.moments import moments
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sites import KeptSite, sites

__all__ = ["TAPS", "LogPage", "LogState", "SitePicks", "Tap", "log_page", "log_state", "now_text"]

LATELY = timedelta(days=30)
"""How far back an animal counts as lately logged (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Tap:
    """One button of the page."""

    kind: MomentKind
    words: str


TAPS = (
    Tap(MomentKind.MOVED, "moved stand"),
    Tap(MomentKind.CONDITIONS, "conditions changed"),
    Tap(MomentKind.PERCH, "perch"),
    Tap(MomentKind.LANDING, "landing"),
    Tap(MomentKind.TAKE_OFF, "take-off"),
    Tap(MomentKind.RETURN, "return"),
    Tap(MomentKind.HOVER, "hover"),
    Tap(MomentKind.PASS, "pass"),
    Tap(MomentKind.BURST, "burst"),
)
"""In pairs, the first of each on the side of the thumb; what is tapped often stands low, where a thumb lies."""


@dataclass(frozen=True, slots=True)
class LogPage:
    """The page; it holds nothing of the field book, because a phone keeps it for when there is none in reach."""

    title: str
    taps: tuple[Tap, ...]
    longest_words: int
    longest_note: int
    is_at_desk: bool
    """Whether it is shown on the machine with the field book: with the way to the other pages, and the import."""
    taken_in: str | None = None
    wrong: str | None = None
    """Why a file was not taken in."""

    @property
    def status(self) -> int:
        """The HTTP status: 422 where a file was not taken in."""
        return 200 if self.wrong is None else InputError.http_status


@dataclass(frozen=True, slots=True)
class SitePicks:
    """The names that can be picked at one site."""

    name: str
    stands: tuple[str, ...]
    perches: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LogState:
    """What a phone keeps of the field book."""

    now: str
    """The desk's clock."""
    sites: tuple[SitePicks, ...]
    animals: tuple[str, ...]
    """Those logged lately first, then the catalogue's."""
    outing: str | None
    """The outing that was opened last."""


def log_page(is_at_desk: bool, taken_in: str | None = None, wrong: str | None = None) -> LogPage:
    """Return the page."""
    return LogPage("Log", TAPS, LONGEST_WORDS, LONGEST_NOTE, is_at_desk, taken_in, wrong)


def log_state(book: FieldBook) -> LogState:
    """Return what a phone keeps of the field book, as it is now."""
    lately = moments(book, start=datetime.now(UTC) - LATELY)
    opened = outings(book)
    return LogState(
        now_text(),
        tuple(map(_picks, sites(book))),
        _once([*(one.animal for one in reversed(lately)), *(one.name for one in read_catalogue().animals)]),
        opened[0].name if opened else None,
    )


def now_text() -> str:
    """Return the desk's clock as the protocol writes an instant."""
    return instant_text(datetime.now(UTC))


def _picks(kept: KeptSite) -> SitePicks:
    site = kept.site
    return SitePicks(site.name, tuple(one.name for one in site.stands), tuple(one.name for one in site.perches))


def _once(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for name in names if name))
