"""What the bursts of an outing teach, as ``stillwing review --flights`` tells it: sentences, a table, JSON."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.cli.terminal import print_data, print_table, say, talk_console
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import Outing, outing_named, outings
from stillwing.review.lessonshelf import LessonShelf, default_shelf_folder
from stillwing.review.lessonsread import read_outing_lesson
from stillwing.review.outinglesson import OutingLesson
from stillwing.review.outinglessonwords import HEADINGS, change_rows, lesson_cautions, lesson_sentences

__all__ = ["show_lessons"]


def show_lessons(book: FieldBook, named: Sequence[str], *, as_json: bool) -> None:
    """Tell what each outing of those names teaches, or the newest one where none is named.

    Raises
    ------
    UnknownThing
        If there is no outing of a name.
    InputError
        If the field book holds none at all, or nobody said what an outing's pictures are for.
    """
    asked = [outing_named(book, name) for name in named] or list(outings(book)[:1])
    if not asked:
        raise InputError("the field book holds no outing yet; begin with: stillwing sift FOLDER")
    shelf, told = LessonShelf(default_shelf_folder()), []
    for outing in asked:
        with _progress_bar(outing) as on_burst:
            told.append((outing, read_outing_lesson(book, outing, shelf, on_burst)))
    if as_json:
        print_data(json_text({"outings": [_json(outing, lesson) for outing, lesson in told]}))
        return
    for outing, lesson in told:
        _print_lesson(outing, lesson)


def _print_lesson(outing: Outing, lesson: OutingLesson) -> None:
    print_data(f"{outing.name}, for {outing.sharp_for}:")
    for sentence in lesson_sentences(lesson):
        print_data(f"{sentence[:1].upper()}{sentence[1:]}.")
    if lesson.changes:
        table = Table(box=SIMPLE_HEAD, pad_edge=False)
        for heading in HEADINGS:
            table.add_column(Text(heading), no_wrap=True)
        for row in change_rows(lesson):
            table.add_row(*map(Text, (row.change, row.cost, row.won, row.bursts)))
        print_table(table)
    for sentence in lesson_cautions(lesson):
        say(sentence)


def _json(outing: Outing, lesson: OutingLesson) -> dict[str, Any]:
    return {
        "outing": outing.name,
        "sharp_for": outing.sharp_for,
        **asdict(lesson),
        "sentences": lesson_sentences(lesson),
        "cautions": lesson_cautions(lesson),
    }


@contextmanager
def _progress_bar(outing: Outing) -> Iterator[Callable[[int, int], None]]:
    """Give a callback that draws the progress on standard error; nothing is drawn where that is no terminal."""
    console = talk_console()
    columns = TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TextColumn("bursts")
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(f"making out the flights of {outing.name}", total=None)
        yield lambda n_done, n_bursts: bar.update(task, completed=n_done, total=n_bursts)
