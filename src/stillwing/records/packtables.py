"""Tables of a pack, read so that every mistake in all of them is told at once."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TypeVar

from stillwing.animals.catalogue import Mark
from stillwing.animals.tables import Row, checked_rows
from stillwing.errors import BadTables, InputError
from stillwing.records.placefacts import Origin
from stillwing.records.seasonwords import DaySpan, read_days

__all__ = ["COLUMNS", "OPTIONAL_COLUMNS", "Mistakes", "Tables", "by_key", "days_of", "known_as", "origin_of"]
__all__ += ["read_tables", "words_of"]

T = TypeVar("T")

COLUMNS: dict[str, tuple[str, ...]] = {
    "region": ("name", "covers"),
    "sources": ("source", "citation"),
    "families": ("family", "name", "suborder", "mark", "source"),
    "species": ("species", "name", "also", "family", "mark", "source"),
    "lengths": ("species", "quantity", "low", "high", "unit", "mark", "source"),
    "flight": ("species", "first", "last", "mark", "source"),
    "habitats": ("species", "habitats", "mark", "source"),
    "status": ("species", "status", "area", "mark", "source"),
    "characters": ("character", "question", "shows", "states"),
    "traits": ("species", "character", "sex", "states", "mark", "source"),
}
"""Each table of a pack, a file of that name and ``.csv``, with its columns."""
OPTIONAL_COLUMNS: dict[str, tuple[str, ...]] = {
    "squares": ("species", "square", "records", "mark", "source"),
    "protection": ("species", "area", "law", "mark", "source"),
}
"""Tables that a pack may have besides; one that is not there says nothing."""


@dataclass(slots=True)
class Mistakes:
    """What was found wrong so far."""

    told: list[str] = field(default_factory=list)

    def take(self, read: Callable[[], T]) -> T | None:
        """Return what ``read`` returns, or None where it finds a mistake, which is noted."""
        try:
            return read()
        except InputError as error:
            self.told.append(str(error))
            return None


@dataclass(frozen=True, slots=True)
class Tables:
    """The rows of every table by its name, none where an optional one is not there; the citations by their keys."""

    rows: Mapping[str, tuple[Row, ...]]
    sources: Mapping[str, str]


def read_tables(folder: Path, mistakes: Mistakes) -> Tables:
    """Return the tables of a pack; what is wrong with a line is noted, and the others are read.

    Raises
    ------
    BadTables
        If a table is missing or cannot be read at all: what the others say of it would only mislead.
    """
    rows: dict[str, tuple[Row, ...]] = {}
    is_lost = False
    for name, columns in (COLUMNS | OPTIONAL_COLUMNS).items():
        path = folder / f"{name}.csv"
        rows[name], wrong = checked_rows(path, columns) if name in COLUMNS or path.exists() else ((), ())
        mistakes.told.extend(str(error) for error in wrong)
        is_lost |= bool(wrong) and not rows[name]
    if is_lost:
        raise BadTables(folder, tuple(mistakes.told))
    sources = by_key(rows["sources"], "source", lambda row: row.filled("citation"), mistakes)
    return Tables(rows, {key: citation or "" for key, citation in sources.items()})


def by_key(rows: Sequence[Row], column: str, read: Callable[[Row], T], mistakes: Mistakes) -> dict[str, T | None]:
    """Return what ``read`` makes of each row, by the cell that names it; None where a row is wrong, which is noted."""
    found: dict[str, T | None] = {}
    for row in rows:
        key = mistakes.take(partial(row.filled, column))
        if key is None:
            continue
        if key in found:
            mistakes.told.append(str(row.wrong(f'the {column} "{key}" stands there twice; keep one row')))
            continue
        found[key] = mistakes.take(partial(read, row))
    return found


def origin_of(row: Row, sources: Mapping[str, str]) -> Origin:
    """Return mark and citation of a row.

    Raises
    ------
    InputError
        If the mark is none, or the source is not in sources.csv.
    """
    mark = Mark(row.one_of("mark", tuple(Mark)))
    return Origin(mark, known_as(row, "source", sources, "sources.csv"))


def known_as(row: Row, column: str, known: Mapping[str, T], table: str) -> T:
    """Return what a cell names.

    Raises
    ------
    InputError
        If it names nothing known; the sentence says which table must hold it.
    """
    name = row.filled(column)
    if name not in known:
        raise row.wrong(f'{column} is "{name}"; {table} has no such row')
    return known[name]


def words_of(row: Row, column: str, allowed: Sequence[str] | None = None) -> tuple[str, ...]:
    """Return the words of a cell, set apart by semicolons.

    Raises
    ------
    InputError
        If there are none, one stands twice, or one is not allowed.
    """
    words = tuple(word.strip() for word in row.filled(column).split(";") if word.strip())
    if not words:
        raise row.wrong(f"{column} holds no word; set several apart with semicolons")
    if len(set(words)) < len(words):
        raise row.wrong(f'{column} is "{row.cells[column]}"; a word stands there twice')
    strange = [word for word in words if allowed is not None and word not in allowed]
    if strange:
        raise row.wrong(f'{column} has "{strange[0]}"; allowed are {"; ".join(allowed or ())}')
    return words


def days_of(row: Row, column: str) -> DaySpan:
    """Return the days that a cell such as Late June means.

    Raises
    ------
    InputError
        If it is no part of the year.
    """
    words = row.filled(column)
    try:
        return read_days(words)
    except InputError as error:
        raise row.wrong(f"{column}: {error}") from error
