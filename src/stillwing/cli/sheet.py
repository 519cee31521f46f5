"""``stillwing sheet``: a contact sheet on paper or as one HTML file."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption, ChoiceOption, OutingOption, asked_choices, asked_outing
from stillwing.cli.terminal import say
from stillwing.fieldbook.book import open_book

__all__ = ["print_sheet"]


def print_sheet(
    file: Annotated[Path, typer.Argument(help="Sheet to write: its name ends in .pdf or .html.")],
    outing: OutingOption = None,
    book: BookOption = None,
    choice: ChoiceOption = None,
) -> None:
    """Write a contact sheet of the keepers: the animal cut out, its blur, the usable width, the reason.

    A file of that name is replaced, once the new one is whole.
    """
    # Imported here, as in serve: only this command needs what sets type and draws pages.
    from stillwing.share.sheet import write_sheet

    with open_book(book) as opened:
        visit = asked_outing(opened, outing)
        n_frames = write_sheet(opened, visit.id, file, asked_choices(choice))
    say(f"{file}: {n_frames:,} frames of {visit.name}")
