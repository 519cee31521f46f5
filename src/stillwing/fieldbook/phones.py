"""Phones that logged, by their ids or the beginnings of them."""

from sqlalchemy import select, union

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook

__all__ = ["SHORT_ID", "phone_named"]

SHORT_ID = 8
"""Characters of a phone's id that are shown: chance alone gives two of a hundred phones the same once in a million."""
FEWEST = 4
"""Fewer characters are no name (a choice, no source)."""


def phone_named(book: FieldBook, words: str) -> str:
    """Return the id of the phone whose id is ``words``, or begins so.

    Raises
    ------
    UnknownThing
        If no phone of that id has logged.
    InputError
        If several ids begin so, or ``words`` is shorter than four characters.
    """
    asked = words.strip().lower()
    if len(asked) < FEWEST:
        raise InputError(f"the phone is {words.strip()!r}; write at least {FEWEST} characters of its id")
    devices = union(select(schema.moment.c.device), select(schema.clock_offset.c.device))
    with book.reading() as connection:
        known: list[str] = sorted(connection.execute(devices).scalars())
    if asked in known:
        return asked
    found = [device for device in known if device.startswith(asked)]
    if len(found) > 1:
        raise InputError(
            f"{len(found)} phones have an id that begins with {asked}: {', '.join(found)}; write more of it"
        )
    if not found:
        told = f"those known are {', '.join(one[:SHORT_ID] for one in known)}" if known else "none has logged yet"
        raise UnknownThing(f"no phone has the id {words.strip()!r}; {told}")
    return found[0]
