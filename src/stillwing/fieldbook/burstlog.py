"""What the log tells of a few bursts, joined from no more moments than it takes.

`joining.join_outing` reads all frames and all moments of an outing, half a second for 20,000 and 5,000 of them
(``tests/fieldbook/test_burstlog.py`` makes such a book). A page of one burst needs the moments near it, and of those
before only the last of each kind, animal and perch: every other one was ended by it, and says nothing any more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import add
from typing import NamedTuple

from sqlalchemy import Connection, case, func, literal, select

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import BurstSpan, burst_spans
from stillwing.fieldbook.claims import PERCH_LASTS_S, TAP_S
from stillwing.fieldbook.clocks import AROUND, OutingClock, outing_clock
from stillwing.fieldbook.clocktaps import WRONG_ZONE
from stillwing.fieldbook.joining import Conflict, JoinedBurst, join_timed
from stillwing.fieldbook.moment import EARLIEST, LATEST, Moment, MomentKind, instant_text
from stillwing.fieldbook.momentrows import moments_where

__all__ = ["BurstLog", "CameraMoment", "LogLine", "burst_logs", "by_camera", "log_line"]

SAYS_NOTHING = (str(MomentKind.BURST), str(MomentKind.CONDITIONS))
PART = literal("\x01")
"""Between words; no word of a log holds it."""
JULIAN_1970 = 2440587.5
"""Julian day of 1970-01-01T00:00 UTC, as SQLite counts days."""


@dataclass(frozen=True, slots=True)
class CameraMoment:
    """A moment, and when it was by the camera's clock."""

    moment: Moment
    at: datetime
    """In UTC as `burstspans.BurstSpan` has it; as the phone said where nothing is known of the clocks."""
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class BurstLog:
    """One burst, what the log tells of it, and the moments that tell it, in order of time."""

    joined: JoinedBurst
    moments: tuple[CameraMoment, ...]
    start: datetime
    """Of the burst, in UTC by the camera's clock."""


@dataclass(frozen=True, slots=True)
class LogLine:
    """How much was logged at an outing, and what is known of its clocks."""

    n_moments: int
    clock: OutingClock


class _Window(NamedTuple):
    """Of moments that are all read, in the leading phone's time; ``earliest`` is where the log of the outing begins."""

    earliest: datetime
    low: datetime
    high: datetime


class _Times(NamedTuple):
    """Beginnings of the first and last burst of an outing in UTC by the camera's clock."""

    first: datetime
    last: datetime
    has_zone: bool
    """Whether the camera tells its zone with every burst."""


def by_camera(clock: OutingClock, moment: Moment) -> CameraMoment:
    """Return a moment in the time of the camera."""
    offset = clock.offset_of(moment.device)
    ahead = timedelta(seconds=0.0 if offset is None else offset.camera_minus_phone_s)
    return CameraMoment(moment, moment.at + ahead, None if moment.until is None else moment.until + ahead)


def burst_logs(book: FieldBook, outing_id: int, burst_ids: Sequence[int]) -> dict[int, BurstLog]:
    """Return what the log tells of some bursts of an outing, by burst; those without a time are left out.

    The same as `joining.join_outing` tells of them, but for one thing: where nothing ties the camera's clock to the
    log, a burst is said to be in that conflict only if somebody logged within 28 hours of it, as a wrong zone has it.
    """
    with book.reading() as connection:
        spans, clock = burst_spans(connection, outing_id, burst_ids), outing_clock(connection, outing_id)
        times = _times(connection, outing_id)
        if times is None or not spans:
            return {}
        if clock.leading is None and not times.has_zone:
            joined = tuple(_unknown(connection, span) for span in spans)
            return {one.burst_id: BurstLog(one, (), span.start) for one, span in zip(joined, spans, strict=True)}
        window = _window(clock, spans, times.first)
        near = _near(connection, clock, window, window.low - timedelta(seconds=PERCH_LASTS_S))
        joined = join_timed(clock, spans, near)
        if any(one.behaviour is None and one.conflict is not Conflict.TWO_AT_ONCE for one in joined):
            # Only where nothing speaks does it matter what was said long before: 5 ms more after 4,000 moments.
            near = _near(connection, clock, window, window.earliest)
            joined = join_timed(clock, spans, near)
    known = {one.id: by_camera(clock, one) for one in near}
    return {
        one.burst_id: BurstLog(one, tuple(known[name] for name in one.moments), span.start)
        for one, span in zip(joined, spans, strict=True)
    }


def log_line(book: FieldBook, outing_id: int) -> LogLine:
    """Return how much was logged at an outing without joining it.

    Counted as `moments.moments_of_outing` has it, but to two hours after the last burst's beginning, not its end.
    """
    table = schema.moment
    with book.reading() as connection:
        clock, times = outing_clock(connection, outing_id), _times(connection, outing_id)
        if times is None:
            return LogLine(0, clock)
        named = [one.device for one in clock.offsets]
        n_moments = 0
        # A phone of which nothing is known is taken as the leading one.
        for device in (*named, None):
            shift = timedelta(0) if device is None else clock.of_phone(device, times.first) - times.first
            low, high = (clock.of_camera(one) - shift for one in (times.first - AROUND, times.last + AROUND))
            whose = table.c.device.not_in(named) if device is None else table.c.device == device
            counted = select(func.count()).where(
                table.c.at >= _text(low), table.c.at <= _text(high), table.c.undone == 0, whose
            )
            n_moments += connection.execute(counted).scalar_one()
    return LogLine(n_moments, clock)


def _times(connection: Connection, outing_id: int) -> _Times | None:
    taken_at = schema.burst.c.taken_at
    has_none = case((taken_at.op("GLOB")("*[+-][0-9][0-9]:[0-9][0-9]"), 0), else_=1)
    days = func.julianday(taken_at)
    first, last, lacks_zone = connection.execute(
        select(func.min(days), func.max(days), func.max(has_none)).where(
            schema.burst.c.outing_id == outing_id, taken_at.is_not(None)
        )
    ).one()
    return None if first is None else _Times(_of_julian(first), _of_julian(last), not lacks_zone)


def _of_julian(days: float) -> datetime:
    return datetime.fromtimestamp((days - JULIAN_1970) * 86400.0, UTC)


def _unknown(connection: Connection, span: BurstSpan) -> JoinedBurst:
    at = schema.moment.c.at
    near = select(schema.moment.c.id).where(
        at >= _text(span.start - WRONG_ZONE), at <= _text(span.end + WRONG_ZONE), schema.moment.c.undone == 0
    )
    is_logged = connection.execute(near.limit(1)).first() is not None
    return JoinedBurst(span.id, conflict=Conflict.CLOCK_UNKNOWN if is_logged else None)


def _window(clock: OutingClock, spans: Sequence[BurstSpan], first: datetime) -> _Window:
    errors_s = [clock.errors_s(one.device) for one in clock.offsets] or [clock.errors_s("")]
    reach = clock.largest_shift + timedelta(seconds=TAP_S + max(max(-low, high) for low, high in errors_s))
    earliest = clock.of_camera(first) - AROUND
    return _Window(
        earliest,
        max(clock.of_camera(spans[0].start) - reach, earliest - clock.largest_shift),
        # As far again as a perch is believed: what ended a span tells which of two gives way.
        clock.of_camera(max(span.end for span in spans)) + reach + timedelta(seconds=PERCH_LASTS_S),
    )


def _near(connection: Connection, clock: OutingClock, window: _Window, since: datetime) -> list[Moment]:
    """Return the moments in the window, those before it that still count from ``since`` on, and hovers that last."""
    table = schema.moment
    earliest, low = _text(window.earliest - clock.largest_shift), _text(window.low)
    start = max(earliest, _text(since - clock.largest_shift))
    counts = (table.c.undone == 0, table.c.kind.not_in(SAYS_NOTHING))
    found = moments_where(connection, table.c.at >= low, table.c.at <= _text(window.high), *counts)
    # As one text: SQLite groups 5,000 rows by five columns in 8 ms, by one in 3 ms.
    said = reduce(add, (table.c.device, table.c.kind, PART, table.c.animal, PART, table.c.perch))
    before = (table.c.at < low, *counts)
    newest = select(func.max(table.c.at + table.c.id)).where(table.c.at >= start, *before).group_by(said)
    ids = {key[len(low) :] for key in connection.execute(newest).scalars()}
    # A hover whose end was tapped lasts to that end, whatever came between.
    lasting = select(table.c.id).where(table.c.at >= earliest, table.c.until >= low, *before)
    ids.update(connection.execute(lasting).scalars())
    held = moments_where(connection, table.c.id.in_(sorted(ids))) if ids else ()
    return [one for one in (*held, *found) if clock.of_phone(one.device, one.at) >= window.earliest]


def _text(instant: datetime) -> str:
    return instant_text(min(max(instant.astimezone(UTC), EARLIEST), LATEST))
