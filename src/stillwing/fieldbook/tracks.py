"""Where the bursts of an outing were taken: by the photographs' own tags, else by a track recorded on the way."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, case, func, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import BurstSpan, burst_spans
from stillwing.fieldbook.clocks import ClockOffset, Found, OutingClock, check_offset, outing_clock
from stillwing.fieldbook.outings import outing
from stillwing.place.position import Position
from stillwing.place.track import Fix, Track, fix_at, read_track

__all__ = ["FramePosition", "TrackTaken", "drop_positions", "positions_for_sidecars", "take_track"]


@dataclass(frozen=True, slots=True)
class TrackTaken:
    """What a track gave: numbers of bursts."""

    n_placed: int
    """Placed by this track, now or by a better fix before."""
    n_own: int
    """Left alone, since each of their photographs tells its own position."""
    n_beyond: int
    """Further than five minutes from every point of the track."""
    n_untimed: int
    """Without a time."""


@dataclass(frozen=True, slots=True)
class FramePosition:
    """A position for a photograph that has none of its own."""

    frame_id: int
    path: Path
    position: Position
    uncertainty_m: float
    track: str
    """File name of the track that it comes from."""


def take_track(book: FieldBook, outing_id: int, path: Path, *, camera_minus_utc_s: float | None = None) -> TrackTaken:
    """Store where the bursts were taken, from a GPX track with times.

    A track recorded by a phone or receiver tells UTC; the camera's clock is put right by what is known of the outing's
    clocks at this moment, so that a track is taken again once the clocks are known better. Of several tracks the one
    with the smaller uncertainty counts, burst by burst; the same file taken again replaces what it gave before.

    Parameters
    ----------
    camera_minus_utc_s : float, optional
        How far the camera was ahead of UTC, where that is known otherwise. [s]

    Raises
    ------
    UnknownThing
        If there is no such outing.
    InputError
        If the file is no such track, the camera says no zone and nothing is known of its clock, or its difference from
        UTC can be none.
    """
    outing(book, outing_id)
    if camera_minus_utc_s is not None:
        check_offset(camera_minus_utc_s)
    track = read_track(path)
    with book.reading() as connection:
        clock = _clock(connection, outing_id, camera_minus_utc_s)
        spans, own = burst_spans(connection, outing_id), _bursts_with_own(connection, outing_id)
        bursts = select(func.count()).select_from(schema.burst).where(schema.burst.c.outing_id == outing_id)
        n_bursts = connection.execute(bursts).scalar_one()
    if not clock.can_time(spans):
        raise InputError(
            "the camera tells no time zone, and nothing is known of its clock; log a few bursts with the phone, or say "
            "how many seconds the camera is ahead of UTC"
        )
    wanting = [span for span in spans if span.id not in own]
    fixes = _fixes(track, wanting, clock)
    with book.writing() as connection:
        _store(connection, outing_id, path.name, fixes)
    n_timed = len(spans)
    return TrackTaken(len(fixes), n_timed - len(wanting), len(wanting) - len(fixes), n_bursts - n_timed)


def drop_positions(book: FieldBook, outing_id: int) -> None:
    """Forget all positions that tracks gave to the bursts of an outing."""
    table = schema.burst_position
    with book.writing() as connection:
        connection.execute(table.delete().where(table.c.burst_id.in_(_bursts_of(outing_id))))


def positions_for_sidecars(book: FieldBook, outing_id: int) -> tuple[FramePosition, ...]:
    """Return a position for each photograph of an outing that has none of its own, where a track tells one.

    In order of burst and frame. Each frame has the place of its burst.
    """
    burst, member, frame, placed = schema.burst, schema.burst_frame, schema.frame, schema.burst_position
    with book.reading() as connection:
        rows = connection.execute(
            select(frame.c.id, frame.c.path, placed)
            .join(member, member.c.frame_id == frame.c.id)
            .join(burst, burst.c.id == member.c.burst_id)
            .join(placed, placed.c.burst_id == burst.c.id)
            .where(burst.c.outing_id == outing_id, ~_has_own())
            .order_by(burst.c.taken_at, burst.c.id, member.c.number)
        )
        return tuple(map(_frame_position, rows))


def _clock(connection: Connection, outing_id: int, camera_minus_utc_s: float | None) -> OutingClock:
    if camera_minus_utc_s is None:
        return outing_clock(connection, outing_id)
    told = camera_minus_utc_s
    return OutingClock((ClockOffset("", told, told, told, Found.BY_HAND),))


def _fixes(track: Track, spans: Sequence[BurstSpan], clock: OutingClock) -> dict[int, Fix]:
    earlier_s, later_s = clock.camera_errors_s
    error_s = max(-earlier_s, later_s)
    found = {}
    for span in spans:
        middle = clock.of_camera(span.start + (span.end - span.start) / 2)
        fix = fix_at(track, middle.timestamp(), clock_error_s=error_s)
        if fix is not None:
            found[span.id] = fix
    return found


def _store(connection: Connection, outing_id: int, name: str, fixes: dict[int, Fix]) -> None:
    table = schema.burst_position
    connection.execute(table.delete().where(table.c.burst_id.in_(_bursts_of(outing_id)), table.c.track == name))
    if not fixes:
        return
    now = datetime.now(UTC).isoformat()
    put = insert(table)
    rows = [
        {
            "burst_id": burst_id,
            "longitude_deg": fix.position.longitude_deg,
            "latitude_deg": fix.position.latitude_deg,
            "uncertainty_m": fix.uncertainty_m,
            "gap_s": fix.gap_s,
            "track": name,
            "placed_at": now,
        }
        for burst_id, fix in fixes.items()
    ]
    connection.execute(
        put.on_conflict_do_update(
            index_elements=["burst_id"],
            set_={key: put.excluded[key] for key in rows[0] if key != "burst_id"},
            where=put.excluded.uncertainty_m < table.c.uncertainty_m,
        ),
        rows,
    )


def _bursts_with_own(connection: Connection, outing_id: int) -> set[int]:
    """Return the bursts of which every photograph tells its own position."""
    member, frame = schema.burst_frame, schema.frame
    rows = connection.execute(
        select(member.c.burst_id)
        .join(frame, frame.c.id == member.c.frame_id)
        .where(member.c.outing_id == outing_id)
        .group_by(member.c.burst_id)
        .having(func.min(case((_has_own(), 1), else_=0)) == 1)
    )
    return set(rows.scalars())


def _has_own() -> Any:
    return schema.frame.c.latitude_deg.is_not(None) & schema.frame.c.longitude_deg.is_not(None)


def _bursts_of(outing_id: int) -> Any:
    return select(schema.burst.c.id).where(schema.burst.c.outing_id == outing_id).scalar_subquery()


def _frame_position(row: Row[Any]) -> FramePosition:
    return FramePosition(row.id, row.path, Position(row.longitude_deg, row.latitude_deg), row.uncertainty_m, row.track)
