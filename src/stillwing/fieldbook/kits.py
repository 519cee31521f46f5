"""Kits: a camera with a lens under a name of the photographer's, and which of them stands.

The standing kit is the one added or used last. Names are kept as given, without blanks around them, and two that
differ only in capitals or in the width of a gap are one name.
"""

from dataclasses import asdict, fields, replace
from typing import Any

from sqlalchemy import Connection, RowMapping, func, select

from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.names import name_key, tidy_name
from stillwing.optics.kit import CameraBody, Kit, Lens

__all__ = ["EXAMPLE_KIT", "HOW_TO_ADD", "kit_named", "kits", "remove_kit", "save_kit", "use_kit"]

EXAMPLE_KIT = Kit(
    "example",
    CameraBody(17.4, 13.0, 5184, 3888, frames_per_s=18.0, look_back_s=0.5),
    Lens(75.0, 300.0, 4.8, 6.7, narrowest=22.0, closest_focus_m=1.3, largest_magnification=0.25),
)
"""For whoever has stored no kit yet; a face that offers it says that it is the example kit. It is never stored."""

HOW_TO_ADD = "add one with: stillwing kit add NAME, or read it off a picture with: stillwing kit read NAME PICTURE"


def kits(book: FieldBook) -> tuple[Kit, ...]:
    """Return all kits in order of name.

    Raises
    ------
    FieldBookError
        If a stored kit holds what no kit has; the message names it.
    """
    with book.reading() as connection:
        rows = connection.execute(select(schema.kit).order_by(schema.kit.c.name_key)).mappings().all()
    return tuple(map(_kit, rows))


def kit_named(book: FieldBook, name: str | None = None) -> Kit:
    """Return the kit called ``name``, or the standing one.

    Parameters
    ----------
    book : FieldBook
        Where to look.
    name : str, optional
        Its name, in capitals or not; without it, the kit added or used last.

    Returns
    -------
    Kit
        Under the name that it was stored with.

    Raises
    ------
    UnknownThing
        If there is no such kit, with the names that there are; or if there is none at all, with what to do.
    FieldBookError
        If the stored kit holds what no kit has.
    """
    with book.reading() as connection:
        row = _standing_row(connection) if name is None else _row_named(connection, name)
    return _kit(row)


def save_kit(book: FieldBook, kit: Kit, *, replace: bool = False) -> Kit:
    """Store a kit; a new one becomes the standing one.

    Parameters
    ----------
    book : FieldBook
        Where to store it.
    kit : Kit
        Its name must not be empty.
    replace : bool, default False
        Put it in the place of one with the same name. Which kit stands is then left as it is.

    Returns
    -------
    Kit
        As it was stored: its name without blanks around it.

    Raises
    ------
    InputError
        If the name is empty, or is taken and ``replace`` is not set.
    FieldBookError
        If the book cannot be written.
    """
    stored = _tidied(kit)
    table, values = schema.kit, _values(stored)
    with book.writing() as connection:
        taken = connection.execute(
            select(table.c.id, table.c.name).where(table.c.name_key == values["name_key"])
        ).one_or_none()
        if taken is None:
            connection.execute(table.insert().values(**values, turn=_next_turn()))
        elif replace:
            connection.execute(table.update().where(table.c.id == taken.id).values(**values))
        else:
            raise InputError(
                f"the field book holds a kit called {taken.name!r} already; give another name, or ask to replace it"
            )
    return stored


def use_kit(book: FieldBook, name: str) -> Kit:
    """Make the kit called ``name`` the standing one, and return it.

    Raises
    ------
    UnknownThing
        If there is no such kit.
    FieldBookError
        If it holds what no kit has, or the book cannot be written.
    """
    with book.writing() as connection:
        row = _row_named(connection, name)
        used = _kit(row)
        connection.execute(schema.kit.update().where(schema.kit.c.id == row["id"]).values(turn=_next_turn()))
    return used


def remove_kit(book: FieldBook, name: str) -> str:
    """Take the kit called ``name`` out of the book, and return its name as stored.

    Where it stood, the kit added or used before it stands again. A kit whose row is damaged can be removed too.

    Raises
    ------
    UnknownThing
        If there is no such kit.
    """
    with book.writing() as connection:
        row = _row_named(connection, name)
        connection.execute(schema.kit.delete().where(schema.kit.c.id == row["id"]))
    return str(row["name"])


def _standing_row(connection: Connection) -> RowMapping:
    query = select(schema.kit).order_by(schema.kit.c.turn.desc()).limit(1)
    row = connection.execute(query).mappings().one_or_none()
    if row is None:
        raise UnknownThing(f"the field book holds no kit yet; {HOW_TO_ADD}")
    return row


def _row_named(connection: Connection, name: str) -> RowMapping:
    query = select(schema.kit).where(schema.kit.c.name_key == name_key(name))
    row = connection.execute(query).mappings().one_or_none()
    if row is not None:
        return row
    known = connection.execute(select(schema.kit.c.name).order_by(schema.kit.c.name_key)).scalars().all()
    if not known:
        raise UnknownThing(f"the field book holds no kit called {name!r}, and no other yet; {HOW_TO_ADD}")
    raise UnknownThing(f"the field book holds no kit called {name!r}; it holds: {', '.join(known)}")


def _next_turn() -> Any:
    # Counted, not timed: a clock that is set back must not make an older kit stand.
    return select(func.coalesce(func.max(schema.kit.c.turn), 0) + 1).scalar_subquery()


def _tidied(kit: Kit) -> Kit:
    name = tidy_name(kit.name)
    if not name:
        raise InputError("the kit's name is empty; give it one, such as long lens")
    return replace(kit, name=name)


def _values(kit: Kit) -> dict[str, Any]:
    return {
        "name": kit.name,
        "name_key": name_key(kit.name),
        **asdict(kit.camera),
        **asdict(kit.lens),
        "teleconverter": kit.teleconverter,
    }


def _kit(row: RowMapping) -> Kit:
    try:
        camera = CameraBody(**{field.name: row[field.name] for field in fields(CameraBody)})
        lens = Lens(**{field.name: row[field.name] for field in fields(Lens)})
        return Kit(row["name"], camera, lens, row["teleconverter"])
    except (InputError, TypeError) as error:
        # TypeError: SQLite keeps words in a column of numbers when another program writes them there.
        raise FieldBookError(
            f"the stored kit {row['name']!r} cannot be used: {error}; remove it, and add it again"
        ) from error
