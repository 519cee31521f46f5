"""What a terminal is told: data on standard output, talk on standard error."""

import sys
from collections.abc import Iterable

import typer
from rich.console import Console
from rich.table import Table

from stillwing.errors import UnreadableFrame

__all__ = ["print_data", "print_table", "say", "say_failures", "talk_console"]

UNLIMITED_COLUMNS = 400
"""Width of a table that goes to a file or another program: nothing is cut or wrapped."""


def talk_console() -> Console:
    """Return the console for progress and remarks."""
    return Console(stderr=True, highlight=False)


def say(line: str) -> None:
    """Tell one line that is not data."""
    typer.echo(line, err=True)


def say_failures(failed: Iterable[UnreadableFrame]) -> None:
    """Tell one line for each file that could not be read."""
    for failure in failed:
        say(str(failure))


def print_data(text: str) -> None:
    """Print data."""
    typer.echo(text)


def print_table(table: Table) -> None:
    """Print a table as wide as the terminal, or as wide as it needs where no terminal reads it."""
    console = Console(width=None if sys.stdout.isatty() else UNLIMITED_COLUMNS, highlight=False)
    with console.capture() as captured:
        console.print(table)
    # Cells are filled up with blanks, which would fill a file too.
    typer.echo("\n".join(line.rstrip() for line in captured.get().splitlines()))
