"""Options that several commands share, and what they mean."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import Outing, counts, outing_named, outings
from stillwing.fieldbook.traces import BurstTrace, burst_summaries, trace
from stillwing.frames.chosen import Choice

__all__ = ["BookOption", "ChoiceOption", "DryRunOption", "OutingOption", "asked_burst", "asked_choices", "asked_outing"]

BookOption = Annotated[Path | None, typer.Option(help="Field book to use; your own when not given.")]
OutingOption = Annotated[str | None, typer.Option(help="Name of the outing; the newest when not given.")]
ChoiceOption = Annotated[
    list[Choice] | None, typer.Option(help="Which frames: keep, spare or leave; keep when not given. Repeatable.")
]
DryRunOption = Annotated[bool, typer.Option("--dry-run", help="Write nothing; print what would be written.")]
NAMES_SHOWN = 5
"""Of bursts, where a name is wrong."""


def asked_outing(book: FieldBook, name: str | None) -> Outing:
    """Return the outing of that name, or the newest one.

    Raises
    ------
    InputError
        If the book holds none.
    """
    if name is not None:
        return outing_named(book, name)
    known = outings(book)
    if not known:
        raise InputError(f"{book.path}: the field book holds no outing yet; begin with: stillwing sift FOLDER")
    return known[0]


def asked_burst(book: FieldBook, visit: Outing, name: str) -> BurstTrace:
    """Return the burst of an outing with that name.

    Raises
    ------
    UnknownThing
        If the outing holds no burst of that name; the sentence names some that it holds.
    """
    known = burst_summaries(book, visit.id, limit=counts(book, visit.id).n_bursts)
    for burst in known:
        if burst.name == name:
            return trace(book, burst.id)
    some = ", ".join(burst.name for burst in known[:NAMES_SHOWN])
    more = ", ..." if len(known) > NAMES_SHOWN else ""
    raise UnknownThing(f'{visit.name} holds no burst "{name}"; there are {some}{more}')


def asked_choices(choices: list[Choice] | None) -> tuple[Choice, ...]:
    """Return the choices named, or the frames to keep."""
    return tuple(choices) if choices else (Choice.KEEP,)
