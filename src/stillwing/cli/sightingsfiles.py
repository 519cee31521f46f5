"""``stillwing sightings export`` and ``import``: records as Darwin Core, given away and taken in."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.sightingstable import taken_in_words
from stillwing.cli.terminal import say
from stillwing.errors import BadTables, InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import outing_named
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import sightings, take_sightings
from stillwing.records.darwin_core import darwin_core_archive, simple_darwin_core
from stillwing.records.darwinmeta import Dataset
from stillwing.records.darwinreader import read_darwin_core
from stillwing.records.filedwords import kept_exact_words
from stillwing.records.filing import Selection, n_coarsened, selected
from stillwing.share.atomic import write_atomically

__all__ = ["bring_in", "carry_away"]

SQUARE_KM = 10.0
LEAST_KM, MOST_KM = 0.001, 100.0
EXACT = "sensitive records go out with their exact places; give the file to nobody who need not know them"


def carry_away(
    file: Annotated[
        Path, typer.Argument(help="File to write: .csv is Simple Darwin Core, .zip a Darwin Core Archive.")
    ],
    outing: Annotated[str | None, typer.Option(help="Only those of this outing.")] = None,
    year: Annotated[int | None, typer.Option(help="Only those of this year.")] = None,
    square_km: Annotated[
        float | None, typer.Option("--square-km", help="Square that sensitive ones are given as; 10 km when not given.")
    ] = None,
    exact: Annotated[bool, typer.Option("--exact", help="Give the exact places of sensitive ones away too.")] = False,
    title: Annotated[str, typer.Option(help="Of an archive: its title.")] = "Sightings",
    description: Annotated[str, typer.Option(help="Of an archive: what it holds.")] = "Sightings from a field book",
    contact: Annotated[str | None, typer.Option(help="Of an archive: name of who answers for it; needed.")] = None,
    licence: Annotated[str | None, typer.Option(help="Of an archive: web address of its licence; needed.")] = None,
    book: BookOption = None,
) -> None:
    """Write sightings as Darwin Core, for recording schemes and other programs.

    A file of that name is replaced, once the new one is whole. Places of sensitive sightings are made coarser.
    """
    kind = file.suffix.lower()
    if kind not in (".csv", ".zip"):
        raise InputError(f"{file}: sightings are written as .csv or .zip, by the ending of the file's name")
    if exact and square_km is not None:
        raise InputError("--exact and --square-km exclude each other; give one of them")
    if kind == ".csv" and (contact is not None or licence is not None):
        raise InputError(f"{file}: a table tells no contact and no licence of the whole; write an archive, .zip")
    side_m = None if exact else _side_m(SQUARE_KM if square_km is None else square_km)
    dataset = _dataset(title, description, contact, licence) if kind == ".zip" else None
    with open_book(book) as opened:
        visit = None if outing is None else outing_named(opened, outing).id
        chosen = selected(sightings(opened), Selection(visit, year))
    if not chosen:
        raise InputError("no such sighting is kept, so nothing is written")
    found = [kept.sighting for kept in chosen]
    content = (
        simple_darwin_core(found, coarse_side_m=side_m)
        if dataset is None
        else darwin_core_archive(found, dataset, coarse_side_m=side_m)
    )
    write_atomically(file, content)
    _tell(file, found, n_coarsened(chosen, side_m), is_exact=exact)


def bring_in(
    files: Annotated[list[Path], typer.Argument(help="Simple Darwin Core (.csv) or Darwin Core Archives (.zip).")],
    replace_exact: Annotated[
        bool, typer.Option("--replace-exact", help="Let coarser places of the files stand in place of your exact ones.")
    ] = False,
    book: BookOption = None,
) -> None:
    """Take sightings of files into the field book; what is known already changes nothing.

    Where one of the files holds a mistake, nothing of any is taken in. All that is taken in is one step for undo. Of a
    sighting whose place a file tells less exactly, as an export of sensitive ones does, the place stays as it is kept.
    """
    found: list[Sighting] = []
    told, mistakes = [], []
    for file in files:
        try:
            taken = read_darwin_core(file)
        except BadTables as error:
            mistakes += [f"{file}: {mistake}" for mistake in error.mistakes]
            continue
        found += taken.sightings
        told += [f"{file}: {sentence}" for sentence in taken.told]
    if mistakes:
        for mistake in mistakes:
            say(mistake)
        n = len(mistakes)
        raise InputError(f"{n} {'mistake' if n == 1 else 'mistakes'}; nothing is taken in")
    with open_book(book) as opened:
        came = take_sightings(opened, found, replaces_exact=replace_exact)
    for sentence in told:
        say(sentence)
    say(taken_in_words(came))
    if came.n_kept_exact:
        say(f"{kept_exact_words(came.n_kept_exact)}; --replace-exact lets the file's stand")
    if came.n_changed:
        say("what changed stands in place of what was kept; stillwing sightings undo takes all of this back")


def _side_m(square_km: float) -> int:
    if not LEAST_KM <= square_km <= MOST_KM:
        raise InputError(f"--square-km is {square_km:g}; a square has {LEAST_KM:g} to {MOST_KM:g} km")
    return round(1000 * square_km)


def _dataset(title: str, description: str, contact: str | None, licence: str | None) -> Dataset:
    missing = [option for option, value in (("--contact", contact), ("--licence", licence)) if value is None]
    if contact is None or licence is None:
        raise InputError(f"an archive tells who answers for it and under which licence; give {' and '.join(missing)}")
    return Dataset(title, description, contact, licence, datetime.now().astimezone().date())


def _tell(file: Path, found: Sequence[Sighting], n_coarse: int, *, is_exact: bool) -> None:
    n_sensitive = sum(sighting.sensitive for sighting in found)
    say(f"{file}: {len(found):,} {'sighting' if len(found) == 1 else 'sightings'}")
    if n_coarse:
        say(f"{n_coarse:,} sensitive, given as a square without what else tells the place")
    if is_exact and n_sensitive:
        say(f"{n_sensitive:,} {EXACT}")
