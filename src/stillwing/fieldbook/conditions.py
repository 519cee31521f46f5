"""What a person typed about how they photographed: support, stance and the like, for an outing or for one burst."""

from collections.abc import Mapping
from datetime import UTC, datetime
from types import MappingProxyType

from sqlalchemy import select
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.names import name_key, tidy_name

__all__ = ["USUAL_CONDITIONS", "conditions_of", "drop_condition", "type_condition"]

USUAL_CONDITIONS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "support": ("hand", "monopod", "tripod", "beanbag"),
        "stance": ("standing", "kneeling", "seated", "lying"),
        "body": ("square on", "twisted"),
        "focus detection": ("single", "continuous", "tracking", "manual", "set beforehand"),
        "wind from": ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"),
    }
)
"""What photographers try, with usual words; any other name and word may be typed."""
WHOLE_OUTING = 0
LONGEST = 60


def type_condition(book: FieldBook, outing_id: int, name: str, value: str, *, burst_id: int | None = None) -> None:
    """Keep a condition of an outing, or of one of its bursts, in place of what was typed of it before.

    Raises
    ------
    InputError
        If name or word is empty or longer than 60 signs.
    UnknownThing
        If there is no such outing, or it holds no such burst.
    """
    kept_name, kept_value = name_key(name), tidy_name(value)
    for what, words in (("name", kept_name), ("word", kept_value)):
        if not 0 < len(words) <= LONGEST:
            raise InputError(
                f"the condition's {what} has {len(words)} signs; it has 1 to {LONGEST}, such as support and tripod"
            )
    _check(book, outing_id, burst_id)
    table = schema.typed_condition
    values = {"value": kept_value, "typed_at": datetime.now(UTC).isoformat()}
    put = insert(table).values(outing_id=outing_id, burst_id=burst_id or WHOLE_OUTING, name=kept_name, **values)
    with book.writing() as connection:
        connection.execute(put.on_conflict_do_update(index_elements=["outing_id", "burst_id", "name"], set_=values))


def drop_condition(book: FieldBook, outing_id: int, name: str, *, burst_id: int | None = None) -> None:
    """Forget a condition; one that was never typed is forgotten already.

    Raises
    ------
    UnknownThing
        If there is no such outing, or it holds no such burst.
    """
    _check(book, outing_id, burst_id)
    table = schema.typed_condition
    with book.writing() as connection:
        connection.execute(
            table.delete().where(
                table.c.outing_id == outing_id,
                table.c.burst_id == (burst_id or WHOLE_OUTING),
                table.c.name == name_key(name),
            )
        )


def conditions_of(book: FieldBook, outing_id: int) -> dict[int | None, dict[str, str]]:
    """Return what was typed of an outing, by burst; under ``None`` what holds for the whole outing."""
    table = schema.typed_condition
    typed: dict[int | None, dict[str, str]] = {}
    with book.reading() as connection:
        rows = connection.execute(
            select(table).where(table.c.outing_id == outing_id).order_by(table.c.burst_id, table.c.name)
        )
        for row in rows:
            typed.setdefault(row.burst_id or None, {})[row.name] = row.value
    return typed


def _check(book: FieldBook, outing_id: int, burst_id: int | None) -> None:
    outing, burst = schema.outing, schema.burst
    with book.reading() as connection:
        if connection.execute(select(outing.c.id).where(outing.c.id == outing_id)).one_or_none() is None:
            raise UnknownThing(f"the field book holds no outing number {outing_id}")
        if burst_id is None:
            return
        query = select(burst.c.id).where(burst.c.id == burst_id, burst.c.outing_id == outing_id)
        if connection.execute(query).one_or_none() is None:
            raise UnknownThing(f"outing number {outing_id} holds no burst number {burst_id}")
