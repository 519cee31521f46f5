"""Sites: waters with their stands, perches and horizon, each with its time zone and height above the sea.

A site is kept as one GeoJSON document, the one that is handed out and read in, so that nothing of it can be lost on the
way. Names are kept and compared as those of kits.
"""

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, RowMapping, select

from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.names import name_key, tidy_name
from stillwing.place.example import EXAMPLE_ZONE, example_site
from stillwing.place.features import site_geojson
from stillwing.place.geojson import parse_geojson
from stillwing.place.site import Site
from stillwing.sky.instants import zone_named
from stillwing.sky.observer import Observer

__all__ = [
    "HOW_TO_ADD",
    "KeptSite",
    "add_site",
    "change_site",
    "drop_site",
    "example_kept",
    "site_asked",
    "site_named",
    "sites",
]

HOW_TO_ADD = "add one with: stillwing site add FILE, or draw it on the page of sites"
_NOT_FOR_FILES = re.compile("[\x00-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
"""What UTF-8 or XML 1.0 cannot hold, from memory, and the other control characters: with one of them in a name, no GPX
of the site could be read."""


@dataclass(frozen=True, slots=True)
class KeptSite:
    """A site with what the sky needs to know of it."""

    site: Site
    zone: str
    """Name of its time zone, as "Europe/London"."""
    elevation_m: float = 0.0
    """Above the sea."""

    def __post_init__(self) -> None:
        """Refuse a zone that is none and a height that is nowhere.

        Raises
        ------
        InputError
            If the zone is not known, or the height is beyond that of any water.
        """
        zone_named(self.zone)
        # Checked by the observer, which has the range.
        _ = self.observer

    @property
    def observer(self) -> Observer:
        """Whoever stands in the middle of it."""
        middle = self.site.plane.middle
        return Observer(middle.latitude_deg, middle.longitude_deg, self.elevation_m)


def sites(book: FieldBook) -> tuple[KeptSite, ...]:
    """Return all sites in order of name.

    Raises
    ------
    FieldBookError
        If a stored site cannot be read; the message names it.
    """
    with book.reading() as connection:
        rows = connection.execute(select(schema.site).order_by(schema.site.c.name_key)).mappings().all()
    return tuple(map(_kept, rows))


def site_named(book: FieldBook, name: str | None = None) -> KeptSite:
    """Return the site called ``name``, or the only one.

    Raises
    ------
    UnknownThing
        If there is no such site, or there are several and none is named, with the names that there are; or if there is
        none at all, with what to do.
    FieldBookError
        If the stored site cannot be read.
    """
    with book.reading() as connection:
        row = _only_row(connection) if name is None else _row_named(connection, name)
    return _kept(row)


def site_asked(book: FieldBook, name: str | None = None) -> KeptSite:
    """Return the site of that name or the only one; the example site where the book holds none.

    The example site can be asked for by its name too, unless one of the book's own has that name.

    Raises
    ------
    UnknownThing
        As `site_named`.
    """
    if name is None:
        return site_named(book) if sites(book) else example_kept()
    try:
        return site_named(book, name)
    except UnknownThing:
        example = example_kept()
        if name_key(name) == name_key(example.site.name):
            return example
        raise


def example_kept() -> KeptSite:
    """Return the example site, an invented pond; a face that offers it says so. It is never stored by itself."""
    return KeptSite(example_site(), EXAMPLE_ZONE, 20.0)


def add_site(book: FieldBook, kept: KeptSite) -> KeptSite:
    """Store a new site, and return it as it was stored: its name without blanks around it.

    Raises
    ------
    InputError
        If the name is empty or taken, or a name holds what no file can.
    FieldBookError
        If the book cannot be written.
    """
    stored = _tidied(kept)
    with book.writing() as connection:
        _refuse_taken(connection, stored, but=None)
        now = _now()
        connection.execute(schema.site.insert().values(**_values(stored), added_at=now, changed_at=now))
    return stored


def change_site(book: FieldBook, name: str, kept: KeptSite) -> KeptSite:
    """Put ``kept`` in the place of the site called ``name``, whatever name it has itself, and return it as stored.

    Raises
    ------
    UnknownThing
        If there is no site called ``name``.
    InputError
        If the new name is empty, or is another site's, or a name holds what no file can.
    """
    stored = _tidied(kept)
    with book.writing() as connection:
        row = _row_named(connection, name)
        _refuse_taken(connection, stored, but=int(row["id"]))
        at = schema.site.c.id == row["id"]
        connection.execute(schema.site.update().where(at).values(**_values(stored), changed_at=_now()))
    return stored


def drop_site(book: FieldBook, name: str) -> str:
    """Take the site called ``name`` out of the book, and return its name as stored; a damaged one can be dropped too.

    Raises
    ------
    UnknownThing
        If there is no such site.
    """
    with book.writing() as connection:
        row = _row_named(connection, name)
        connection.execute(schema.site.delete().where(schema.site.c.id == row["id"]))
    return str(row["name"])


def _only_row(connection: Connection) -> RowMapping:
    rows = connection.execute(select(schema.site).order_by(schema.site.c.name_key)).mappings().all()
    if not rows:
        raise UnknownThing(f"the field book holds no site yet; {HOW_TO_ADD}")
    if len(rows) > 1:
        raise UnknownThing(f"the field book holds several sites; name one of: {', '.join(row['name'] for row in rows)}")
    return rows[0]


def _row_named(connection: Connection, name: str) -> RowMapping:
    query = select(schema.site).where(schema.site.c.name_key == name_key(name))
    row = connection.execute(query).mappings().one_or_none()
    if row is not None:
        return row
    known = connection.execute(select(schema.site.c.name).order_by(schema.site.c.name_key)).scalars().all()
    if not known:
        raise UnknownThing(f"the field book holds no site called {name!r}, and no other yet; {HOW_TO_ADD}")
    raise UnknownThing(f"the field book holds no site called {name!r}; it holds: {', '.join(known)}")


def _refuse_taken(connection: Connection, kept: KeptSite, but: int | None) -> None:
    query = select(schema.site.c.id, schema.site.c.name).where(schema.site.c.name_key == name_key(kept.site.name))
    taken = connection.execute(query).one_or_none()
    if taken is not None and taken.id != but:
        raise InputError(f"the field book holds a site called {taken.name!r} already; give another name")


def _tidied(kept: KeptSite) -> KeptSite:
    for kind, named in (("site", (kept.site,)), ("stand", kept.site.stands), ("perch", kept.site.perches)):
        for one in named:
            _refuse_unwritable(kind, tidy_name(one.name) if kind == "site" else one.name)
    # A site without a name refuses itself.
    return replace(kept, site=replace(kept.site, name=tidy_name(kept.site.name)))


def _refuse_unwritable(kind: str, name: str) -> None:
    found = _NOT_FOR_FILES.search(name)
    if found is not None:
        raise InputError(f"the {kind}'s name {name!r} holds {found[0]!r}, which no file of it could hold; leave it out")


def _values(kept: KeptSite) -> dict[str, Any]:
    return {
        "name": kept.site.name,
        "name_key": name_key(kept.site.name),
        "zone": kept.zone,
        "elevation_m": kept.elevation_m,
        "document": site_geojson(kept.site),
    }


def _kept(row: RowMapping) -> KeptSite:
    try:
        drawn = parse_geojson(row["document"], "its GeoJSON")
        return KeptSite(drawn.site(row["name"]), row["zone"], row["elevation_m"])
    except (InputError, TypeError) as error:
        # TypeError: SQLite keeps numbers in a column of words when another program writes them there.
        raise FieldBookError(
            f"the stored site {row['name']!r} cannot be used: {error}; drop it, and add it again"
        ) from error


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
