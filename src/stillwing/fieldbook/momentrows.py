"""Moments as rows of their table."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, select

from stillwing.errors import FieldBookError, InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.moment import Moment, MomentKind, instant_text

__all__ = ["moment_from", "moment_row", "moments_by_id", "moments_where"]


def moments_where(connection: Connection, *conditions: ColumnElement[bool]) -> tuple[Moment, ...]:
    """Return the moments that meet all conditions, in order of their phones' time.

    Raises
    ------
    FieldBookError
        If a stored moment cannot be used.
    """
    query = select(schema.moment).where(*conditions).order_by(schema.moment.c.at, schema.moment.c.id)
    return tuple(map(moment_from, connection.execute(query)))


def moment_row(moment: Moment) -> dict[str, Any]:
    """Return the row that keeps a moment."""
    return {
        "id": moment.id,
        "kind": str(moment.kind),
        "at": instant_text(moment.at),
        "device": moment.device,
        "changed_at": instant_text(moment.changed_at),
        "animal": moment.animal,
        "site": moment.site,
        "stand": moment.stand,
        "perch": moment.perch,
        "note": moment.note,
        "until": None if moment.until is None else instant_text(moment.until),
        "undone": int(moment.undone),
    }


def moment_from(row: Row[Any]) -> Moment:
    """Return the moment of one row.

    Raises
    ------
    FieldBookError
        If another program has written what no moment can hold.
    """
    values = dict(row._mapping)
    try:
        values["kind"] = MomentKind(values["kind"])
        for name in ("at", "changed_at", "until"):
            values[name] = None if values[name] is None else datetime.fromisoformat(values[name])
        return Moment(**{**values, "undone": bool(values["undone"])})
    except (InputError, ValueError, TypeError, AttributeError) as error:
        raise FieldBookError(f"the stored moment {row.id} cannot be used: {error}") from error


def moments_by_id(connection: Connection, ids: Sequence[str]) -> dict[str, Moment]:
    """Return those of the moments that are stored."""
    return {moment.id: moment for moment in moments_where(connection, schema.moment.c.id.in_(ids))}
