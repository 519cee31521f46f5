"""``stillwing site``: the waters that days are planned for."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from stillwing.cli.asked import BookOption
from stillwing.cli.sitetable import site_table, site_words, sites_table
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import HOW_TO_ADD, KeptSite, add_site, change_site, drop_site, site_named, sites
from stillwing.place.doubts import doubt_about_place
from stillwing.place.drawnfile import read_drawn
from stillwing.place.features import site_geojson
from stillwing.place.gpx import stands_gpx
from stillwing.place.horizonwords import horizon_of_words
from stillwing.place.site import Perch, Site, with_proposed_stands, without_stands
from stillwing.place.stands import BankRules, stand_at
from stillwing.place.textfile import read_text
from stillwing.place.typed import position_of_words
from stillwing.share.atomic import write_atomically

__all__ = ["site_commands"]

site_commands = typer.Typer(no_args_is_help=True, add_completion=False, rich_markup_mode=None)

SiteArgument = Annotated[str | None, typer.Argument(help="Name of the site; the only one when not given.")]
SiteOption = Annotated[str | None, typer.Option(help="Name of the site; the only one when not given.")]
EveryOption = Annotated[float, typer.Option(help="Metres of bank from one proposed stand to the next.")]
PositionArgument = Annotated[str, typer.Argument(help='Latitude and longitude, such as "52.2050, 0.1190".')]
CalledOption = Annotated[str, typer.Option(help="What you call it, such as dead willow.")]
SOUTH_TOO = {"ignore_unknown_options": True}
"""A latitude south of the equator begins with a minus sign, and is no option."""
WRITERS: dict[str, Callable[[Site], str]] = {".geojson": site_geojson, ".json": site_geojson, ".gpx": stands_gpx}


@site_commands.callback()
def site() -> None:
    """Keep the waters that days are planned for: outline, stands, perches, horizon."""


@site_commands.command("add")
def add(
    file: Annotated[Path, typer.Argument(help="GeoJSON, GPX walked round the bank, or points, one a line.")],
    zone: Annotated[str, typer.Option(help="Time zone that its clocks keep, such as Europe/London.")],
    name: Annotated[str, typer.Option(help="What you call it; the file's own name for it when not given.")] = "",
    elevation: Annotated[float, typer.Option(help="Metres above the sea.")] = 0.0,
    every: EveryOption = 10.0,
    book: BookOption = None,
) -> None:
    """Store a site; where the file brings no stands, they are proposed along the bank."""
    drawn = read_drawn(file)
    kept = KeptSite(drawn.site(name or drawn.name or file.stem), zone, elevation)
    if not kept.site.stands:
        kept = replace(kept, site=with_proposed_stands(kept.site, BankRules(spacing_m=every)))
    if doubt := doubt_about_place(kept.site.plane.middle, zone):
        say(doubt)
    with open_book(book) as opened:
        stored = add_site(opened, kept)
    _print(stored)
    say(f"{stored.site.name} stored")


@site_commands.command("list")
def list_sites(book: BookOption = None) -> None:
    """List the sites in order of name."""
    with open_book(book) as opened:
        known = sites(opened)
    if known:
        print_table(sites_table(known))
    else:
        say(f"no site stored yet; {HOW_TO_ADD}")


@site_commands.command("show")
def show(
    name: SiteArgument = None,
    book: BookOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the site as GeoJSON.")] = False,
) -> None:
    """Show a site: its water, stands, perches and horizon."""
    with open_book(book) as opened:
        kept = site_named(opened, name)
    if as_json:
        print_data(site_geojson(kept.site).rstrip())
        return
    _print(kept)
    if doubt := doubt_about_place(kept.site.plane.middle, kept.zone):
        say(doubt)


@site_commands.command("write")
def write(
    file: Annotated[Path, typer.Argument(help="File to write: its name ends in .geojson or .gpx.")],
    site: SiteOption = None,
    book: BookOption = None,
) -> None:
    """Write a site as GeoJSON, which holds everything, or its stands as GPX waypoints.

    A file of that name is replaced, once the new one is whole.
    """
    writer = WRITERS.get(file.suffix.lower())
    if writer is None:
        raise InputError(f"{file}: a site is written as .geojson or .gpx, by the ending of the file's name")
    with open_book(book) as opened:
        kept = site_named(opened, site)
    write_atomically(file, writer(kept.site).encode())
    say(f"{file}: {kept.site.name}")


@site_commands.command("stands")
def propose(every: EveryOption = 10.0, site: SiteOption = None, book: BookOption = None) -> None:
    """Propose stands anew all round the bank, in the place of those that there were."""
    _change(book, site, lambda old: with_proposed_stands(old, BankRules(spacing_m=every)))


@site_commands.command("prune")
def prune(
    stand: Annotated[list[str], typer.Argument(help="Names of stands to leave out.")],
    site: SiteOption = None,
    book: BookOption = None,
) -> None:
    """Leave out stands that nobody can use: fenced, overgrown, too soft."""
    _change(book, site, lambda old: without_stands(old, frozenset(stand)))


@site_commands.command("stand", context_settings=SOUTH_TOO)
def add_stand(
    position: PositionArgument,
    called: CalledOption,
    height: Annotated[float, typer.Option(help="Ground above the water, in m.")] = 0.3,
    site: SiteOption = None,
    book: BookOption = None,
) -> None:
    """Add a stand of your own; where it may look follows from the outline."""
    rules = BankRules(above_water_m=height)
    at = position_of_words(position)

    def with_stand(old: Site) -> Site:
        return replace(old, stands=(*old.stands, stand_at(old.plane, old.water, at, called, rules)))

    _change(book, site, with_stand)


@site_commands.command("perch", context_settings=SOUTH_TOO)
def add_perch(
    position: PositionArgument,
    called: CalledOption,
    height: Annotated[float, typer.Option(help="Perch above the water, in m.")] = 0.5,
    site: SiteOption = None,
    book: BookOption = None,
) -> None:
    """Add a perch that animals come back to."""
    perch = Perch(called.strip(), position_of_words(position), height)
    _change(book, site, lambda old: replace(old, perches=(*old.perches, perch)))


@site_commands.command("horizon")
def tell_horizon(
    words: Annotated[str, typer.Argument(help='"225, 15 deg; W, 30 m, 12 m", "level", or a file with such lines.')],
    site: SiteOption = None,
    book: BookOption = None,
) -> None:
    """Tell what stands round a site, seen from its middle: angles, or distances with heights above the eye."""
    horizon = horizon_of_words(_text_of(words))
    _change(book, site, lambda old: replace(old, horizon=horizon))


@site_commands.command("drop")
def drop(name: Annotated[str, typer.Argument(help="Name of the site.")], book: BookOption = None) -> None:
    """Take a site out of the field book; write it to a file first if you may want it again."""
    with open_book(book) as opened:
        dropped = drop_site(opened, name)
    say(f"{dropped} dropped")


def _text_of(words: str) -> str:
    """Return the text of the file of that name, or the words themselves where there is none."""
    # Words may be longer than a file's name can be, which the system refuses to look for.
    with suppress(OSError):
        if Path(words).is_file():
            return read_text(Path(words))
    return words


def _change(book: Path | None, name: str | None, change: Callable[[Site], Site]) -> None:
    with open_book(book) as opened:
        kept = site_named(opened, name)
        stored = change_site(opened, kept.site.name, replace(kept, site=change(kept.site)))
    _print(stored)


def _print(kept: KeptSite) -> None:
    print_data(site_words(kept))
    print_table(site_table(kept))
