"""``stillwing log``: the moments of the field log, brought in from phones, listed and carried away.

What they tell of an outing's bursts stands in `stillwing.cli.logouting`.
"""

from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.jsontext import json_text
from stillwing.cli.logouting import show_bursts, show_clocks, take_in_track
from stillwing.cli.logtable import LoggedMoment, log_rows, log_table, logged, taken_words
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.momentjson import LARGEST_MB, MOST_MOMENTS
from stillwing.fieldbook.moments import corrected_instants, moments, moments_from_json, moments_to_json, take_in
from stillwing.fieldbook.sites import sites
from stillwing.share.atomic import write_atomically

__all__ = ["log_commands"]

log_commands = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None)

SiteOption = Annotated[str | None, typer.Option(help="Name of the site, as it was logged; all when not given.")]
DayOption = Annotated[str | None, typer.Option(help="Day by the site's clock, such as 2026-07-15; all when not given.")]
UndoneOption = Annotated[bool, typer.Option("--undone", help="Show moments that were taken back too.")]


@log_commands.callback()
def log() -> None:
    """Bring moments in from phones, list them, carry them away, and see what they tell of the bursts of an outing."""


@log_commands.command("import")
def bring_in(
    files: Annotated[list[Path], typer.Argument(help="Files that left a phone, stillwing-moments-….json.")],
    book: BookOption = None,
) -> None:
    """Take files of moments into the field book; what is known already changes nothing.

    Where one of the files cannot be used, none of them is taken in.
    """
    read = [(file, moments_from_json(_content(file), str(file))) for file in files]
    with open_book(book) as opened:
        for file, found in read:
            say(f"{file}: {taken_words(take_in(opened, found))}")


@log_commands.command("list")
def list_moments(
    site: SiteOption = None,
    day: DayOption = None,
    undone: UndoneOption = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON array.")] = False,
    book: BookOption = None,
) -> None:
    """List moments in order of time, by the clock of the site that they were logged at."""
    with open_book(book) as opened:
        found = _asked(opened, site, day, undone)
    if as_json:
        print_data(json_text(log_rows(found)))
    elif found:
        print_table(log_table(found))
    else:
        say("no such moment is logged")


@log_commands.command("export")
def carry_away(
    file: Annotated[Path, typer.Argument(help="File to write; its name ends in .json.")],
    site: SiteOption = None,
    day: DayOption = None,
    book: BookOption = None,
) -> None:
    """Write moments, those taken back too, as the file that import takes.

    A file of that name is replaced, once the new one is whole.
    """
    if file.suffix.lower() != ".json":
        raise InputError(f"{file}: moments are written as JSON; end the file's name in .json")
    with open_book(book) as opened:
        found = _asked(opened, site, day, True)
    if len(found) > MOST_MOMENTS:
        raise InputError(
            f"{len(found):,} moments are logged, and one file takes {MOST_MOMENTS:,}; choose some with --site or --day"
        )
    write_atomically(file, moments_to_json(one.moment for one in found).encode())
    say(f"{file}: {len(found):,} {'moment' if len(found) == 1 else 'moments'}")


log_commands.command("track")(take_in_track)
log_commands.command("clock")(show_clocks)
log_commands.command("bursts")(show_bursts)


def _asked(book: FieldBook, site: str | None, day: str | None, undone: bool) -> tuple[LoggedMoment, ...]:
    chosen = _day(day)
    found = moments(book, site=site, include_undone=undone)
    told = logged(found, corrected_instants(book, found), sites(book))
    return tuple(one for one in told if chosen is None or one.local.date() == chosen)


def _day(words: str | None) -> date | None:
    if words is None:
        return None
    try:
        return date.fromisoformat(words.strip())
    except ValueError as error:
        raise InputError(
            f"the day is {words.strip()!r}; write it as year, month and day, such as 2026-07-15"
        ) from error


def _content(file: Path) -> bytes:
    try:
        if file.stat().st_size > LARGEST_MB * 1_000_000:
            raise InputError(f"{file} is larger than {LARGEST_MB} MB; no file of moments is")
        return file.read_bytes()
    except OSError as error:
        raise InputError(f"{file} cannot be read: {error.strerror or error}") from error
