"""``stillwing export``: everything measured, as CSV or Parquet."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption, OutingOption, asked_outing
from stillwing.cli.terminal import say
from stillwing.fieldbook.book import open_book
from stillwing.share.everything import write_everything
from stillwing.share.table import check_table_path, outing_rows, write_table

__all__ = ["export_table"]


def export_table(
    file: Annotated[Path, typer.Argument(help="Table to write: its name ends in .csv or .parquet.")],
    outing: OutingOption = None,
    book: BookOption = None,
    all_fields: Annotated[
        bool, typer.Option("--all-fields", help="Every stored field: tags, outlines, focus maps and the rest.")
    ] = False,
) -> None:
    """Write an outing as a table, one row for each animal found and one for each frame without.

    A file of that name is replaced, once the new one is whole.
    """
    check_table_path(file)
    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        if all_fields:
            n_rows = write_everything(opened, visit.id, file)
        else:
            n_rows = write_table(outing_rows(opened, visit.id), file)
    say(f"{file}: {n_rows:,} rows of {visit.name}")
