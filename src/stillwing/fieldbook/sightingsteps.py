"""What the last step of the sightings was, and the versions that led to one of them; nothing is changed here."""

import json
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import func, select

from stillwing.errors import FieldBookError, InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightingjson import sighting_from_json
from stillwing.fieldbook.sightings import TakenBack

__all__ = ["LastStep", "SightingVersion", "last_step", "sighting_versions"]


@dataclass(frozen=True, slots=True)
class LastStep:
    """One change on a page, or all that one file brought."""

    made_at: datetime
    names: tuple[str, ...]
    """Scientific names, as they were before or are now, each once and in order."""
    comes_to: TakenBack
    """What `undo_sightings` would return."""


@dataclass(frozen=True, slots=True)
class SightingVersion:
    """A sighting as it once was; without a record where it was withdrawn then."""

    made_at: datetime
    sighting: Sighting | None
    is_undone: bool
    """Whether it was taken back since."""


def last_step(book: FieldBook) -> LastStep | None:
    """Return the last step that stands; ``None`` where there is none."""
    version = schema.sighting_version
    standing = version.c.undone_at.is_(None)
    newest = select(func.max(version.c.step)).where(standing).scalar_subquery()
    older = version.alias("older")
    before_id = (
        select(func.max(older.c.id))
        .where(
            older.c.sighting_id == version.c.sighting_id,
            older.c.undone_at.is_(None),
            # One step may bring a sighting twice; all of it goes at once.
            older.c.step < version.c.step,
        )
        .scalar_subquery()
    )
    before = version.alias("before")
    query = (
        select(version.c.document, version.c.stored_at, before.c.document.label("document_before"))
        .select_from(version)
        .outerjoin(before, before.c.id == before_id)
        .where(version.c.step == newest, standing)
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
    if not rows:
        return None
    ends = [(row.document is not None, row.document_before is not None) for row in rows]
    names = {_name(row.document or row.document_before) for row in rows}
    comes_to = TakenBack(ends.count((True, False)), ends.count((True, True)), ends.count((False, True)))
    return LastStep(max(datetime.fromisoformat(row.stored_at) for row in rows), tuple(sorted(names)), comes_to)


def sighting_versions(book: FieldBook, sighting_id: UUID) -> tuple[SightingVersion, ...]:
    """Return all versions of a sighting, the first one first; none where there never was such a sighting.

    Raises
    ------
    FieldBookError
        If a stored one cannot be read.
    """
    version = schema.sighting_version
    query = select(version).where(version.c.sighting_id == str(sighting_id)).order_by(version.c.id)
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return tuple(
        SightingVersion(
            datetime.fromisoformat(row.stored_at),
            None if row.document is None else _sighting(row.document, sighting_id),
            row.undone_at is not None,
        )
        for row in rows
    )


def _sighting(document: str, sighting_id: UUID) -> Sighting:
    try:
        return sighting_from_json(document)
    except InputError as error:
        raise FieldBookError(f"sighting {sighting_id} cannot be used: {error}") from error


def _name(document: str) -> str:
    return str(json.loads(document)["scientific_name"])
