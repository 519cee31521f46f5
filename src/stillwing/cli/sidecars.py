"""``stillwing sidecars``: the choice handed to other software, as XMP beside the pictures."""

from collections import Counter
from itertools import groupby
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption, DryRunOption, OutingOption, asked_outing
from stillwing.cli.terminal import print_data, say
from stillwing.errors import InputError, WriteFailed
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.outings import Outing
from stillwing.records.picturenames import names_of_frames
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
    positions: Annotated[
        bool,
        typer.Option("--positions", help="Write where photographs without a position were taken, as a track tells it."),
    ] = False,
    names: Annotated[
        bool, typer.Option("--names", help="Write which animals the sightings name in a picture, as keywords.")
    ] = False,
    sensitive_positions: Annotated[
        bool,
        typer.Option("--sensitive-positions", help="With --positions, write those of sensitive sightings too."),
    ] = False,
    dry_run: DryRunOption = False,
    undo: Annotated[bool, typer.Option("--undo", help="Take back what the last run of this command wrote.")] = False,
) -> None:
    """Write XMP sidecars beside the frames to keep and to spare.

    What other programs wrote in a sidecar stays in it. Exit code 4 tells that one could not be written.

    A position goes wherever the picture and its sidecar go. That of a nest, a roost or a rare animal's water can do
    harm in the wrong hands: leave --positions out there, or take it back with --undo before pictures leave the house.
    Where a sighting is marked sensitive, no position is written beside its pictures unless asked for.
    """
    if undo and (dry_run or keyword or overrule_ratings or positions or names or sensitive_positions):
        raise InputError("--undo goes alone: it takes back what was written, and writes nothing new")
    if sensitive_positions and not positions:
        raise InputError("--sensitive-positions widens --positions; give both")
    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        if undo:
            _undo(opened, visit)
        run = write_sidecars(
            opened,
            visit.id,
            keywords=keyword or (),
            overrule_ratings=overrule_ratings,
            with_positions=positions,
            with_names=names_of_frames(opened, visit.id) if names else None,
            sensitive_positions=sensitive_positions,
            dry_run=dry_run,
        )
    if names:
        _tell_names(run)
    if positions:
        _tell_positions(run)
    _tell_sensitive(run)
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


def _tell_positions(run: SidecarRun) -> None:
    sidecars = (*run.written, *run.unchanged)
    for sidecar in sidecars:
        if sidecar.kept_position is not None:
            say(f"{sidecar.path}: keeps the position {sidecar.kept_position} that another program set")
    placed = sorted((one.placed for one in sidecars if one.placed), key=lambda one: (one.track, one.uncertainty_m))
    for track, found in groupby(placed, key=lambda one: one.track):
        off_m = [one.uncertainty_m for one in found]
        low, high = f"{off_m[0]:.0f}", f"{off_m[-1]:.0f}"
        span = low if low == high else f"{low} to {high}"
        say(f"{len(off_m):,} with a position from {track}, which may be off by {span} m")
    if not any(one.placed or one.kept_position or one.held_back for one in sidecars):
        say("no track tells where these photographs were taken; take one in with: stillwing log track FILE.gpx")


def _tell_names(run: SidecarRun) -> None:
    counts = Counter(one.names for one in (*run.written, *run.unchanged) if one.names)
    for names, n_sidecars in sorted(counts.items()):
        say(f"{n_sidecars:,} with {', '.join(names)}")
    if not counts:
        say("no sighting names an animal in these photographs")


def _tell_sensitive(run: SidecarRun) -> None:
    sidecars = (*run.written, *run.unchanged)
    n_held_back = sum(one.held_back is not None for one in sidecars)
    if n_held_back:
        say(f"{n_held_back:,} without a position, as a sighting there is sensitive; --sensitive-positions writes it")
    for sidecar in sidecars:
        if sidecar.shows_sensitive_place:
            say(f"{sidecar.path}: holds a position, though a sighting there is sensitive; look before it is shared")


def _undo(book: FieldBook, visit: Outing) -> None:
    undone = undo_sidecars(book, visit.id)
    for failure in undone.failed:
        say(str(failure))
    say(f"{len(undone.restored):,} sidecars put back as they were")
    raise typer.Exit(WriteFailed.exit_code if undone.failed else 0)
