"""``stillwing review``: which way of working gave keepers, and how practice goes."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.outinglesson import show_lessons
from stillwing.cli.reviewtable import levels_table, practice_table, review_json
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.outings import outing_named
from stillwing.review.keeperwords import level_sentence
from stillwing.review.outcomerows import burst_table
from stillwing.review.outcomesread import Counted, TakenBursts, taken_bursts
from stillwing.review.practicewords import measures_sentence, practice_sentences
from stillwing.review.reviewing import Reviewed, review
from stillwing.share.table import check_table_path, write_rows

__all__ = ["show_review"]


def show_review(
    by: Annotated[str | None, typer.Option(help="Factor, such as exposure, animal or support.")] = None,
    compare: Annotated[
        tuple[str, str] | None, typer.Option(help="Two of its levels in words; the best two when not given.")
    ] = None,
    outing: Annotated[list[str] | None, typer.Option(help="Name of an outing; all when not given. Repeatable.")] = None,
    would_do: Annotated[
        bool, typer.Option("--would-do", help="Count every frame sharp enough, near-copies of keepers too.")
    ] = False,
    flights: Annotated[
        bool,
        typer.Option("--flights", help="Tell instead what the flights in the bursts of an outing teach, the newest's."),
    ] = False,
    export: Annotated[
        Path | None, typer.Option(help="Write the bursts too: a name that ends in .csv or .parquet.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    book: BookOption = None,
) -> None:
    """Tell which way of working gave keepers, whether one is better than another, and how practice goes.

    A file of the name to export to is replaced, once the new one is whole.
    """
    if flights:
        if by or compare or would_do or export:
            raise InputError("--flights goes with --outing and --json alone")
        with open_book(book) as opened:
            show_lessons(opened, outing or [], as_json=as_json)
        return
    if export is not None:
        check_table_path(export)
    with open_book(book) as opened:
        taken = _taken(opened, Counted.WOULD_DO if would_do else Counted.KEPT, outing or [])
    told = review(taken, by, compare)
    if as_json:
        print_data(review_json(told))
    else:
        _print_review(told)
    if export is not None:
        table = burst_table(taken)
        say(f"{export}: {write_rows(table.columns, table.rows, export):,} bursts")


def _taken(book: FieldBook, counted: Counted, named: list[str]) -> TakenBursts:
    return taken_bursts(book, counted, [outing_named(book, name).name for name in named])


def _print_review(told: Reviewed) -> None:
    print_data(f"{_begun(level_sentence(told.overall))}.")
    for sentence in told.sentences():
        print_data(f"{_begun(sentence)}.")
    print_table(levels_table(told))
    for trend in told.practice:
        for sentence in practice_sentences(trend):
            print_data(f"{_begun(sentence)}.")
    if told.practice:
        print_table(practice_table(told.practice))
    for sentence in (measures_sentence(told.practice), *told.cautions()):
        if sentence:
            say(sentence)


def _begun(sentence: str) -> str:
    return f"{sentence[:1].upper()}{sentence[1:]}"
