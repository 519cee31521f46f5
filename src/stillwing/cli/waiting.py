"""``stillwing waiting``: what the waiting at a water teaches of an animal."""

from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.cli.waitingtable import places_table, spans_table, still_gone_table, waiting_json
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.names import name_key
from stillwing.review.rates import By
from stillwing.review.waiting import Waiting, waited_for, waiting_at
from stillwing.review.waitingtold import missing_sentences, spans, waiting_sentences

__all__ = ["show_waiting"]

LUCK = "luck: chance of such a difference from the first between places that bring the same, all comparisons counted"
NOTHING = "no animal is logged yet; the Log page of `stillwing serve` takes one tap per moment"


def show_waiting(
    site: Annotated[str | None, typer.Option(help="Site, as it was logged; the one most logged if not given.")] = None,
    animal: Annotated[str | None, typer.Option(help="Animal; the one most logged there if not given.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    book: BookOption = None,
) -> None:
    """Tell what the waiting at a water teaches: how soon it returns or hovers, when to leave, which perch pays."""
    with open_book(book) as opened:
        waiting = _asked(opened, site, animal)
    if as_json:
        print_data(waiting_json(waiting))
        return
    stays = "1 stay" if waiting.n_stays == 1 else f"{waiting.n_stays} stays"
    where = waiting.site or "a site without a name"
    say(f"{waiting.animal or 'an animal without a name'} at {where}: {stays}, {waiting.watched_h:.1f} h watched")
    for sentence in waiting_sentences(waiting):
        print_data(f"{sentence[:1].upper()}{sentence[1:]}.")
    _print_tables(waiting)
    for sentence in missing_sentences(waiting):
        say(sentence)


def _print_tables(waiting: Waiting) -> None:
    if spans(waiting):
        print_table(spans_table(waiting))
    if waiting.away is not None and waiting.away.returns is not None:
        print_table(still_gone_table(waiting.away))
    told = [
        places_table(places, by, what)
        for by, what, places in (
            (By.PERCH, "returns and landings", waiting.by_perch),
            (By.STAND, "moments", waiting.by_stand),
            (By.CONDITIONS, "moments", waiting.by_conditions),
        )
        if len(places) > 1
    ]
    for table in told:
        print_table(table)
    if told:
        say(LUCK)


def _asked(book: FieldBook, site: str | None, animal: str | None) -> Waiting:
    known = waited_for(book)
    if not known:
        raise InputError(NOTHING)
    where = known[0].site if site is None else site
    here = [one.animal for one in known if name_key(one.site) == name_key(where)]
    # Where nothing was logged at all, the sentence of `waiting_at` says so.
    wanted = animal if animal is not None else here[0] if here else ""
    return waiting_at(book, where, wanted)
