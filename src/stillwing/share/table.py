"""Everything measured as a table: CSV or Parquet, by the ending of the file's name."""

import csv
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from itertools import islice
from operator import attrgetter
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import failures, outing
from stillwing.fieldbook.paths import stored_path
from stillwing.fieldbook.traces import TraceAnimal, TraceFrame, burst_summaries, traces
from stillwing.share.atomic import written_atomically

__all__ = ["Cell", "TableRow", "check_table_path", "outing_rows", "portable_path", "write_rows", "write_table"]

BURSTS_AT_ONCE = 50
ROWS_AT_ONCE = 5000

CSV_DIGITS = 9
"""Digits that count: a place on earth to a metre, and 0.3 without the 0.30000000000000004 behind it."""

ARROW_TYPES = {str: pa.string(), bool: pa.bool_(), int: pa.int64(), float: pa.float64()}

Cell = str | bool | int | float | None
Writer = Callable[[dict[str, type], Iterable[Sequence[Cell]], Path], int]


@dataclass(frozen=True, slots=True)
class TableRow:
    """One animal, or one frame in which none was found; the fields are the columns, in this order.

    Pixels are those of the upright original. What was not measured is ``None``, and empty in the file.
    """

    file: str
    """Path from the folder sifted, with ``/`` between its parts; absolute for a frame that lies elsewhere."""
    found: bool
    certainty: float | None = None
    x_px: float | None = None
    y_px: float | None = None
    width_px: float | None = None
    height_px: float | None = None
    blur_px: float | None = None
    blur_low_px: float | None = None
    blur_high_px: float | None = None
    blur_minor_px: float | None = None
    blur_major_px: float | None = None
    blur_direction_deg: float | None = None
    burst: str = ""
    choice: str = ""
    """Of the frame: the person's, else the proposed one; empty for a frame that could not be read."""
    reason: str = ""


COLUMNS = tuple(field.name for field in fields(TableRow))


def outing_rows(book: FieldBook, outing_id: int, *, folder: Path | None = None) -> Iterator[TableRow]:
    """Give the rows of an outing, in order of time and then best animal first.

    Parameters
    ----------
    folder : Path, optional
        Folder that ``file`` is relative to; the one sifted last without it.
    """
    folder = stored_path(folder or outing(book, outing_id).folder)
    unread = {failure.path: failure.reason for failure in failures(book, outing_id)}
    offset = 0
    while summaries := burst_summaries(book, outing_id, offset=offset, limit=BURSTS_AT_ONCE):
        offset += len(summaries)
        for trace in traces(book, [summary.id for summary in summaries]):
            for frame in trace.frames:
                yield from _rows(frame, trace.name, folder, unread.get(frame.path))


def write_table(rows: Iterable[TableRow], path: Path) -> int:
    """Write rows as CSV or Parquet, whole or not at all, and return how many there were.

    Raises
    ------
    InputError
        If the name of the file ends in neither ``.csv`` nor ``.parquet``.
    WriteFailed
        If the file cannot be written.
    """
    columns = {name: float if name.endswith(("_px", "_deg", "certainty")) else str for name in COLUMNS}
    return write_rows({**columns, "found": bool}, map(attrgetter(*COLUMNS), rows), path)


def write_rows(columns: dict[str, type], rows: Iterable[Sequence[Cell]], path: Path) -> int:
    """Write rows of cells, each of its column's type or ``None``; see `write_table`."""
    writer = check_table_path(path)
    with written_atomically(path) as draft:
        return writer(columns, rows, draft)


def check_table_path(path: Path) -> Writer:
    """Return the function that writes files with this ending, or raise `InputError` before any work is done."""
    writer = WRITERS.get(path.suffix.lower())
    if writer is None:
        raise InputError(f"{path}: a table is written as .csv or .parquet, by the ending of the file's name")
    return writer


def portable_path(path: Path, folder: Path) -> str:
    """Return ``path`` from ``folder`` on, with ``/`` between its parts; bytes that are no UTF-8 become escapes."""
    inner = path.relative_to(folder) if path.is_relative_to(folder) else path
    return _valid(inner.as_posix())


def _valid(words: str) -> str:
    """Return words in valid Unicode; bytes of a file's name that are none become escapes."""
    return words.encode("utf-8", "backslashreplace").decode()


def _rows(frame: TraceFrame, burst: str, folder: Path, unread: str | None) -> Iterator[TableRow]:
    file = portable_path(frame.path, folder)
    choice = frame.choice.value if frame.choice else ""
    reason = f"could not be read: {unread}" if unread is not None and not frame.is_measured else frame.why
    if not frame.animals:
        yield TableRow(file, found=False, burst=burst, choice=choice, reason=reason)
    for animal in frame.animals:
        yield _animal_row(file, animal, burst, choice, reason)


def _animal_row(file: str, animal: TraceAnimal, burst: str, choice: str, reason: str) -> TableRow:
    box, blur = animal.box, animal.blur
    return TableRow(
        file=file,
        found=True,
        certainty=animal.certainty,
        x_px=box.x_px,
        y_px=box.y_px,
        width_px=box.width_px,
        height_px=box.height_px,
        blur_px=blur.blur_px if blur else None,
        blur_low_px=blur.blur_low_px if blur else None,
        blur_high_px=blur.blur_high_px if blur else None,
        blur_minor_px=blur.minor_px if blur else None,
        blur_major_px=blur.major_px if blur else None,
        blur_direction_deg=blur.direction_deg if blur else None,
        burst=burst,
        choice=choice,
        reason=reason,
    )


def _write_csv(columns: dict[str, type], rows: Iterable[Sequence[Cell]], draft: Path) -> int:
    n_rows = 0
    with draft.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(columns)
        for row in rows:
            writer.writerow([_csv_cell(cell) for cell in row])
            n_rows += 1
    return n_rows


def _csv_cell(cell: Cell) -> str:
    if cell is None or (isinstance(cell, float) and math.isnan(cell)):
        return ""
    if isinstance(cell, bool):
        return "true" if cell else "false"
    return f"{cell:.{CSV_DIGITS}g}" if isinstance(cell, float) else _valid(str(cell))


def _write_parquet(columns: dict[str, type], rows: Iterable[Sequence[Cell]], draft: Path) -> int:
    schema = pa.schema([(name, ARROW_TYPES[kind]) for name, kind in columns.items()])
    n_rows, rows = 0, iter(rows)
    with pq.ParquetWriter(draft, schema) as writer:
        while piece := list(islice(rows, ROWS_AT_ONCE)):
            cells = [
                pa.array([_valid(cell) if isinstance(cell, str) else cell for cell in column], kind, from_pandas=True)
                for column, kind in zip(zip(*piece, strict=True), schema.types, strict=True)
            ]
            writer.write_table(pa.Table.from_arrays(cells, schema=schema))
            n_rows += len(piece)
    return n_rows


WRITERS = {".csv": _write_csv, ".parquet": _write_parquet}
