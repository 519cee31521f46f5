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
from collections.abc import Mapping
from importlib import import_module
from importlib.metadata import version
from types import MappingProxyType
from typing import Annotated, Any

import typer
import typer.core
import typer.main

from stillwing.errors import StillwingError

__all__ = ["COMMANDS", "app", "main"]

COMMANDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {
        "sift": ("sift", "sift_folder"),
        "serve": ("serve", "serve_pages"),
        "sidecars": ("sidecars", "handle_sidecars"),
        "keepers": ("keepers", "gather_frames"),
        "sheet": ("sheet", "print_sheet"),
        "export": ("export", "export_table"),
        "render": ("render", "render_frames"),
        "settings": ("settings", "find_settings"),
        "plan": ("plan", "plan_a_day"),
        "season": ("season", "show_season"),
        "light-year": ("season", "find_light_year"),
        "kit": ("kit", "kit_commands"),
        "site": ("site", "site_commands"),
        "log": ("log", "log_commands"),
        "waiting": ("waiting", "show_waiting"),
        "review": ("review", "show_review"),
        "conditions": ("conditions", "type_conditions"),
        "look-back": ("lookback", "show_look_back"),
        "simulate": ("simulate", "simulate_attempt"),
        "identify": ("identify", "identify_animal"),
        "sightings": ("sightings", "sightings_commands"),
    }
)
"""Module of `stillwing.cli` and name of each command, in the order in which they are listed."""


class CommandsOnDemand(typer.core.TyperGroup):
    """Imports a command when it is asked for: one that reads no sky need not wait a second for what reads it."""

    def list_commands(self, ctx: Any) -> list[str]:
        """Return the names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """Return one command, or ``None`` where there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        module, name = COMMANDS[cmd_name]
        command = getattr(import_module(f"stillwing.cli.{module}"), name)
        if isinstance(command, typer.Typer):
            command.info.name = cmd_name
            return typer.main.get_command(command)
        alone = typer.Typer(add_completion=False, rich_markup_mode=None)
        alone.command(cmd_name)(command)
        return typer.main.get_command(alone)


app = typer.Typer(
    cls=CommandsOnDemand,
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


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
