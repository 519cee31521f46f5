"""Sightings in the field book: kept version by version, so that nothing is lost and each step can be taken back.

A version is never changed. The present state of a sighting is its last version that stands; one without a document says
that the sighting was withdrawn. Undo takes back a step: one change on a page, or all that one file brought.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, Select, func, select, update

from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.exactplaces import as_taken
from stillwing.fieldbook.pieces import pieces
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightingjson import sighting_from_json, sighting_to_json

__all__ = [
    "KeptSighting",
    "TakenBack",
    "TakenSightings",
    "keep_sighting",
    "sighting_named",
    "sightings",
    "sightings_by_outing",
    "sightings_of_bursts",
    "take_sightings",
    "undo_sightings",
    "withdraw_sighting",
]


@dataclass(frozen=True, slots=True)
class KeptSighting:
    """A sighting as it stands in the field book."""

    sighting: Sighting
    outing_id: int | None
    """The outing that it was seen on; ``None`` where it came from elsewhere."""
    bursts: tuple[int, ...]
    """Numbers of the bursts that show it, in order."""
    changed_at: datetime


@dataclass(frozen=True, slots=True)
class TakenSightings:
    """What taking in a file came to: numbers of sightings."""

    n_new: int
    n_changed: int
    n_same: int
    n_kept_exact: int = 0
    """Of the known ones: the file tells less of their places, which stay as they were."""


@dataclass(frozen=True, slots=True)
class TakenBack:
    """What an undo took back: numbers of sightings that are gone, changed back, and there again."""

    n_gone: int
    n_changed: int
    n_again: int


def sightings(book: FieldBook, outing_id: int | None = None) -> tuple[KeptSighting, ...]:
    """Return the sightings that stand, of one outing or all, the latest first.

    Raises
    ------
    FieldBookError
        If a stored one cannot be read.
    """
    with book.reading() as connection:
        query = _standing_query()
        if outing_id is not None:
            query = query.where(schema.sighting_version.c.outing_id == outing_id)
        found = _kept_of(connection, connection.execute(query).all())
    return tuple(sorted(found, key=lambda one: (*_begin(one), one.changed_at, str(one.sighting.id)), reverse=True))


def sighting_named(book: FieldBook, sighting_id: UUID) -> KeptSighting:
    """Return one sighting by its identity.

    Raises
    ------
    UnknownThing
        If there is none, or it was withdrawn.
    """
    with book.reading() as connection:
        query = _standing_query().where(schema.sighting_version.c.sighting_id == str(sighting_id))
        found = _kept_of(connection, connection.execute(query).all())
    if not found:
        raise UnknownThing(f"the field book holds no sighting {sighting_id}")
    return found[0]


def sightings_of_bursts(book: FieldBook, burst_ids: Sequence[int]) -> dict[int, tuple[KeptSighting, ...]]:
    """Return the sightings that some bursts show, by burst; bursts that show none are left out."""
    version, shown = schema.sighting_version, schema.sighting_burst
    found: dict[UUID, KeptSighting] = {}
    with book.reading() as connection:
        for some in pieces(burst_ids):
            showing = select(shown.c.version_id).where(shown.c.burst_id.in_(some))
            rows = connection.execute(_standing_query().where(version.c.id.in_(showing))).all()
            found |= {kept.sighting.id: kept for kept in _kept_of(connection, rows)}
    told: dict[int, list[KeptSighting]] = {}
    for kept in found.values():
        for burst_id in set(kept.bursts) & set(burst_ids):
            told.setdefault(burst_id, []).append(kept)
    return {
        burst_id: tuple(sorted(those, key=lambda one: (one.sighting.scientific_name, str(one.sighting.id))))
        for burst_id, those in told.items()
    }


def sightings_by_outing(book: FieldBook) -> dict[int, int]:
    """Return how many sightings stand of each outing; outings without any are left out."""
    standing = _standing_query().subquery()
    query = (
        select(standing.c.outing_id, func.count().label("n"))
        .where(standing.c.outing_id.is_not(None))
        .group_by(standing.c.outing_id)
    )
    with book.reading() as connection:
        return {row.outing_id: row.n for row in connection.execute(query)}


def keep_sighting(
    book: FieldBook, sighting: Sighting, *, outing_id: int | None = None, bursts: Sequence[int] = ()
) -> KeptSighting:
    """Keep a sighting, new or in place of the version that stood.

    Parameters
    ----------
    outing_id : int, optional
        The outing that it was seen on.
    bursts : sequence of int
        Bursts of that outing that show it.

    Raises
    ------
    InputError
        If bursts are named without their outing.
    UnknownThing
        If the outing holds no such burst.
    """
    shown = tuple(sorted(set(bursts)))
    with book.writing() as connection:
        _check_bursts(connection, outing_id, shown)
        before = _version_of(connection, sighting.id)
        row = (sighting_to_json(sighting), outing_id)
        if before is None or (before.document, before.outing_id, _shown(connection, before)) != (*row, shown):
            _enter(connection, _next_step(connection), sighting.id, *row, shown)
    return sighting_named(book, sighting.id)


def take_sightings(book: FieldBook, taken: Iterable[Sighting], *, replaces_exact: bool = False) -> TakenSightings:
    """Take sightings of a file into the book, all or none, as one step; those that are known as they are stay.

    One that is known and differs gets a new version, and keeps its outing and bursts.

    Parameters
    ----------
    taken : iterable of Sighting
    replaces_exact : bool
        Whether a place that the file tells less well stands in place of the one that is kept.
    """
    new = changed = same = exact = 0
    with book.writing() as connection:
        step = _next_step(connection)
        for came in taken:
            before, sighting = _version_of(connection, came.id), came
            if before is not None and before.document is not None:
                kept = _read(before)
                sighting = as_taken(kept, came, replaces_exact=replaces_exact)
                exact += sighting is not came
                if sighting == kept:
                    same += 1
                    continue
                changed += 1
            else:
                new += 1
            outing_id = None if before is None else before.outing_id
            shown = () if before is None else _shown(connection, before)
            _enter(connection, step, sighting.id, sighting_to_json(sighting), outing_id, shown)
    return TakenSightings(new, changed, same, exact)


def withdraw_sighting(book: FieldBook, sighting_id: UUID) -> Sighting:
    """Take a sighting out, and return it; `undo_sightings` brings it back.

    Raises
    ------
    UnknownThing
        If there is none.
    """
    kept = sighting_named(book, sighting_id)
    with book.writing() as connection:
        _enter(connection, _next_step(connection), sighting_id, None, kept.outing_id, kept.bursts)
    return kept.sighting


def undo_sightings(book: FieldBook) -> TakenBack | None:
    """Take back the last step that stands, and return what came of it; ``None`` where there is none."""
    version = schema.sighting_version
    with book.writing() as connection:
        standing = version.c.undone_at.is_(None)
        step = connection.execute(select(func.max(version.c.step)).where(standing)).scalar_one()
        if step is None:
            return None
        undone = connection.execute(
            update(version)
            .where(version.c.step == step, standing)
            .values(undone_at=_now())
            .returning(version.c.sighting_id, version.c.document)
        ).all()
        ends = [(row.document is not None, _is_there(connection, row.sighting_id)) for row in undone]
    return TakenBack(ends.count((True, False)), ends.count((True, True)), ends.count((False, True)))


def _is_there(connection: Connection, sighting_id: str) -> bool:
    before = _version_of(connection, UUID(sighting_id))
    return before is not None and before.document is not None


def _standing_query() -> Select[Any]:
    """Return the query for the present versions of all sightings that were not withdrawn."""
    version = schema.sighting_version
    last = select(func.max(version.c.id)).where(version.c.undone_at.is_(None)).group_by(version.c.sighting_id)
    return select(version).where(version.c.id.in_(last), version.c.document.is_not(None))


def _version_of(connection: Connection, sighting_id: UUID) -> Row[Any] | None:
    version = schema.sighting_version
    return connection.execute(
        select(version)
        .where(version.c.sighting_id == str(sighting_id), version.c.undone_at.is_(None))
        .order_by(version.c.id.desc())
        .limit(1)
    ).one_or_none()


def _bursts_of(connection: Connection, version_ids: Sequence[int]) -> dict[int, tuple[int, ...]]:
    shown = schema.sighting_burst
    found: dict[int, list[int]] = {}
    for some in pieces(version_ids):
        rows = connection.execute(select(shown).where(shown.c.version_id.in_(some)).order_by(shown.c.burst_id))
        for version_id, burst_id in rows:
            found.setdefault(version_id, []).append(burst_id)
    return {version_id: tuple(bursts) for version_id, bursts in found.items()}


def _shown(connection: Connection, version: Row[Any]) -> tuple[int, ...]:
    return _bursts_of(connection, [version.id]).get(version.id, ())


def _kept_of(connection: Connection, rows: Sequence[Row[Any]]) -> list[KeptSighting]:
    bursts = _bursts_of(connection, [row.id for row in rows])
    return [
        KeptSighting(_read(row), row.outing_id, bursts.get(row.id, ()), datetime.fromisoformat(row.stored_at))
        for row in rows
    ]


def _read(row: Row[Any]) -> Sighting:
    try:
        return sighting_from_json(row.document)
    except InputError as error:
        raise FieldBookError(f"sighting {row.sighting_id} cannot be used: {error}") from error


def _enter(
    connection: Connection,
    step: int,
    sighting_id: UUID,
    document: str | None,
    outing_id: int | None,
    bursts: Sequence[int],
) -> None:
    version, shown = schema.sighting_version, schema.sighting_burst
    version_id = connection.execute(
        version.insert()
        .values(step=step, sighting_id=str(sighting_id), document=document, outing_id=outing_id, stored_at=_now())
        .returning(version.c.id)
    ).scalar_one()
    if bursts:
        connection.execute(shown.insert(), [{"version_id": version_id, "burst_id": burst_id} for burst_id in bursts])


def _check_bursts(connection: Connection, outing_id: int | None, bursts: Sequence[int]) -> None:
    if outing_id is None and bursts:
        raise InputError("bursts are named without their outing; name the outing too")
    if outing_id is None:
        return
    burst = schema.burst
    held = set(connection.execute(select(burst.c.id).where(burst.c.outing_id == outing_id)).scalars())
    strange = [burst_id for burst_id in bursts if burst_id not in held]
    if strange:
        raise UnknownThing(f"outing number {outing_id} holds no burst number {strange[0]}")


def _next_step(connection: Connection) -> int:
    last = connection.execute(select(func.max(schema.sighting_version.c.step))).scalar_one()
    return (last or 0) + 1


def _begin(kept: KeptSighting) -> tuple[date, time]:
    """Return day and time of day as they were on the spot; a day alone comes before any time of it."""
    begin = kept.sighting.when.begin
    return (begin.date(), begin.time()) if isinstance(begin, datetime) else (begin, time.min)


def _now() -> str:
    return datetime.now(UTC).isoformat()
