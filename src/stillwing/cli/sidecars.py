"""``stillwing sidecars``: the choice handed to other software, as XMP beside the pictures."""

from typing import Annotated

import typer

from stillwing.cli.asked import BookOption, DryRunOption, OutingOption, asked_outing
from stillwing.cli.terminal import print_data, say
from stillwing.errors import InputError, WriteFailed
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.outings import Outing
from stillwing.share.sidecar import SidecarRun, undo_sidecars, write_sidecars

__all__ = ["handle_sidecars", "tell_sidecars"]


def handle_sidecars(
    outing: OutingOption = None,
    book: BookOption = None,
    keyword: Annotated[
        list[str] | None, typer.Option(help="Keyword to add to frames to keep and to spare. Repeatable.")
    ] = None,
    overrule_ratings: Annotated[
        bool, typer.Option("--overrule-ratings", help="Write over ratings that another program set.")
    ] = False,
    dry_run: DryRunOption = False,
    undo: Annotated[bool, typer.Option("--undo", help="Take back what the last run of this command wrote.")] = False,
) -> None:
    """Write XMP sidecars beside the frames to keep and to spare.

    What other programs wrote in a sidecar stays in it. Exit code 4 tells that one could not be written.
    """
    if undo and (dry_run or keyword or overrule_ratings):
        raise InputError("--undo goes alone: it takes back what was written, and writes nothing new")
    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        if undo:
            _undo(opened, visit)
        run = write_sidecars(
            opened, visit.id, keywords=keyword or (), overrule_ratings=overrule_ratings, dry_run=dry_run
        )
    raise typer.Exit(tell_sidecars(run, dry_run=dry_run))


def tell_sidecars(run: SidecarRun, *, dry_run: bool) -> int:
    """Tell what was done, or print what would be, and return the exit code."""
    if dry_run:
        for sidecar in run.written:
            print_data(f"{sidecar.path}\n{sidecar.text}")
    for sidecar in run.written:
        if sidecar.kept_rating is not None:
            say(f"{sidecar.path}: keeps the rating {sidecar.kept_rating} that another program set")
    for failure in run.failed:
        say(str(failure))
    done = "would be written" if dry_run else "written"
    say(f"{len(run.written):,} sidecars {done}, {len(run.unchanged):,} were so already")
    return WriteFailed.exit_code if run.failed else 0


def _undo(book: FieldBook, visit: Outing) -> None:
    undone = undo_sidecars(book, visit.id)
    for failure in undone.failed:
        say(str(failure))
    say(f"{len(undone.restored):,} sidecars put back as they were")
    raise typer.Exit(WriteFailed.exit_code if undone.failed else 0)
