"""``stillwing sightings``: records kept in the field book, listed, changed, given away and taken in."""

from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.jsontext import json_text
from stillwing.cli.sightingsadd import add_sighting, change_sighting
from stillwing.cli.sightingsfiles import bring_in, carry_away
from stillwing.cli.sightingstable import sighting_rows, sightings_table, taken_back_words
from stillwing.cli.sightingswords import sighting_asked
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.outings import counts, outing_named, outings
from stillwing.fieldbook.sightings import sightings, undo_sightings, withdraw_sighting
from stillwing.fieldbook.traces import burst_summaries
from stillwing.records.filing import Selection, known_names, selected

__all__ = ["sightings_commands"]

sightings_commands = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None)
sightings_commands.command("add")(add_sighting)
sightings_commands.command("change")(change_sighting)
sightings_commands.command("export")(carry_away)
sightings_commands.command("import")(bring_in)


@sightings_commands.callback()
def tell() -> None:
    """Keep what was seen where and when, give it to recording schemes, and take records in."""


@sightings_commands.command("list")
def list_sightings(
    outing: Annotated[str | None, typer.Option(help="Only those of this outing.")] = None,
    year: Annotated[int | None, typer.Option(help="Only those of this year.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON array.")] = False,
    book: BookOption = None,
) -> None:
    """List sightings, the latest first."""
    names = known_names()
    with open_book(book) as opened:
        visit = None if outing is None else outing_named(opened, outing).id
        found = selected(sightings(opened), Selection(visit, year))
        visits = {one.id: one.name for one in outings(opened)}
        bursts = _burst_names(opened, {one.outing_id for one in found if one.outing_id is not None})
    if as_json:
        print_data(json_text(sighting_rows(found, names, visits, bursts)))
    elif found:
        print_table(sightings_table(found, names))
    else:
        say("no such sighting is kept")


@sightings_commands.command("withdraw")
def withdraw(
    sighting: Annotated[str, typer.Argument(metavar="ID", help="Identity, or its first signs as the list shows them.")],
    book: BookOption = None,
) -> None:
    """Take a sighting out; undo brings it back."""
    with open_book(book) as opened:
        gone = withdraw_sighting(opened, sighting_asked(opened, sighting).sighting.id)
    say(f"{gone.scientific_name} of {gone.when.iso} withdrawn; stillwing sightings undo brings it back")


@sightings_commands.command("undo")
def undo(book: BookOption = None) -> None:
    """Take the last step back: one sighting added, changed or withdrawn, or all that one import brought."""
    with open_book(book) as opened:
        back = undo_sightings(opened)
    say("nothing is left to take back" if back is None else taken_back_words(back))


def _burst_names(book: FieldBook, outing_ids: set[int]) -> dict[int, str]:
    return {
        burst.id: burst.name
        for outing_id in outing_ids
        for burst in burst_summaries(book, outing_id, limit=counts(book, outing_id).n_bursts)
    }
