"""``stillwing conditions``: what you type about how you photographed, for an outing or one of its bursts."""

from typing import Annotated

import typer
from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.asked import BookOption, OutingOption, asked_burst, asked_outing
from stillwing.cli.jsontext import json_text
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.conditions import USUAL_CONDITIONS, conditions_of, drop_condition, type_condition
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import trace

__all__ = ["type_conditions"]

WHOLE = "whole outing"


def type_conditions(
    words: Annotated[
        list[str] | None, typer.Argument(help="Conditions, such as support=tripod; an empty word forgets one: support=")
    ] = None,
    outing: OutingOption = None,
    burst: Annotated[str | None, typer.Option(help="Name of a burst; the whole outing when not given.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON array.")] = False,
    book: BookOption = None,
) -> None:
    """Keep how you photographed, and list what is kept: support, stance and what else you want to review by."""
    asked = [_split(one) for one in words or []]
    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        burst_id = None if burst is None else asked_burst(opened, visit, burst).id
        for name, value in asked:
            if value:
                type_condition(opened, visit.id, name, value, burst_id=burst_id)
            else:
                drop_condition(opened, visit.id, name, burst_id=burst_id)
        rows = _rows(opened, visit)
    if as_json:
        print_data(json_text([{"burst": where, "name": name, "word": word} for where, name, word in rows]))
    elif rows:
        print_table(_table(rows))
    else:
        say(f"nothing is typed of {visit.name} yet; usual are {_usual()}")


def _split(words: str) -> tuple[str, str]:
    name, is_split, value = words.partition("=")
    if not is_split or not name.strip():
        raise InputError(f'"{words}" is no condition; write a name, = and a word, such as support=tripod')
    return name, value.strip()


def _rows(book: FieldBook, visit: Outing) -> list[tuple[str | None, str, str]]:
    """Return what is kept, that of the whole outing first, where the burst is ``None``."""
    return [
        (None if burst_id is None else trace(book, burst_id).name, name, word)
        for burst_id, words in conditions_of(book, visit.id).items()
        for name, word in words.items()
    ]


def _table(rows: list[tuple[str | None, str, str]]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in ("burst", "condition", "word"):
        table.add_column(Text(heading), no_wrap=True)
    for burst, name, word in rows:
        table.add_row(*map(Text, (burst or WHOLE, name, word)))
    return table


def _usual() -> str:
    return "; ".join(f"{name}: {', '.join(words)}" for name, words in USUAL_CONDITIONS.items())
