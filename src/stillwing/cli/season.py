"""``stillwing season`` and ``stillwing light-year``: who is on the wing when, and which days have most good light."""

from datetime import datetime
from typing import Annotated

import typer

from stillwing.animals.catalogue import Group, read_catalogue
from stillwing.cli.asked import BookOption
from stillwing.cli.seasontable import (
    light_json,
    light_months_table,
    light_table,
    month_table,
    season_json,
    season_table,
)
from stillwing.cli.terminal import print_data, print_table, say
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import HOW_TO_ADD, site_asked, sites
from stillwing.place.horizon import LEVEL
from stillwing.plan.lightyear import best_days, light_months, light_year
from stillwing.plan.onthewing import month_words, on_the_wing, wing_doubts, year_words
from stillwing.sky.instants import zone_named

__all__ = ["find_light_year", "show_season"]

GEOMETRY_ALONE = (
    "hours count what their light is worth: in full with the sun behind you, half of it from the side; "
    "clouds, wind and animals are left out"
)
NO_TREES = "no horizon is told of this site, so no tree or bank hides the sun"


def show_season(
    group: Annotated[
        list[Group] | None, typer.Option(help="Only dragonfly, damselfly or bird. Repeatable; all when not given.")
    ] = None,
    month: Annotated[int | None, typer.Option(help="Only what is about in this month, 1 to 12.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Show which animals of the catalogue are on the wing when: a quiet month for one is the best for another."""
    animals = [one for one in read_catalogue().animals if not group or one.group in group]
    wing = on_the_wing(animals, datetime.now().astimezone().year)
    # Before anything is printed: it refuses a month that there is not.
    sentences = year_words(wing) if month is None else (month_words(wing, month),)
    if as_json:
        print_data(season_json(wing, month))
        return
    for sentence in sentences:
        print_data(sentence)
    if month is None:
        print_table(season_table(wing))
    elif any(about[month - 1] for about in wing.n_about.values()):
        print_table(month_table(wing, month))
    for doubt in wing_doubts(wing):
        say(doubt)


def find_light_year(
    site: Annotated[
        str | None, typer.Argument(help="Site of the field book; the only one, or the example site, when not given.")
    ] = None,
    year: Annotated[int | None, typer.Option(help="Year; this one when not given.")] = None,
    days: Annotated[int, typer.Option(help="How many of the best days, at least a week apart.")] = 10,
    book: BookOption = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print every day and stand as one JSON object.")] = False,
) -> None:
    """Find the days of a year with most good light at a water, from the geometry of sun, trees and bank alone."""
    with open_book(book) as opened:
        kept = site_asked(opened, site)
        is_example = site is None and not sites(opened)
    of_year = datetime.now(zone_named(kept.zone)).year if year is None else year
    light = light_year(kept.site, kept.observer, kept.zone, of_year)
    best, months = best_days(light, days), light_months(light)
    if is_example:
        say(f"the field book holds no site, so this is for the example site, {kept.site.name}; {HOW_TO_ADD}")
    if as_json:
        print_data(light_json(kept.site.name, light, best, months))
        return
    print_table(light_table(f"{kept.site.name}, {of_year}: days with most good light ({kept.zone})", best))
    print_table(light_months_table(months))
    say(GEOMETRY_ALONE)
    if kept.site.horizon == LEVEL:
        say(NO_TREES)
