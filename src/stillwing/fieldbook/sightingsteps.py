"""What the last step of the sightings was, and what taking it back would come to; nothing is changed here."""

import json
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.sightings import TakenBack

__all__ = ["LastStep", "last_step"]


@dataclass(frozen=True, slots=True)
class LastStep:
    """One change on a page, or all that one file brought."""

    made_at: datetime
    names: tuple[str, ...]
    """Scientific names, as they were before or are now, each once and in order."""
    comes_to: TakenBack
    """What `undo_sightings` would return."""


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


def _name(document: str) -> str:
    return str(json.loads(document)["scientific_name"])
