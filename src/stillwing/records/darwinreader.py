"""Sightings read from Simple Darwin Core or a Darwin Core Archive: all, or none and every mistake by its line."""

import io
import zipfile
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from uuid import UUID

from stillwing.errors import BadTables, InputError
from stillwing.fieldbook.sighting import Sighting
from stillwing.records.darwincells import DATUM
from stillwing.records.darwinmeta import META_FILE, Table, read_meta
from stillwing.records.darwinrows import sighting_in
from stillwing.records.darwintable import KEY, Cells, Line, described_rows, headed_rows
from stillwing.records.darwinterms import AUDIOVISUAL, MULTIMEDIA, OCCURRENCE, OCCURRENCE_ID

__all__ = ["Taken", "read_archive", "read_darwin_core", "read_simple"]

MOST_BYTES = 256 * 2**20
"""An archive that unpacks to more is refused; a record takes about 500 bytes."""

DAMAGE = (zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, ValueError, OSError)
"""What the zip module raises on bytes that are torn, flipped, encrypted or packed in a way it does not know. It tells
of the last two by a RuntimeError."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What a file gave.

    Attributes
    ----------
    sightings : tuple of Sighting
        In the order of the file.
    told : tuple of str
        What was kept without being understood, or left; one sentence each.
    """

    sightings: tuple[Sighting, ...]
    told: tuple[str, ...]


def read_darwin_core(path: Path) -> Taken:
    """Return the sightings of a file, an archive where its name ends in ``.zip`` and Simple Darwin Core otherwise.

    Raises
    ------
    InputError
        If the file cannot be read.
    BadTables
        If it holds mistakes; nothing is taken then, and each is told with its line.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}") from error
    return (read_archive if path.suffix.lower() == ".zip" else read_simple)(content, path.name)


def read_simple(content: bytes, name: str) -> Taken:
    """Return the sightings of Simple Darwin Core; ``name`` is told in mistakes. Raises as `read_darwin_core`."""
    try:
        lines = headed_rows(content)
    except InputError as error:
        raise BadTables(Path(name), (str(error),)) from error
    return _taken(lines, {}, name, ())


def read_archive(content: bytes, name: str) -> Taken:
    """Return the sightings of a Darwin Core Archive; ``name`` is told in mistakes. Raises as `read_darwin_core`."""
    parts = _unpacked(content, name)
    places = [PurePosixPath(part) for part in parts if PurePosixPath(part).name == META_FILE]
    if len(places) != 1:
        raise InputError(f"{name} holds {len(places)} files {META_FILE}; a Darwin Core Archive has one")
    folder = places[0].parent
    core, extensions = read_meta(parts[str(places[0])])
    if core.row_type != OCCURRENCE:
        raise InputError(f"{name} has rows of {core.row_type or 'no type'}; sightings are rows of {OCCURRENCE}")
    pictures: dict[str, list[str]] = {}
    told = []
    for table in extensions:
        if table.row_type in (AUDIOVISUAL, MULTIMEDIA):
            _add_pictures(pictures, _table_lines(parts, folder, table, name), table.file, name)
        else:
            told.append(f"{table.file} was left: rows of {table.row_type} have no place in a sighting")
    return _taken(_table_lines(parts, folder, core, name), pictures, name, tuple(told))


def _unpacked(content: bytes, name: str) -> dict[str, bytes]:
    """Return the files of a zip by their paths."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            size = sum(part.file_size for part in archive.infolist())
            if size <= MOST_BYTES:
                return {part.filename: archive.read(part) for part in archive.infolist() if not part.is_dir()}
    except DAMAGE as error:
        raise InputError(f"{name} cannot be opened as a zip file: {error}") from error
    most = f"{MOST_BYTES // 2**20} MiB"
    raise InputError(f"{name} unpacks to {size // 2**20} MiB; an archive of sightings has at most {most}")


def _table_lines(parts: Mapping[str, bytes], folder: PurePosixPath, table: Table, name: str) -> list[Line]:
    place = str(folder / table.file)
    try:
        return described_rows(parts[place], table)
    except KeyError as error:
        raise InputError(f"{name} has no file {place}, which its {META_FILE} names") from error
    except InputError as error:
        raise BadTables(Path(name), (f"{table.file}, {error}",)) from error


def _add_pictures(pictures: dict[str, list[str]], lines: Sequence[Line], file: str, name: str) -> None:
    mistakes = tuple(f"{file}, line {line}: {cells}" for line, cells in lines if isinstance(cells, str))
    if mistakes:
        raise BadTables(Path(name), mistakes)
    for _, cells in lines:
        if not isinstance(cells, str) and (picture := _picture(cells)):
            pictures.setdefault(cells[KEY], []).append(picture)


def _picture(cells: Mapping[str, str]) -> str:
    identifier = cells.get("identifier", "")
    address = identifier if identifier.startswith(("http://", "https://")) else ""
    return cells.get("accessURI") or address or cells.get("title") or identifier


def _taken(lines: Sequence[Line], pictures: Mapping[str, list[str]], name: str, told: tuple[str, ...]) -> Taken:
    sightings: list[Sighting] = []
    mistakes: list[str] = []
    first_lines: dict[UUID, int] = {}
    for line, cells in lines:
        try:
            sighting = _sighting(cells, pictures)
        except InputError as error:
            mistakes.append(f"line {line}: {error}")
            continue
        if (before := first_lines.setdefault(sighting.id, line)) != line:
            mistakes.append(f"line {line}: {OCCURRENCE_ID} is that of line {before}; every record has its own")
        sightings.append(sighting)
    if mistakes:
        raise BadTables(Path(name), tuple(mistakes))
    kept = {column for sighting in sightings for column, _ in sighting.others} - {OCCURRENCE_ID}
    kept_told = tuple(
        f"{column} was kept as it stands, since a sighting has no field for it" for column in sorted(kept)
    )
    return Taken(tuple(sightings), told + _datum_told(lines) + kept_told)


def _datum_told(lines: Sequence[Line]) -> tuple[str, ...]:
    rows = [cells for _, cells in lines if not isinstance(cells, str)]
    n_bare = sum(bool(cells.get("decimalLatitude")) and not cells.get("geodeticDatum") for cells in rows)
    told = f"geodeticDatum is empty beside the coordinates of {n_bare} records; {DATUM} (WGS 84) was assumed"
    return (told,) if n_bare else ()


def _sighting(cells: Cells | str, pictures: Mapping[str, list[str]]) -> Sighting:
    if isinstance(cells, str):
        raise InputError(cells)
    key = cells.pop(KEY, "")
    return sighting_in(cells, tuple(pictures.get(key, ())))
