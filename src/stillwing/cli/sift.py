"""``stillwing sift``: measure a folder of burst frames and propose keepers."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from stillwing.cli.keyboard import heard_interrupts
from stillwing.cli.sidecars import tell_sidecars
from stillwing.cli.sifttable import sift_closing, sift_json, sift_table
from stillwing.cli.terminal import print_data, print_table, say, say_failures, talk_console
from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sifting import Sifted, SiftProgress, SiftRun, sift
from stillwing.frames.measured import Box
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR
from stillwing.share.sidecar import write_sidecars
from stillwing.share.table import check_table_path, outing_rows, write_table

__all__ = ["parse_box", "sift_folder"]

STOPPED = 130


def sift_folder(
    folder: Annotated[Path, typer.Argument(help="Folder of pictures; folders below it are read too.")],
    outing: Annotated[str | None, typer.Option(help="Name of the outing; the folder's name when not given.")] = None,
    sharp_for: Annotated[
        str, typer.Option(help='Output to be sharp for: "full", "print 30 cm at 240 ppi" or "screen 2560".')
    ] = DEFAULT_SHARP_FOR,
    workers: Annotated[int | None, typer.Option(help="Processes; one per core when not given.")] = None,
    book: Annotated[Path | None, typer.Option(help="Field book to use; your own when not given.")] = None,
    box: Annotated[
        list[str] | None,
        typer.Option(help="FILE:x,y,w,h draws the animal's box, in pixels; its burst follows. Repeatable."),
    ] = None,
    again: Annotated[bool, typer.Option("--again", help="Measure unchanged frames too.")] = False,
    full_decode: Annotated[
        bool, typer.Option("--full-decode", help="Decode every frame fully, also where its preview rules it out.")
    ] = False,
    cluster: Annotated[
        str | None, typer.Option(help="Address of a Dask scheduler to measure on, such as tcp://10.0.0.5:8786.")
    ] = None,
    export: Annotated[
        Path | None, typer.Option(help="Table to write besides, .csv or .parquet; see the command export.")
    ] = None,
    sidecars: Annotated[
        bool, typer.Option("--sidecars", help="Write XMP sidecars besides; see the command sidecars.")
    ] = False,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="With --sidecars: print them, write none.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object instead of the table.")] = False,
) -> None:
    """Measure each burst frame on the animal and propose which to keep.

    Unchanged frames are not measured again, a stopped run goes on where it was, and your own choices stay. Exit code 1
    tells that some files could not be read; each has one line on standard error.
    """
    boxes = dict(map(parse_box, box or ()))
    if dry_run and not sidecars:
        raise InputError("--dry-run is about sidecars; give --sidecars with it")
    if dry_run and as_json:
        raise InputError("--dry-run and --json both print to standard output; give one of them")
    if export is not None:
        check_table_path(export)
    try:
        with heard_interrupts() as check_keyboard, _progress_bar() as draw:

            def on_progress(progress: SiftProgress) -> None:
                check_keyboard()
                draw(progress)

            run = SiftRun(
                workers=workers,
                scheduler=cluster,
                use_previews=not full_decode,
                again=again,
                on_progress=on_progress,
            )
            sifted = sift(folder, book=book, outing=outing, sharp_for=sharp_for, boxes=boxes, run=run)
    except KeyboardInterrupt:
        say("stopped; what was measured is stored, and the same command goes on from there")
        raise typer.Exit(STOPPED) from None
    say_failures(sifted.failed)
    if as_json:
        print_data(sift_json(sifted))
    else:
        print_table(sift_table(sifted))
    say(sift_closing(sifted))
    exit_code = _hand_on(sifted, export, sidecars=sidecars, dry_run=dry_run)
    raise typer.Exit(exit_code or (1 if sifted.failed else 0))


def parse_box(text: str) -> tuple[Path, Box]:
    """Return the file and the box that ``FILE:x,y,w,h`` names.

    Raises
    ------
    InputError
        If the text has another form.

    Examples
    --------
    >>> parse_box("a/b.jpg:10,20,300,200")[1]
    Box(x_px=10.0, y_px=20.0, width_px=300.0, height_px=200.0)
    """
    file, colon, figures = text.rpartition(":")
    try:
        x, y, width, height = (float(figure) for figure in figures.split(","))
    except ValueError:
        raise InputError(
            f"box {text!r} is not of the form FILE:x,y,w,h, such as burst1/frame7.jpg:1200,840,460,300"
        ) from None
    if not file or not colon:
        raise InputError(f"box {text!r} names no file; write FILE:x,y,w,h")
    return Path(file), Box(x, y, width, height)


def _hand_on(sifted: Sifted, export: Path | None, *, sidecars: bool, dry_run: bool) -> int:
    """Write the table and the sidecars that were asked for, and return the exit code."""
    if export is None and not sidecars:
        return 0
    with open_book(sifted.book_path) as opened:
        if export is not None:
            n_rows = write_table(outing_rows(opened, sifted.outing.id, folder=sifted.outing.folder), export)
            say(f"{export}: {n_rows:,} rows")
        return (
            tell_sidecars(write_sidecars(opened, sifted.outing.id, dry_run=dry_run), dry_run=dry_run) if sidecars else 0
        )


@contextmanager
def _progress_bar() -> Iterator[Callable[[SiftProgress], None]]:
    """Give a callback that draws the progress on standard error; nothing is drawn where that is no terminal."""
    console = talk_console()
    columns = (
        TextColumn("measuring"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[speed]}"),
        TextColumn("{task.fields[left]}"),
    )
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("measuring", total=None, speed="", left="")

        def draw(progress: SiftProgress) -> None:
            left = progress.time_left_s
            bar.update(
                task,
                completed=progress.n_done,
                total=progress.n_to_measure,
                speed=f"{progress.frames_per_s:.1f} frames/s" if progress.n_done else "",
                left=f"{left:.0f} s left" if left is not None else "",
            )

        yield draw
