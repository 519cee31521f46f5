"""``stillwing keepers``: the frames to keep, gathered in a folder of their own."""

from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption, ChoiceOption, OutingOption, asked_choices, asked_outing
from stillwing.cli.terminal import print_data, say
from stillwing.errors import WriteFailed
from stillwing.fieldbook.book import open_book
from stillwing.share.keepers import gather_keepers

__all__ = ["gather_frames"]


def gather_frames(
    folder: Annotated[Path, typer.Argument(help="Folder to put them in; made when it is not there.")],
    outing: OutingOption = None,
    book: BookOption = None,
    choice: ChoiceOption = None,
    link: Annotated[
        bool, typer.Option("--link", help="Hard links in place of copies: no room taken, but one file under two names.")
    ] = False,
) -> None:
    """Copy the keepers with all files of each shot, and list their SHA-256 sums.

    Nothing in the folder is overwritten; run it again to add what is new. The list, SHA256SUMS, can be checked with
    sha256sum -c. Prints the path of each file there. Exit code 4 tells that one could not be written.
    """
    with open_book(book) as opened:
        run = gather_keepers(opened, asked_outing(opened, outing).id, folder, link=link, choices=asked_choices(choice))
    for file in run.files:
        print_data(str(file.place))
    for failure in run.failed:
        say(str(failure))
    n_new = sum(file.is_new for file in run.files)
    put = "linked" if link else "copied"
    say(f"{n_new:,} files {put}, {len(run.files) - n_new:,} were there; sums in {run.manifest}")
    raise typer.Exit(WriteFailed.exit_code if run.failed else 0)
