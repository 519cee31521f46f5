"""Tables of the catalogue as rows that know where they stand, so that a mistake is told by file and line."""

import csv
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stillwing.errors import InputError

__all__ = ["Row", "checked_rows", "read_rows"]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table: its cells by column, stripped of blanks round them."""

    path: Path
    line: int
    cells: Mapping[str, str]

    def wrong(self, sentence: str) -> InputError:
        """Return the error for this row, with file and line in front."""
        return InputError(f"{self.path.name}, line {self.line}: {sentence}")

    def filled(self, column: str) -> str:
        """Return a cell that must not be empty.

        Raises
        ------
        InputError
            If it is empty.
        """
        if not self.cells[column]:
            raise self.wrong(f"{column} is empty; every row needs one")
        return self.cells[column]

    def one_of(self, column: str, allowed: Sequence[str]) -> str:
        """Return a cell that holds one of the words allowed.

        Raises
        ------
        InputError
            If it holds anything else.
        """
        if self.cells[column] not in allowed:
            raise self.wrong(f'{column} is "{self.cells[column]}"; it is one of {", ".join(allowed)}')
        return self.cells[column]

    def number(self, column: str) -> float:
        """Return a cell as a finite number.

        Raises
        ------
        InputError
            If it is none.
        """
        try:
            value = float(self.cells[column])
        except ValueError as error:
            raise self.wrong(f'{column} is "{self.cells[column]}"; it must be a number such as 12.5') from error
        if not math.isfinite(value):
            raise self.wrong(f'{column} is "{self.cells[column]}"; it must be a finite number')
        return value

    def month(self, column: str) -> int:
        """Return a cell as a month of the year, 1 to 12.

        Raises
        ------
        InputError
            If it is none.
        """
        value = self.number(column)
        if value not in range(1, 13):
            raise self.wrong(f'{column} is "{self.cells[column]}"; a month is a whole number from 1 to 12')
        return int(value)


def read_rows(path: Path, columns: Sequence[str]) -> tuple[Row, ...]:
    """Return the rows of a CSV table with exactly these columns, in this order.

    Parameters
    ----------
    path : Path
        CSV as in RFC 4180, UTF-8, first line the names of the columns. Empty lines are passed over.
    columns : sequence of str
        Names that the first line must hold.

    Raises
    ------
    InputError
        If the file cannot be read, is no UTF-8 text, or a line has other columns.
    """
    rows, mistakes = checked_rows(path, columns)
    if mistakes:
        raise mistakes[0]
    return rows


def checked_rows(path: Path, columns: Sequence[str]) -> tuple[tuple[Row, ...], tuple[InputError, ...]]:
    """Return the rows that can be read and every mistake in the others, in the order of the lines.

    Parameters
    ----------
    path : Path
        CSV as in `read_rows`. Where the file cannot be read, or its first line is wrong, that is the only mistake.
    columns : sequence of str
        Names that the first line must hold.
    """
    try:
        reader = csv.reader(_text(path).splitlines(keepends=True), strict=True)
        _check_header(path, next(reader, []), columns)
    except csv.Error as error:
        return (), (InputError(f"{path.name}, line 1: {error}; quotes must be closed and doubled"),)
    except InputError as error:
        return (), (error,)
    rows: list[Row] = []
    mistakes: list[InputError] = []
    while True:
        try:
            cells = next(reader, None)
            if cells is None:
                return tuple(rows), tuple(mistakes)
            if cells:
                rows.append(_row(path, reader.line_num, columns, cells))
        except csv.Error as error:
            mistakes.append(
                InputError(f"{path.name}, line {reader.line_num}: {error}; quotes must be closed and doubled")
            )
        except InputError as error:
            mistakes.append(error)


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{path}: not UTF-8 text; save the table as CSV in UTF-8") from error
    except OSError as error:
        raise InputError(f"{path}: {error.strerror or error}; this table is needed") from error


def _check_header(path: Path, cells: Sequence[str], columns: Sequence[str]) -> None:
    header = [cell.strip() for cell in cells]
    if header != list(columns):
        raise InputError(f"{path.name}, line 1: the columns are {','.join(header)}; they must be {','.join(columns)}")


def _row(path: Path, line: int, columns: Sequence[str], cells: Sequence[str]) -> Row:
    if len(cells) != len(columns):
        raise InputError(
            f"{path.name}, line {line}: {len(cells)} cells where {len(columns)} belong; put text with commas in quotes"
        )
    return Row(path, line, dict(zip(columns, (cell.strip() for cell in cells), strict=True)))
