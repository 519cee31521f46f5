"""What was measured: stored chunk by chunk, one transaction each, and read back burst by burst."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, ScalarSelect, func, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import UnknownThing, UnreadableFrame
from stillwing.fieldbook import schema
from stillwing.fieldbook.animals import animal_from, animal_row, shape_row
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.boxes import NOTHING_DRAWN, drawn_digests
from stillwing.fieldbook.listing import frame_from, frame_ids, known_frame_ids
from stillwing.fieldbook.outings import add_failures
from stillwing.fieldbook.paths import stored_path
from stillwing.fieldbook.pieces import pieces
from stillwing.fieldbook.slips import SLIP_COLUMNS, slip_columns, slip_from
from stillwing.frames.measured import Animal, Box, MeasuredFrame

__all__ = ["StoredBurst", "measured_burst", "measured_bursts", "measured_frame", "store_chunk"]

FRAMES_AT_ONCE = 500
"""Frames read per query: 20,000 bursts of one frame take 1.4 s so, and 20 s when read one by one."""


@dataclass(frozen=True, slots=True)
class StoredBurst:
    """One burst of an outing with those of its frames that have been measured, in order of time."""

    id: int
    name: str
    frames: tuple[MeasuredFrame, ...]


def store_chunk(
    book: FieldBook,
    outing_id: int,
    measured: Sequence[MeasuredFrame],
    failed: Sequence[UnreadableFrame] = (),
    *,
    code_version: str,
    drawn: Mapping[Path, Box] | None = None,
) -> None:
    """Store what one chunk of a burst gave: all of it in one transaction, or nothing.

    What was measured earlier on the same frames is replaced. A frame that failed keeps no measurement, so that the
    next run tries it again. Proposals and a person's choices and boxes are left alone.

    Parameters
    ----------
    measured : sequence of MeasuredFrame
        Frames that `listing.store_listing` has stored before.
    failed : sequence of UnreadableFrame
        Frames of the chunk whose pixels could not be read.
    code_version : str
        As given to `listing.to_measure`.
    drawn : mapping of Path to Box, optional
        The person's boxes that the measurement was given; those of other bursts do no harm.

    Raises
    ------
    UnknownThing
        If a measured frame was never listed.
    """
    drawn = {stored_path(path): box for path, box in (drawn or {}).items()}
    paths = [stored_path(one.path) for one in measured]
    failed_paths = [stored_path(one.path) for one in failed]
    with book.writing() as connection:
        ids = known_frame_ids(connection, paths)
        failed_ids = frame_ids(connection, failed_paths)
        gone = schema.measurement.delete()
        for some in pieces([*ids.values(), *failed_ids.values()]):
            connection.execute(gone.where(schema.measurement.c.frame_id.in_(some)))
        if measured:
            frames = [(ids[path], one) for path, one in zip(paths, measured, strict=True)]
            digest_of = _digest_of_frame(connection, outing_id, list(ids.values()), drawn)
            _store_measured(connection, frames, code_version, digest_of)
        failure = schema.failure
        for read in pieces(paths):
            connection.execute(failure.delete().where(failure.c.outing_id == outing_id, failure.c.path.in_(read)))
        folder = connection.execute(select(schema.outing.c.folder).where(schema.outing.c.id == outing_id)).scalar_one()
        add_failures(connection, outing_id, folder, tuple(failed))


def measured_bursts(book: FieldBook, outing_id: int, *, with_shapes: bool = False) -> Iterator[StoredBurst]:
    """Give the bursts of an outing in order of time, one at a time, so that memory does not grow with the outing.

    Parameters
    ----------
    with_shapes : bool, default False
        Load outlines, focus maps and cutouts too; without, outlines are empty and there is neither of the others.
    """
    burst, member = schema.burst, schema.burst_frame
    with book.reading() as connection:
        lengths = connection.execute(
            select(burst.c.id, func.count())
            .join(member, member.c.burst_id == burst.c.id)
            .where(burst.c.outing_id == outing_id)
            .group_by(burst.c.id)
            .order_by(burst.c.taken_at, burst.c.id)
        )
        pieces: list[list[int]] = []
        room = 0
        for burst_id, n_frames in lengths:
            if room <= 0:
                pieces.append([])
                room = FRAMES_AT_ONCE
            pieces[-1].append(burst_id)
            room -= n_frames
    for piece in pieces:
        with book.reading() as connection:
            found = _stored_bursts(connection, piece, with_shapes=with_shapes)
        yield from found


def measured_burst(book: FieldBook, burst_id: int, *, with_shapes: bool = True) -> StoredBurst:
    """Return one burst with its measured frames; see `measured_bursts`. Raises `UnknownThing`."""
    with book.reading() as connection:
        found = _stored_bursts(connection, [burst_id], with_shapes=with_shapes)
    if not found:
        raise UnknownThing(f"the field book holds no burst number {burst_id}")
    return found[0]


def measured_frame(book: FieldBook, frame_id: int) -> MeasuredFrame:
    """Return all that was measured on one frame, outlines and focus maps too. Raises `UnknownThing`."""
    with book.reading() as connection:
        row = connection.execute(_measured().where(schema.frame.c.id == frame_id)).one_or_none()
        if row is None:
            raise UnknownThing(f"the field book holds no measured frame number {frame_id}")
        return _measured_frame(row, _animals(connection, [frame_id], with_shapes=True))


def _stored_bursts(connection: Connection, burst_ids: Sequence[int], *, with_shapes: bool) -> list[StoredBurst]:
    burst, member, frame = schema.burst, schema.burst_frame, schema.frame
    names = dict(
        connection.execute(
            select(burst.c.id, burst.c.name).where(burst.c.id.in_(burst_ids)).order_by(burst.c.taken_at, burst.c.id)
        ).all()
    )
    rows = connection.execute(
        _measured()
        .add_columns(member.c.burst_id)
        .join(member, member.c.frame_id == frame.c.id)
        .where(member.c.burst_id.in_(burst_ids))
        .order_by(member.c.burst_id, member.c.number)
    ).all()
    within = select(member.c.frame_id).where(member.c.burst_id.in_(burst_ids)).scalar_subquery()
    animals = _animals(connection, within, with_shapes=with_shapes)
    frames: dict[int, list[MeasuredFrame]] = {burst_id: [] for burst_id in names}
    for row in rows:
        frames[row.burst_id].append(_measured_frame(row, animals))
    return [StoredBurst(burst_id, name, tuple(frames[burst_id])) for burst_id, name in names.items()]


def _digest_of_frame(
    connection: Connection, outing_id: int, frames: list[int], drawn: Mapping[Path, Box]
) -> dict[int, str]:
    drawn_ids = frame_ids(connection, list(drawn))
    digests = drawn_digests(connection, outing_id, {drawn_ids[path]: drawn[path] for path in drawn_ids})
    member = schema.burst_frame
    burst_of: dict[int, int] = {}
    for some in pieces(frames):
        burst_of |= dict(
            connection.execute(
                select(member.c.frame_id, member.c.burst_id).where(
                    member.c.outing_id == outing_id, member.c.frame_id.in_(some)
                )
            ).all()
        )
    return {frame_id: digests.get(burst_id, NOTHING_DRAWN) for frame_id, burst_id in burst_of.items()}


def _store_measured(
    connection: Connection,
    frames: Sequence[tuple[int, MeasuredFrame]],
    code_version: str,
    digest_of: Mapping[int, str],
) -> None:
    listed = schema.frame
    states: dict[int, Row[Any]] = {}
    for some in pieces([frame_id for frame_id, _ in frames]):
        rows = connection.execute(
            select(listed.c.id, listed.c.size_bytes, listed.c.mtime_ns).where(listed.c.id.in_(some))
        )
        states |= {row.id: row for row in rows}
    now = datetime.now(UTC).isoformat()
    connection.execute(
        insert(schema.measurement),
        [
            {
                "frame_id": frame_id,
                "code_version": code_version,
                "size_bytes": states[frame_id].size_bytes,
                "mtime_ns": states[frame_id].mtime_ns,
                "width_px": one.width_px,
                "height_px": one.height_px,
                "from_preview": int(one.from_preview),
                "drawn_digest": digest_of.get(frame_id, NOTHING_DRAWN),
                "measured_at": now,
                **slip_columns(one.slip),
            }
            for frame_id, one in frames
        ],
    )
    numbered = [(frame_id, number, found) for frame_id, one in frames for number, found in enumerate(one.animals)]
    if numbered:
        connection.execute(insert(schema.animal), [animal_row(*one) for one in numbered])
        connection.execute(insert(schema.shape), [shape_row(*one) for one in numbered])


def _measured() -> Any:
    frame, measured = schema.frame, schema.measurement
    return select(
        frame,
        measured.c.width_px.label("measured_width_px"),
        measured.c.height_px.label("measured_height_px"),
        measured.c.from_preview,
        *SLIP_COLUMNS,
    ).join(measured, measured.c.frame_id == frame.c.id)


def _measured_frame(row: Row[Any], animals: Mapping[int, list[Animal]]) -> MeasuredFrame:
    return MeasuredFrame(
        frame_from(row),
        row.measured_width_px,
        row.measured_height_px,
        tuple(animals.get(row.id, ())),
        bool(row.from_preview),
        slip_from(row),
    )


def _animals(
    connection: Connection, frames: Sequence[int] | ScalarSelect[int], *, with_shapes: bool
) -> dict[int, list[Animal]]:
    animal, shape = schema.animal, schema.shape
    query = select(animal).where(animal.c.frame_id.in_(frames)).order_by(animal.c.frame_id, animal.c.number)
    if with_shapes:
        query = query.add_columns(shape.c.outline, shape.c.focus_map, shape.c.cutout).join(
            shape, (shape.c.frame_id == animal.c.frame_id) & (shape.c.number == animal.c.number)
        )
    found: dict[int, list[Animal]] = {}
    for row in connection.execute(query).mappings():
        packed = (row["outline"], row["focus_map"], row["cutout"]) if with_shapes else ()
        found.setdefault(row["frame_id"], []).append(animal_from(row, *packed))
    return found
