"""When the bursts of an outing were taken, by the camera's own clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby

from sqlalchemy import Connection, case, func, select

from stillwing.fieldbook import schema

__all__ = ["BurstSpan", "burst_spans", "camera_utc"]


@dataclass(frozen=True, slots=True)
class BurstSpan:
    """One burst from the start of its first exposure to the end of its last."""

    id: int
    name: str
    start: datetime
    """In UTC by the camera's clock; see `camera_utc`."""
    end: datetime
    has_zone: bool
    """Whether every frame says its offset from UTC."""
    has_subseconds: bool


def camera_utc(taken_at: datetime) -> datetime:
    """Return a time of exposure in UTC; one that says no offset is taken as if the camera's clock ran in UTC.

    Examples
    --------
    >>> camera_utc(datetime.fromisoformat("2026-06-01T12:00:00+02:00")).isoformat()
    '2026-06-01T10:00:00+00:00'
    """
    return taken_at.replace(tzinfo=UTC) if taken_at.tzinfo is None else taken_at.astimezone(UTC)


def burst_spans(
    connection: Connection, outing_id: int, burst_ids: Sequence[int] | None = None
) -> tuple[BurstSpan, ...]:
    """Return the bursts of an outing whose frames tell a time, in order of time; only some of them where asked."""
    asked = [] if burst_ids is None else [schema.burst.c.id.in_(burst_ids)]
    burst, member, frame = schema.burst, schema.burst_frame, schema.frame
    # Texts of one offset from UTC are in the order of time, so that the first and the last of each will do: a frame of
    # 17,000 need not be read for itself.
    offset = case((func.substr(frame.c.taken_at, -6, 1).in_(("+", "-")), func.substr(frame.c.taken_at, -6)), else_="")
    rows = connection.execute(
        select(
            burst.c.id,
            burst.c.name,
            func.min(frame.c.taken_at).label("first"),
            func.max(frame.c.taken_at).label("last"),
            frame.c.exposure_s,
            func.min(frame.c.has_subseconds).label("has_subseconds"),
        )
        .join(member, member.c.burst_id == burst.c.id)
        .join(frame, frame.c.id == member.c.frame_id)
        .where(burst.c.outing_id == outing_id, frame.c.taken_at.is_not(None), *asked)
        .group_by(burst.c.id, offset, frame.c.exposure_s)
        .order_by(burst.c.id)
    )
    spans = []
    for (burst_id, name), parts in groupby(rows, key=lambda row: (row.id, row.name)):
        shots = [
            (datetime.fromisoformat(row.first), datetime.fromisoformat(row.last), row.exposure_s, row.has_subseconds)
            for row in parts
        ]
        spans.append(
            BurstSpan(
                burst_id,
                name,
                start=min(camera_utc(first) for first, _, _, _ in shots),
                end=max(camera_utc(last) + timedelta(seconds=exposure_s or 0.0) for _, last, exposure_s, _ in shots),
                has_zone=all(first.tzinfo is not None for first, _, _, _ in shots),
                has_subseconds=all(subseconds for _, _, _, subseconds in shots),
            )
        )
    return tuple(sorted(spans, key=lambda span: (span.start, span.id)))
