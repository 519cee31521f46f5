"""What a listing of a folder found: bursts, their frames and tags; and which of them still want measuring."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, and_, or_, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import UnknownThing, UnreadableFrame
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.boxes import bursts_drawn_since
from stillwing.fieldbook.outings import replace_failures
from stillwing.fieldbook.paths import paths_from, paths_text, stored_path
from stillwing.fieldbook.pieces import pieces
from stillwing.frames.frame import Burst, Frame, Tags

__all__ = ["frame_from", "frame_ids", "store_listing", "to_measure"]


def store_listing(
    book: FieldBook,
    outing_id: int,
    folder: Path,
    bursts: Sequence[Burst],
    failed: Sequence[UnreadableFrame] = (),
) -> None:
    """Store what a listing of ``folder`` found, in place of what the last listing of that folder found.

    Each file's size and time of change are read here, before any pixel: they tell later whether a stored measurement
    still holds. A frame that is listed no more leaves the outing's bursts, but what was measured on it and what a
    person chose for it stay in the book. Frames keep to one burst per outing, also when a folder and a folder within
    it are sifted in turn.

    Parameters
    ----------
    outing_id : int
        As `outings.open_outing` gave it.
    bursts : sequence of Burst
        All bursts under ``folder``.
    failed : sequence of UnreadableFrame
        Files under ``folder`` whose tags could not be read; replaces the folder's stored failures.
    """
    folder = stored_path(folder)
    listed = [frame for burst in bursts for frame in burst.frames]
    rows = [_frame_row(frame) for frame in listed]
    with book.writing() as connection:
        _store_frames(connection, rows)
        ids = frame_ids(connection, [row["path"] for row in rows])
        burst_ids = _store_bursts(connection, outing_id, folder, bursts)
        member, burst = schema.burst_frame, schema.burst
        connection.execute(member.delete().where(member.c.burst_id.in_(_bursts_of(outing_id, folder))))
        stored = insert(member)
        members = [
            {
                "outing_id": outing_id,
                "frame_id": ids[stored_path(frame.path)],
                "burst_id": burst_ids[one.name],
                "number": number,
            }
            for one in bursts
            for number, frame in enumerate(one.frames)
        ]
        if members:
            connection.execute(
                stored.on_conflict_do_update(
                    index_elements=["outing_id", "frame_id"],
                    set_={"burst_id": stored.excluded.burst_id, "number": stored.excluded.number},
                ),
                members,
            )
        emptied = ~select(member.c.frame_id).where(member.c.burst_id == burst.c.id).exists()
        connection.execute(burst.delete().where((burst.c.outing_id == outing_id) & emptied))
        replace_failures(connection, outing_id, folder, tuple(failed))


def to_measure(book: FieldBook, outing_id: int, folder: Path, code_version: str) -> tuple[Burst, ...]:
    """Return what still wants measuring under ``folder``, each burst holding only those of its frames.

    A frame is left out when its file (path, size, time of change) is the one that was measured, by code of the same
    version. A burst in which a person has drawn, moved or taken away a box since it was measured comes whole.

    Parameters
    ----------
    folder : Path
        As given to `store_listing`.
    code_version : str
        Anything that changes whenever the measurement would come out differently.
    """
    folder = stored_path(folder)
    member, frame, measured, burst = schema.burst_frame, schema.frame, schema.measurement, schema.burst
    holds = and_(
        measured.c.code_version == code_version,
        measured.c.size_bytes == frame.c.size_bytes,
        measured.c.mtime_ns == frame.c.mtime_ns,
    )
    with book.reading() as connection:
        drawn_since = bursts_drawn_since(connection, outing_id)
        rows = connection.execute(
            select(burst.c.name.label("burst_name"), frame)
            .select_from(burst)
            .join(member, member.c.burst_id == burst.c.id)
            .join(frame, frame.c.id == member.c.frame_id)
            .outerjoin(measured, and_(measured.c.frame_id == frame.c.id, holds))
            .where(burst.c.outing_id == outing_id, burst.c.folder == folder)
            .where(or_(measured.c.frame_id.is_(None), burst.c.id.in_(drawn_since)))
            .order_by(burst.c.taken_at, burst.c.id, member.c.number)
        )
        frames: dict[str, list[Frame]] = {}
        for row in rows:
            frames.setdefault(row.burst_name, []).append(frame_from(row))
    return tuple(Burst(name, tuple(of_burst)) for name, of_burst in frames.items())


def frame_ids(connection: Connection, paths: Sequence[Path]) -> dict[Path, int]:
    """Return the numbers of the frames with these absolute paths; a path that is not in the book is left out."""
    frame = schema.frame
    found: dict[Path, int] = {}
    for some in pieces(paths):
        found |= dict(connection.execute(select(frame.c.path, frame.c.id).where(frame.c.path.in_(some))).all())
    return found


def known_frame_ids(connection: Connection, paths: Sequence[Path]) -> dict[Path, int]:
    """Return `frame_ids`, or raise `UnknownThing` where one is not in the book."""
    found = frame_ids(connection, paths)
    for path in paths:
        if path not in found:
            raise UnknownThing(f"{path}: the field book holds no such frame; it has to be listed first")
    return found


def frame_from(row: Row[Any]) -> Frame:
    """Return the frame of one row of the ``frame`` table, its paths absolute."""
    values = row._mapping
    tags = {field.name: values[field.name] for field in fields(Tags)}
    tags["taken_at"] = None if tags["taken_at"] is None else datetime.fromisoformat(tags["taken_at"])
    tags["has_subseconds"] = bool(tags["has_subseconds"])
    area = tags["focus_area_px"]
    tags["focus_area_px"] = None if area is None else tuple(json.loads(area))
    return Frame((values["path"], *paths_from(values["other_files"])), Tags(**tags), paths_from(values["copies"]))


def _frame_row(frame: Frame) -> dict[str, Any]:
    tags: dict[str, Any] = {field.name: getattr(frame.tags, field.name) for field in fields(Tags)}
    taken_at = frame.tags.taken_at
    tags["taken_at"] = None if taken_at is None else taken_at.isoformat()
    tags["has_subseconds"] = int(frame.tags.has_subseconds)
    area = frame.tags.focus_area_px
    tags["focus_area_px"] = None if area is None else json.dumps(area)
    path = stored_path(frame.path)
    try:
        status = path.stat()
    except OSError:
        # Gone since it was listed: the frame stays unmeasured, and the reading of its pixels says why.
        size_bytes, mtime_ns = None, None
    else:
        size_bytes, mtime_ns = status.st_size, status.st_mtime_ns
    return {
        "path": path,
        "other_files": paths_text(frame.files[1:]),
        "copies": paths_text(frame.copies),
        "size_bytes": size_bytes,
        "mtime_ns": mtime_ns,
        **tags,
    }


def _store_frames(connection: Connection, rows: list[dict[str, Any]]) -> None:
    if rows:
        stored = insert(schema.frame)
        changed = {name: stored.excluded[name] for name in rows[0] if name != "path"}
        connection.execute(stored.on_conflict_do_update(index_elements=["path"], set_=changed), rows)


def _store_bursts(connection: Connection, outing_id: int, folder: Path, bursts: Sequence[Burst]) -> Mapping[str, int]:
    """Store the bursts, keeping the numbers of those known by name, and return the numbers by name."""
    burst = schema.burst
    if bursts:
        stored = insert(burst)
        connection.execute(
            stored.on_conflict_do_update(
                index_elements=["outing_id", "folder", "name"], set_={"taken_at": stored.excluded.taken_at}
            ),
            [
                {"outing_id": outing_id, "folder": folder, "name": one.name, "taken_at": _taken_at(one)}
                for one in bursts
            ],
        )
    found = connection.execute(select(burst.c.name, burst.c.id).where(burst.c.id.in_(_bursts_of(outing_id, folder))))
    return dict(found.all())


def _bursts_of(outing_id: int, folder: Path) -> Any:
    burst = schema.burst
    return select(burst.c.id).where(burst.c.outing_id == outing_id, burst.c.folder == folder).scalar_subquery()


def _taken_at(burst: Burst) -> str | None:
    first = burst.frames[0].tags.taken_at if burst.frames else None
    return None if first is None else first.isoformat()
