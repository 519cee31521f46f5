"""The whole of what is stored about an outing as one flat table, every field of every record a column."""

import base64
import dataclasses
import json
from collections.abc import Iterator
from datetime import datetime
from enum import Enum
from functools import cache
from pathlib import Path
from types import UnionType
from typing import Any, get_args, get_type_hints

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import StandingChoice, standing_choices
from stillwing.fieldbook.frames import measured_bursts
from stillwing.fieldbook.outings import outing
from stillwing.fieldbook.paths import stored_path
from stillwing.frames.frame import Tags
from stillwing.frames.measured import Animal, MeasuredFrame
from stillwing.share.table import Cell, check_table_path, portable_path, write_rows

__all__ = ["write_everything"]

FRAME_COLUMNS: dict[str, type] = {
    "file": str,
    "other_files": str,
    "copies": str,
    "burst": str,
    "number": int,
    "choice": str,
    "is_by_hand": bool,
    "proposed": str,
    "reason": str,
    "usable_width_px": float,
    "frame_width_px": int,
    "frame_height_px": int,
    "from_preview": bool,
}


def write_everything(book: FieldBook, outing_id: int, path: Path, *, folder: Path | None = None) -> int:
    """Write every figure stored for an outing, one row per animal and one per measured frame without.

    Columns of tags begin with ``tag_``; lists (outlines, focus maps, further files) are JSON, pictures
    (cutouts) base64. ``number`` counts frames within their burst and ``animal`` the animals within their frame, both
    from 0.

    Parameters
    ----------
    path : Path
        ``.csv`` or ``.parquet``.
    folder : Path, optional
        Folder that file names are relative to; the one sifted last without it.

    Returns
    -------
    int
        Number of rows.

    Raises
    ------
    InputError
        If the name of the file ends in something else.
    WriteFailed
        If the file cannot be written.
    """
    check_table_path(path)
    folder = stored_path(folder or outing(book, outing_id).folder)
    columns = FRAME_COLUMNS | _columns(Tags, "tag_") | {"found": bool, "animal": int} | _columns(Animal, "")
    return write_rows(columns, _rows(book, outing_id, folder), path)


def _rows(book: FieldBook, outing_id: int, folder: Path) -> Iterator[list[Cell]]:
    choices = {choice.path: choice for choice in standing_choices(book, outing_id)}
    for burst in measured_bursts(book, outing_id, with_shapes=True):
        for number, measured in enumerate(burst.frames):
            head = _frame_cells(measured, burst.name, number, choices.get(measured.path), folder)
            head += _cells(measured.frame.tags, Tags)
            for place, animal in enumerate(measured.animals):
                yield [*head, True, place, *_cells(animal, Animal)]
            if not measured.animals:
                yield [*head, False, None, *_cells(None, Animal)]


def _frame_cells(
    measured: MeasuredFrame, burst: str, number: int, choice: StandingChoice | None, folder: Path
) -> list[Cell]:
    frame = measured.frame
    return [
        portable_path(frame.path, folder),
        json.dumps([portable_path(path, folder) for path in frame.files[1:]]),
        json.dumps([portable_path(path, folder) for path in frame.copies]),
        burst,
        number,
        choice.choice.value if choice else None,
        choice.is_by_hand if choice else None,
        choice.proposed.value if choice and choice.proposed else None,
        choice.why if choice else None,
        choice.usable_width_px if choice else None,
        measured.width_px,
        measured.height_px,
        measured.from_preview,
    ]


def _columns(record: type, prefix: str) -> dict[str, type]:
    """Return the columns of a record and of the records within it, so that a field added later is never left out."""
    columns: dict[str, type] = {}
    for field, kind in _fields(record):
        if _is_record(kind):
            columns |= _columns(kind, prefix if field == "box" else f"{prefix}{field}_")
        else:
            # Blur's own blur_px would be blur_blur_px.
            name = field if prefix and field.startswith(prefix) else f"{prefix}{field}"
            columns[name] = kind if kind in (bool, int, float) else str
    return columns


def _cells(record: object | None, kind: type) -> list[Cell]:
    """Return the cells of a record in the order of `_columns`; all empty without one."""
    cells: list[Cell] = []
    for field, inner in _fields(kind):
        value = None if record is None else getattr(record, field)
        cells += _cells(value, inner) if _is_record(inner) else [_cell(value)]
    return cells


def _cell(value: Any) -> Cell:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, bytes):
        return base64.b64encode(value).decode("ascii")
    # NaN is no JSON; an unmeasured place of a focus map is null.
    return json.dumps(_without_nan(value)) if isinstance(value, tuple) else value


def _without_nan(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_without_nan(one) for one in value]
    return None if isinstance(value, float) and value != value else value


def _is_record(kind: type) -> bool:
    return dataclasses.is_dataclass(kind)


@cache
def _fields(record: type) -> list[tuple[str, Any]]:
    """Return a record's fields and their types, without the ``None`` that some may be."""
    # Cached: type hints are text until they are looked up, which took two thirds of the time of a table.
    hints = get_type_hints(record)
    found = []
    for field in dataclasses.fields(record):
        hint = hints[field.name]
        kinds = [one for one in get_args(hint) if one is not type(None)] if isinstance(hint, UnionType) else [hint]
        found.append((field.name, kinds[0]))
    return found
