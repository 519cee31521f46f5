"""What earlier days at the water tell, for a phone that goes on learning by itself where no desk is in reach."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.names import name_key
from stillwing.review.intervals import Interval, What
from stillwing.review.perchpay import PerchPay, perch_pays
from stillwing.review.stays import REST, Stay, stays_of
from stillwing.web.log_view import now_text

__all__ = ["PastInterval", "PastRate", "PastWaiting", "past_waiting"]

MOST = 500
"""Intervals of one kind and water that a phone is told: the newest (a choice, no source)."""
NAMES = {What.ABSENCE: "away", What.HOVER_WAIT: "hover-wait", What.HOVER: "hover"}
"""As the phone's script calls them; it does not ask for the time on the perch."""


@dataclass(frozen=True, slots=True)
class PastInterval:
    """One interval."""

    what: str
    site: str
    stand: str
    perch: str
    animal: str
    length_s: float
    end: str
    """happened, elsewhere, or cut off."""


@dataclass(frozen=True, slots=True)
class PastRate:
    """What one perch brought of one animal, as `review.perchpay.PerchPay` has it."""

    site: str
    perch: str
    animal: str
    stands: tuple[str, ...]
    returns: int
    watched_s: float


@dataclass(frozen=True, slots=True)
class PastWaiting:
    """All that a phone keeps of earlier days. A stay that may still go on is left out: the phone knows its own taps."""

    now: str
    past: tuple[PastInterval, ...]
    """Oldest first."""
    rates: tuple[PastRate, ...]


def past_waiting(book: FieldBook, now: datetime | None = None) -> PastWaiting:
    """Return what a phone keeps of the stays that ended more than six hours ago."""
    instant = now or datetime.now(UTC)
    ended = [stay for stay in stays_of(book) if instant - stay.end > REST]
    return PastWaiting(now_text(), tuple(_past(ended)), tuple(map(_rate, perch_pays(ended))))


def _past(stays: list[Stay]) -> Iterable[PastInterval]:
    counts: dict[tuple[str, str], int] = {}
    kept = []
    for stay in reversed(stays):
        for each in reversed(stay.intervals.all):
            name = NAMES.get(each.what)
            n = counts.get((name_key(stay.site), each.what), 0)
            if name is not None and n < MOST:
                counts[name_key(stay.site), each.what] = n + 1
                kept.append(
                    PastInterval(name, stay.site, each.stand, each.perch, each.animal, each.length_s, _end(each))
                )
    return reversed(kept)


def _end(interval: Interval) -> str:
    return ("cut off", "happened", "elsewhere")[interval.end.code]


def _rate(pay: PerchPay) -> PastRate:
    return PastRate(pay.site, pay.perch, pay.animal, pay.stands, pay.n_returns, pay.watched_s)
