"""When the bursts of an outing were taken, by the camera's own clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import groupby

from sqlalchemy import Connection, select

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
    rows = connection.execute(
        select(burst.c.id, burst.c.name, frame.c.taken_at, frame.c.exposure_s, frame.c.has_subseconds)
        .join(member, member.c.burst_id == burst.c.id)
        .join(frame, frame.c.id == member.c.frame_id)
        .where(burst.c.outing_id == outing_id, frame.c.taken_at.is_not(None), *asked)
        .order_by(burst.c.id)
    )
    spans = []
    for (burst_id, name), frames in groupby(rows, key=lambda row: (row.id, row.name)):
        shots = [
            (datetime.fromisoformat(row.taken_at), timedelta(seconds=row.exposure_s or 0.0), row.has_subseconds)
            for row in frames
        ]
        starts = [camera_utc(taken_at) for taken_at, _, _ in shots]
        spans.append(
            BurstSpan(
                burst_id,
                name,
                start=min(starts),
                end=max(start + exposure for start, (_, exposure, _) in zip(starts, shots, strict=True)),
                has_zone=all(taken_at.tzinfo is not None for taken_at, _, _ in shots),
                has_subseconds=all(subseconds for _, _, subseconds in shots),
            )
        )
    return tuple(sorted(spans, key=lambda span: (span.start, span.id)))
