"""The command ``stillwing`` and how every command ends.

Exit codes
----------
0    everything was read and written
1    done, but some files could not be read
2    the input cannot be used
3    the field book cannot be used
4    something could not be written
130  stopped from the keyboard
"""

import sys
from importlib.metadata import version
from typing import Annotated

import typer

from stillwing.cli import export, keepers, kit, plan, render, season, serve, settings, sheet, sidecars, sift
from stillwing.errors import StillwingError

__all__ = ["app", "main"]

app = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
app.command("sift")(sift.sift_folder)
app.command("serve")(serve.serve_pages)
app.command("sidecars")(sidecars.handle_sidecars)
app.command("keepers")(keepers.gather_frames)
app.command("sheet")(sheet.print_sheet)
app.command("export")(export.export_table)
app.command("render")(render.render_frames)
app.command("settings")(settings.find_settings)
app.command("plan")(plan.plan_a_day)
app.command("season")(season.show_season)
app.command("light-year")(season.find_light_year)
app.add_typer(kit.kit_commands, name="kit")


def _print_version(is_asked: bool) -> None:
    if is_asked:
        typer.echo(version("stillwing"))
        raise typer.Exit


@app.callback()
def stillwing(
    show_version: Annotated[
        bool, typer.Option("--version", callback=_print_version, is_eager=True, help="Print the version and end.")
    ] = False,
) -> None:
    """Find the frames that are sharp on the animal, and keep the field book.

    Pictures are only read, never changed, moved or deleted. Data goes to standard output, talk to standard error.
    Exit codes: 0 all read, 1 some files unreadable, 2 input that cannot be used, 3 field book that cannot be used,
    4 something could not be written, 130 stopped.
    """


def main() -> None:
    """Run the commands; turn our own errors into one line and an exit code."""
    try:
        app()
    except StillwingError as error:
        typer.echo(f"stillwing: {error}", err=True)
        sys.exit(error.exit_code)
