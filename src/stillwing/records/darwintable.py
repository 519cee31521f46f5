"""The rows of a Darwin Core table by the names of its columns, each with the line it stands on."""

import csv
import io
import re

from stillwing.errors import InputError
from stillwing.records.darwincells import unguarded
from stillwing.records.darwinmeta import Table
from stillwing.records.darwinterms import COLUMNS, MEDIA_COLUMNS, OCCURRENCE_ID, iri, local_name

__all__ = ["KEY", "Cells", "Line", "described_rows", "headed_rows"]

KEY = "coreid"
"""Name of the column that ties a picture to its occurrence."""
NEEDED = (OCCURRENCE_ID, "basisOfRecord", "scientificName", "eventDate")
WRITTEN = {local_name(term): iri(term) for term in (*COLUMNS, *MEDIA_COLUMNS)}
Cells = dict[str, str]
Line = tuple[int, Cells | str]
"""Number of a line, and its cells or what is wrong with it."""


def headed_rows(content: bytes) -> list[Line]:
    """Return the lines of a table that is headed by the names of its terms: Simple Darwin Core.

    Raises
    ------
    InputError
        If the table as a whole cannot be read.
    """
    rows = _lines(content, "utf-8-sig", ",", '"')
    if not rows:
        raise InputError("the file is empty; its first line names the columns")
    names = [local_name(name.strip()) for name in rows[0][1]]
    missing = [name for name in NEEDED if name not in names]
    if missing:
        told = f"has no column {', '.join(missing)}"
        hint = "; columns are parted by commas" if len(names) == 1 else ""
        raise InputError(f"the first line {told}; Simple Darwin Core is headed by the names of its terms{hint}")
    for name in names:
        if not name or names.count(name) > 1:
            raise InputError(f'the first line names a column "{name}" {names.count(name)} times; each has its own name')
    return [(line, _cells(cells, names)) for line, cells in rows[1:] if any(cells)]


def described_rows(content: bytes, table: Table) -> list[Line]:
    """Return the lines of a table of an archive, as its meta.xml describes them. Raises as `headed_rows`."""
    names: dict[int, str] = {}
    taken: set[str] = set()
    for column, term in table.columns:
        names[column] = _name(term, taken)
        taken.add(names[column])
    constants = {_name(term, taken - {local_name(term)}): value for term, value in table.constants}
    width = max([*names, -1 if table.key_column is None else table.key_column], default=-1) + 1
    found: list[Line] = []
    for line, cells in _lines(content, table.encoding, table.delimiter, table.quote)[table.n_header_lines :]:
        if not any(cells):
            continue
        if len(cells) < width:
            found.append((line, f"has {len(cells)} cells; the table has {width} columns"))
            continue
        row = {name: _clean(cells[column]) for column, name in names.items()}
        row |= {name: value for name, value in constants.items() if not row.get(name)}
        if table.key_column is not None:
            row[KEY] = _clean(cells[table.key_column])
        found.append((line, row))
    return found


def _name(term: str, taken: set[str]) -> str:
    """Return a term's short name, or its address where that name means another term."""
    name = local_name(term)
    return term if name in taken or WRITTEN.get(name, term) != term else name


def _cells(cells: list[str], names: list[str]) -> Cells | str:
    if len(cells) != len(names):
        return f"has {len(cells)} cells; the first line names {len(names)} columns"
    return {name: _clean(cell) for name, cell in zip(names, cells, strict=True)}


def _clean(cell: str) -> str:
    """Return a cell on one line, without the guard against spreadsheets."""
    return unguarded(re.sub(r"[\t\r\n]+", " ", cell).strip())


def _lines(content: bytes, encoding: str, delimiter: str, quote: str) -> list[tuple[int, list[str]]]:
    try:
        text = content.decode("utf-8-sig" if encoding.lower() in ("utf-8", "utf8") else encoding)
    except LookupError as error:
        raise InputError(f"the encoding {encoding} is not known; UTF-8 is what the standard takes") from error
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(f"line {line}: this is not written in {encoding}; save it as UTF-8") from error
    source = io.StringIO(text, newline="")
    reader = (
        csv.reader(source, delimiter=delimiter, quotechar=quote, strict=True)
        if quote
        else csv.reader(source, delimiter=delimiter, quoting=csv.QUOTE_NONE)
    )
    rows: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            rows.append((reader.line_num, cells))
    except csv.Error as error:
        raise InputError(f"line {reader.line_num}: this is no row of a table: {error}") from error
    return rows
