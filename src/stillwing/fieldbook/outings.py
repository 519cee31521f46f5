"""Outings: what they are called, where their frames lie, how far they have come, and which files could not be read."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Row, func, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import InputError, UnknownThing, UnreadableFrame
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.paths import stored_path

__all__ = ["Outing", "OutingCounts", "counts", "failures", "open_outing", "outing", "outing_named", "outings"]


@dataclass(frozen=True, slots=True)
class Outing:
    """One visit to one site, as the field book knows it."""

    id: int
    name: str
    folder: Path
    """Folder sifted last, absolute."""
    opened_at: datetime
    sharp_for: str | None
    """Output that "sharp enough" was last set for; ``None`` before the first choice."""
    chosen_at: datetime | None
    """When keepers were last proposed; ``None`` before the first run came to its end."""


@dataclass(frozen=True, slots=True)
class OutingCounts:
    """How far an outing has come. ``n_keep`` to ``n_leave`` count what stands: the person's, else the tool's."""

    n_bursts: int
    n_frames: int
    n_measured: int
    n_found: int
    n_failed: int
    n_by_hand: int
    n_keep: int
    n_spare: int
    n_leave: int


def open_outing(book: FieldBook, name: str, folder: Path) -> Outing:
    """Return the outing called ``name``, made when there is none; ``folder`` becomes the one sifted last.

    Raises
    ------
    InputError
        If the name is empty.
    """
    if not name.strip():
        raise InputError("the outing's name is empty; give it one, such as the date")
    folder = stored_path(folder)
    with book.writing() as connection:
        row = connection.execute(
            insert(schema.outing)
            .values(name=name.strip(), folder=folder, opened_at=_now())
            .on_conflict_do_update(index_elements=["name"], set_={"folder": folder})
            .returning(schema.outing)
        ).one()
        return _outing(row)


def outings(book: FieldBook) -> tuple[Outing, ...]:
    """Return all outings, the newest first."""
    with book.reading() as connection:
        return tuple(map(_outing, connection.execute(select(schema.outing).order_by(schema.outing.c.id.desc()))))


def outing(book: FieldBook, outing_id: int) -> Outing:
    """Return the outing with that number, or raise `UnknownThing`."""
    with book.reading() as connection:
        row = connection.execute(select(schema.outing).where(schema.outing.c.id == outing_id)).one_or_none()
    if row is None:
        raise UnknownThing(f"the field book holds no outing number {outing_id}")
    return _outing(row)


def outing_named(book: FieldBook, name: str) -> Outing:
    """Return the outing called ``name``, or raise `UnknownThing` with the names that there are."""
    with book.reading() as connection:
        row = connection.execute(select(schema.outing).where(schema.outing.c.name == name.strip())).one_or_none()
        names = connection.execute(select(schema.outing.c.name).order_by(schema.outing.c.id.desc()).limit(5)).scalars()
        known = ", ".join(names) or "none yet"
    if row is None:
        raise UnknownThing(f"the field book holds no outing called {name!r}; the last ones are: {known}")
    return _outing(row)


def counts(book: FieldBook, outing_id: int) -> OutingCounts:
    """Return how many bursts, frames, finds, failures and choices the outing has."""
    member, measured, person, proposal = (
        schema.burst_frame,
        schema.measurement,
        schema.person_choice,
        schema.proposal,
    )
    standing = func.coalesce(person.c.choice, proposal.c.choice)
    with book.reading() as connection:
        row = connection.execute(
            select(
                func.count(func.distinct(member.c.burst_id)),
                func.count(),
                func.count(measured.c.frame_id),
                func.count(schema.animal.c.frame_id),
                func.count(person.c.frame_id),
                func.count().filter(standing == "keep"),
                func.count().filter(standing == "spare"),
                func.count().filter(standing == "leave"),
            )
            .select_from(member)
            .outerjoin(measured, measured.c.frame_id == member.c.frame_id)
            .outerjoin(schema.animal, (schema.animal.c.frame_id == member.c.frame_id) & (schema.animal.c.number == 0))
            .outerjoin(person, person.c.frame_id == member.c.frame_id)
            .outerjoin(
                proposal, (proposal.c.outing_id == member.c.outing_id) & (proposal.c.frame_id == member.c.frame_id)
            )
            .where(member.c.outing_id == outing_id)
        ).one()
        n_failed = connection.execute(
            select(func.count()).select_from(schema.failure).where(schema.failure.c.outing_id == outing_id)
        ).scalar_one()
    n_bursts, n_frames, n_measured, n_found, n_by_hand, n_keep, n_spare, n_leave = row
    return OutingCounts(n_bursts, n_frames, n_measured, n_found, n_failed, n_by_hand, n_keep, n_spare, n_leave)


def failures(book: FieldBook, outing_id: int) -> tuple[UnreadableFrame, ...]:
    """Return the outing's files that the last run could not read, each with its sentence, in order of path."""
    failure = schema.failure
    with book.reading() as connection:
        rows = connection.execute(
            select(failure.c.path, failure.c.reason).where(failure.c.outing_id == outing_id).order_by(failure.c.path)
        )
        return tuple(UnreadableFrame(path, reason) for path, reason in rows)


def replace_failures(connection: Connection, outing_id: int, folder: Path, failed: tuple[UnreadableFrame, ...]) -> None:
    """Store what one listing of ``folder`` could not read, in place of what the last one could not."""
    connection.execute(
        schema.failure.delete().where((schema.failure.c.outing_id == outing_id) & (schema.failure.c.folder == folder))
    )
    add_failures(connection, outing_id, folder, failed)


def add_failures(connection: Connection, outing_id: int, folder: Path, failed: tuple[UnreadableFrame, ...]) -> None:
    """Store files that could not be read, inside the caller's transaction."""
    if not failed:
        return
    stored = insert(schema.failure)
    connection.execute(
        stored.on_conflict_do_update(
            index_elements=["outing_id", "path"],
            set_={"reason": stored.excluded.reason, "seen_at": stored.excluded.seen_at, "folder": folder},
        ),
        [
            {
                "outing_id": outing_id,
                "path": stored_path(one.path),
                "folder": folder,
                "reason": one.reason,
                "seen_at": _now(),
            }
            for one in failed
        ],
    )


def _outing(row: Row[tuple[object, ...]]) -> Outing:
    chosen_at = row.chosen_at
    return Outing(
        row.id,
        row.name,
        row.folder,
        datetime.fromisoformat(row.opened_at),
        row.sharp_for,
        None if chosen_at is None else datetime.fromisoformat(chosen_at),
    )


def _now() -> str:
    return datetime.now(UTC).isoformat()
