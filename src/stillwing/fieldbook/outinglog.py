"""The log of one outing beside its bursts: clocks, moments in the camera's time, what is told, and the tracks taken."""

from dataclasses import dataclass
from datetime import datetime, tzinfo

from sqlalchemy import Connection, func, select

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstlog import CameraMoment, by_camera
from stillwing.fieldbook.burstspans import BurstSpan, burst_spans
from stillwing.fieldbook.clocks import OutingClock, outing_clock
from stillwing.fieldbook.clocktaps import WRONG_ZONE
from stillwing.fieldbook.joining import Conflict, JoinedBurst, join_timed
from stillwing.fieldbook.moment import EARLIEST, LATEST, instant_text
from stillwing.fieldbook.moments import moments_of_outing
from stillwing.fieldbook.outings import outing

__all__ = ["OutingLog", "TakenTrack", "outing_log"]

PHONES_SHOWN = 5
"""Where no phone logged near an outing, the last ones that logged at all can be set by hand (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class TakenTrack:
    """A track that gave positions."""

    name: str
    n_bursts: int


@dataclass(frozen=True, slots=True)
class OutingLog:
    """The whole log of an outing."""

    clock: OutingClock
    phones: tuple[str, ...]
    """Those whose clock is known or may matter: that logged within 28 h of the bursts, else the last that logged."""
    bursts: tuple[BurstSpan, ...]
    """Those that tell a time, in order of it."""
    n_bursts: int
    """With those that tell none."""
    joined: tuple[JoinedBurst, ...]
    """One for each of ``bursts``."""
    moments: tuple[CameraMoment, ...]
    zone: tzinfo | None
    """Of the camera, as its first burst says; ``None`` where it says none."""
    tracks: tuple[TakenTrack, ...]

    @property
    def n_told(self) -> int:
        """Bursts of which the log tells the behaviour."""
        return sum(one.behaviour is not None for one in self.joined)


def outing_log(book: FieldBook, outing_id: int) -> OutingLog:
    """Return the log of an outing.

    Raises
    ------
    UnknownThing
        If there is no such outing.
    """
    outing(book, outing_id)
    with book.reading() as connection:
        clock, spans = outing_clock(connection, outing_id), burst_spans(connection, outing_id)
        n_bursts, zone = _bursts(connection, outing_id)
        phones, tracks = _phones(connection, clock, spans), _tracks(connection, outing_id)
    found = moments_of_outing(book, outing_id)
    heard = {one.device for one in found}
    if clock.can_time(spans):
        joined = join_timed(clock, spans, found)
    else:
        joined = tuple(JoinedBurst(span.id, conflict=Conflict.CLOCK_UNKNOWN) for span in spans)
    moments = sorted((by_camera(clock, one) for one in found), key=lambda one: (one.at, one.moment.id))
    known = (*phones, *sorted(heard - set(phones)))
    return OutingLog(clock, known, spans, n_bursts, joined, tuple(moments), zone, tracks)


def _bursts(connection: Connection, outing_id: int) -> tuple[int, tzinfo | None]:
    burst = schema.burst
    n_bursts, first = connection.execute(
        select(func.count(), func.min(burst.c.taken_at)).where(burst.c.outing_id == outing_id)
    ).one()
    return n_bursts, None if first is None else datetime.fromisoformat(first).tzinfo


def _phones(connection: Connection, clock: OutingClock, spans: tuple[BurstSpan, ...]) -> tuple[str, ...]:
    """Return the phones of an outing, the leading one first."""
    device, at = schema.moment.c.device, schema.moment.c.at
    latest = select(device, func.max(at)).group_by(device).order_by(func.max(at).desc(), device)
    heard: list[str] = []
    if spans:
        low, high = spans[0].start - WRONG_ZONE, max(span.end for span in spans) + WRONG_ZONE
        near = latest.where(at >= _text(low), at <= _text(high))
        heard = [row.device for row in connection.execute(near)]
    if not heard and not clock.offsets:
        heard = [row.device for row in connection.execute(latest.limit(PHONES_SHOWN))]
    leading = [] if clock.leading is None else [clock.leading.device]
    return tuple(dict.fromkeys((*leading, *(one.device for one in clock.offsets), *heard)))


def _tracks(connection: Connection, outing_id: int) -> tuple[TakenTrack, ...]:
    placed, burst = schema.burst_position, schema.burst
    rows = connection.execute(
        select(placed.c.track, func.count())
        .join(burst, burst.c.id == placed.c.burst_id)
        .where(burst.c.outing_id == outing_id)
        .group_by(placed.c.track)
        .order_by(placed.c.track)
    )
    return tuple(TakenTrack(name, n_bursts) for name, n_bursts in rows)


def _text(instant: datetime) -> str:
    return instant_text(min(max(instant, EARLIEST), LATEST))
