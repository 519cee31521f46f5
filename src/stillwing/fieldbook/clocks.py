"""The clocks of an outing: how far the camera's lies from each phone's, and instants put right by it.

Phones set their clocks by the network, cameras are set by hand and often say no zone. So the log keeps a phone's time,
and the camera's is put right: the phone whose difference from the camera is known best leads, other phones are put
right by it, by way of the camera. Every corrected instant comes from `OutingClock`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, Row, func, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import FieldBookError, InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import BurstSpan, burst_spans, camera_utc
from stillwing.fieldbook.moment import Moment

__all__ = [
    "AROUND",
    "ClockOffset",
    "Found",
    "OutingClock",
    "PhoneClocks",
    "check_offset",
    "drop_offset",
    "in_corrected_order",
    "outing_clock",
    "phone_clocks",
    "set_offset",
    "set_offset_by_hand",
]

AROUND = timedelta(hours=2)
"""A log begins before the first burst and ends after the last (a choice, no source)."""
UNCHECKED_S = 30.0
"""How far a camera that says its zone may be off, where nothing has told its clock (a choice, no source)."""
LARGEST_OFFSET_S = 100 * 366 * 86400.0


class Found(StrEnum):
    """How a difference between clocks came to be known."""

    ESTIMATED = "estimated"
    BY_HAND = "by hand"


@dataclass(frozen=True, slots=True)
class ClockOffset:
    """How far the camera's clock is ahead of one phone's, in one outing."""

    device: str
    camera_minus_phone_s: float
    low_s: float
    """Lower end of the interval; the value itself where it was set by hand."""
    high_s: float
    found: Found
    n_matched: int = 0
    """Burst taps that agree."""
    n_taps: int = 0
    """Burst taps that there were."""


@dataclass(frozen=True, slots=True)
class OutingClock:
    """What is known of the clocks in one outing."""

    offsets: tuple[ClockOffset, ...] = ()

    @property
    def leading(self) -> ClockOffset | None:
        """The phone whose time all instants are put into: set by hand before estimated, then by taps that agree."""
        ranked = sorted(self.offsets, key=lambda one: (one.found is not Found.BY_HAND, -one.n_matched, one.device))
        return ranked[0] if ranked else None

    def offset_of(self, device: str) -> ClockOffset | None:
        """Return what is known of one phone; of the leading one where nothing is."""
        return next((one for one in self.offsets if one.device == device), self.leading)

    def of_camera(self, taken_at: datetime) -> datetime:
        """Return when a frame was taken, in the leading phone's time; where nothing is known, as the camera says."""
        leading = self.leading
        return camera_utc(taken_at) - timedelta(seconds=0.0 if leading is None else leading.camera_minus_phone_s)

    def of_phone(self, device: str, at: datetime) -> datetime:
        """Return an instant of any phone's clock in the leading phone's time; as it is where nothing is known."""
        leading, own = self.leading, self.offset_of(device)
        if leading is None or own is None:
            return at
        return at + timedelta(seconds=own.camera_minus_phone_s - leading.camera_minus_phone_s)

    @property
    def camera_errors_s(self) -> tuple[float, float]:
        """How much later than `of_camera` says a frame may have been taken; the first is negative."""
        return self.errors_s("" if self.leading is None else self.leading.device)

    def errors_s(self, device: str) -> tuple[float, float]:
        """Return how much later than told a frame may have been taken, against one phone; the first is negative."""
        offset = self.offset_of(device)
        if offset is None:
            return -UNCHECKED_S, UNCHECKED_S
        told = offset.camera_minus_phone_s
        # A camera that is further ahead than told took the frame earlier than told.
        return told - offset.high_s, told - offset.low_s

    def can_time(self, spans: Sequence[BurstSpan]) -> bool:
        """Tell whether bursts have a place in time: the camera's clock is known, or it says its zone itself."""
        return self.leading is not None or all(span.has_zone for span in spans)

    @property
    def largest_shift(self) -> timedelta:
        """The furthest that any phone's instants are moved."""
        leading = self.leading
        if leading is None:
            return timedelta(0)
        ahead = leading.camera_minus_phone_s
        return timedelta(seconds=max(abs(one.camera_minus_phone_s - ahead) for one in self.offsets))


@dataclass(frozen=True, slots=True)
class PhoneClocks:
    """All outings in which several phones are known, so that their clocks differ; the others need no correction."""

    outings: tuple[tuple[datetime, datetime, OutingClock], ...]
    """First and last instant of each in the leading phone's time, and its clock; the shortest first."""

    def corrected(self, moment: Moment) -> datetime:
        """Return when the moment was, in the time of the leading phone of the outing that it lies in.

        It lies in an outing from two hours before its first burst until two hours after its last; of several, in the
        shortest.
        """
        for first, last, clock in self.outings:
            if any(one.device == moment.device for one in clock.offsets):
                at = clock.of_phone(moment.device, moment.at)
                if first - AROUND <= at <= last + AROUND:
                    return at
        return moment.at

    @property
    def largest_shift(self) -> timedelta:
        """The furthest that any moment is moved."""
        return max((clock.largest_shift for _, _, clock in self.outings), default=timedelta(0))


def outing_clock(connection: Connection, outing_id: int) -> OutingClock:
    """Return what is known of the clocks in an outing."""
    table = schema.clock_offset
    rows = connection.execute(select(table).where(table.c.outing_id == outing_id).order_by(table.c.device))
    return OutingClock(tuple(map(_offset, rows)))


def phone_clocks(connection: Connection) -> PhoneClocks:
    """Return the clocks of all outings with several phones."""
    table = schema.clock_offset
    several = connection.execute(select(table.c.outing_id).group_by(table.c.outing_id).having(func.count() > 1))
    found = []
    for outing_id in several.scalars().all():
        clock, spans = outing_clock(connection, outing_id), burst_spans(connection, outing_id)
        if spans:
            first, last = spans[0].start, max(span.end for span in spans)
            found.append((clock.of_camera(first), clock.of_camera(last), clock))
    return PhoneClocks(tuple(sorted(found, key=lambda one: (one[1] - one[0], one[0]))))


def set_offset(book: FieldBook, outing_id: int, offset: ClockOffset) -> None:
    """Store a difference, in place of one that was known for the same outing and phone.

    Raises
    ------
    InputError
        If the difference is no number or beyond a century.
    """
    check_offset(offset.camera_minus_phone_s)
    values = {name: getattr(offset, name) for name in ClockOffset.__slots__}
    row = {**values, "outing_id": outing_id, "found": str(offset.found), "stored_at": datetime.now(UTC).isoformat()}
    with book.writing() as connection:
        stored = insert(schema.clock_offset).values(row)
        changed = {name: stored.excluded[name] for name in row if name not in ("outing_id", "device")}
        connection.execute(stored.on_conflict_do_update(index_elements=["outing_id", "device"], set_=changed))


def check_offset(ahead_s: float) -> None:
    """Refuse a difference between clocks that can be none.

    Raises
    ------
    InputError
        If it is no number or beyond a century.
    """
    if not abs(ahead_s) <= LARGEST_OFFSET_S:
        raise InputError(f"the camera's clock is said to be {ahead_s:g} s ahead; it can be up to 100 years off")


def set_offset_by_hand(book: FieldBook, outing_id: int, device: str, camera_minus_phone_s: float) -> ClockOffset:
    """Store a difference that the photographer knows, as from a picture of the phone's clock.

    Raises
    ------
    InputError
        As `set_offset`.
    """
    told = camera_minus_phone_s
    offset = ClockOffset(device, told, told, told, Found.BY_HAND)
    set_offset(book, outing_id, offset)
    return offset


def drop_offset(book: FieldBook, outing_id: int, device: str) -> None:
    """Forget what is known of one phone in an outing."""
    table = schema.clock_offset
    with book.writing() as connection:
        connection.execute(table.delete().where(table.c.outing_id == outing_id, table.c.device == device))


def in_corrected_order(moments: Sequence[Moment], clocks: PhoneClocks) -> tuple[Moment, ...]:
    """Return moments in order of their corrected instants."""
    return tuple(sorted(moments, key=lambda moment: (clocks.corrected(moment), moment.id)))


def _offset(row: Row[Any]) -> ClockOffset:
    try:
        found = Found(row.found)
    except ValueError as error:
        raise FieldBookError(f"the stored clock of phone {row.device} cannot be used: {error}; set it anew") from error
    return ClockOffset(row.device, row.camera_minus_phone_s, row.low_s, row.high_s, found, row.n_matched, row.n_taps)
