"""A journal of the sidecars that were written, with what stood there before, so that each step can be taken back."""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Column, ColumnElement, func, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.paths import stored_path
from stillwing.fieldbook.pieces import pieces

__all__ = [
    "SidecarEntry",
    "SidecarWrite",
    "close_entries",
    "enter_sidecars",
    "last_positions",
    "last_ratings",
    "last_step",
    "next_step",
    "strike_entries",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class SidecarWrite:
    """One sidecar that is to be written."""

    step: int
    path: Path
    before: bytes | None
    """The sidecar as it was; ``None`` where there was none."""
    after_sha256: str
    rating: str | None
    """The rating that is written."""
    position: str | None = None
    """Position that is written, as the sidecar says it; empty where ours is taken out, ``None`` where it is let be."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SidecarEntry(SidecarWrite):
    """One sidecar that was written, or was about to be when the program stopped."""

    id: int


def next_step(book: FieldBook, outing_id: int) -> int:
    """Return a number for the next step: all sidecars that one command writes."""
    table = schema.sidecar_write
    with book.reading() as connection:
        last = select(func.max(table.c.step)).where(table.c.outing_id == outing_id)
        return (connection.execute(last).scalar_one() or 0) + 1


def enter_sidecars(book: FieldBook, outing_id: int, writes: Sequence[SidecarWrite]) -> tuple[int, ...]:
    """Enter sidecars that are about to be written, in one transaction, and return the entries' numbers in order."""
    if not writes:
        return ()
    with book.writing() as connection:
        return tuple(
            connection.execute(
                insert(schema.sidecar_write)
                .values(
                    outing_id=outing_id,
                    step=write.step,
                    path=stored_path(write.path),
                    before=None if write.before is None else zlib.compress(write.before),
                    after_sha256=write.after_sha256,
                    rating=write.rating,
                    position=write.position,
                    written_at=datetime.now(UTC).isoformat(),
                )
                .returning(schema.sidecar_write.c.id)
            ).scalar_one()
            for write in writes
        )


def strike_entries(book: FieldBook, entries: Sequence[int]) -> None:
    """Take out entries whose sidecars could not be written."""
    if not entries:
        return
    table = schema.sidecar_write
    with book.writing() as connection:
        for some in pieces(entries):
            connection.execute(table.delete().where(table.c.id.in_(some)))


def close_entries(book: FieldBook, entries: Sequence[int]) -> None:
    """Note that what these entries tell of has been undone."""
    if not entries:
        return
    table = schema.sidecar_write
    with book.writing() as connection:
        for some in pieces(entries):
            undone = table.update().where(table.c.id.in_(some))
            connection.execute(undone.values(undone_at=datetime.now(UTC).isoformat()))


def last_step(book: FieldBook, outing_id: int) -> tuple[SidecarEntry, ...]:
    """Return the entries of an outing's last step that stand, the latest first; none where all has been undone."""
    table = schema.sidecar_write
    stands = (table.c.outing_id == outing_id) & table.c.undone_at.is_(None)
    last = select(func.max(table.c.step)).where(stands).scalar_subquery()
    with book.reading() as connection:
        rows = connection.execute(select(table).where(stands, table.c.step == last).order_by(table.c.id.desc()))
        return tuple(
            SidecarEntry(
                id=row.id,
                step=row.step,
                path=row.path,
                before=None if row.before is None else zlib.decompress(row.before),
                after_sha256=row.after_sha256,
                rating=row.rating,
                position=row.position,
            )
            for row in rows
        )


def last_ratings(book: FieldBook) -> dict[Path, str | None]:
    """Return, by sidecar, the rating that was written last and has not been undone, in any outing."""
    return _last(book, schema.sidecar_write.c.rating, schema.sidecar_write.c.undone_at.is_(None))


def last_positions(book: FieldBook) -> dict[Path, str | None]:
    """Return, by sidecar, the position that was written last and has not been undone, in any outing.

    It is empty where ours was taken out; sidecars of which no run touched the position are left out.
    """
    table = schema.sidecar_write
    return _last(book, table.c.position, table.c.undone_at.is_(None) & table.c.position.is_not(None))


def _last(book: FieldBook, wanted: Column[Any], counts: ColumnElement[bool]) -> dict[Path, str | None]:
    """Return one column of the last entry for each sidecar, among those that count."""
    table = schema.sidecar_write
    last = select(func.max(table.c.id)).where(counts).group_by(table.c.path).scalar_subquery()
    with book.reading() as connection:
        rows = connection.execute(select(table.c.path, wanted).where(table.c.id.in_(last)))
        return dict(rows.all())
