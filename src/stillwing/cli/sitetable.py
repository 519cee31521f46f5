"""Sites as tables."""

import math
from collections.abc import Iterator, Sequence

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.fieldbook.sites import KeptSite
from stillwing.place.bearings import compass_name

__all__ = ["site_table", "site_words", "sites_table"]


def sites_table(known: Sequence[KeptSite]) -> Table:
    """Return one row for each site."""
    table = _table(("site", "middle", "time zone", "water [m²]", "bank [m]", "stands", "perches"))
    for kept in known:
        site = kept.site
        figures = (
            f"{site.water.area:,.0f}",
            f"{site.water.length:,.0f}",
            str(len(site.stands)),
            str(len(site.perches)),
        )
        table.add_row(*map(Text, (site.name, site.plane.middle.words, kept.zone, *figures)))
    return table


def site_words(kept: KeptSite) -> str:
    """Return a site in one line."""
    site = kept.site
    return (
        f"{site.name}: {site.water.area:,.0f} m² of water about {site.plane.middle.words}, {kept.elevation_m:g} m "
        f"above the sea, {kept.zone}"
    )


def site_table(kept: KeptSite) -> Table:
    """Return a site part by part: its stands, perches and what stands on its horizon."""
    table = _table(("part", "name", "what"))
    for row in _rows(kept):
        table.add_row(*map(Text, row))
    return table


def _rows(kept: KeptSite) -> Iterator[tuple[str, str, str]]:
    site = kept.site
    for stand in site.stands:
        reach = sum(span.width_deg for span in stand.reach)
        faces = f"faces {compass_name(stand.faces_deg)}, {stand.faces_deg:.0f}°; reaches {reach:.0f}°"
        yield "stand", stand.name, f"{faces}; {stand.above_water_m:g} m above the water"
    for perch in site.perches:
        yield "perch", perch.name, f"{perch.position.words}; {perch.above_water_m:g} m above the water"
    for entry in sorted(site.horizon.entries, key=lambda one: one.bearing_deg % 360):
        away = "" if math.isinf(entry.distance_m) else f"; {entry.distance_m:g} m away"
        yield "horizon", f"{entry.bearing_deg:g}°", f"{entry.altitude_deg:.1f}° high{away}"


def _table(headings: tuple[str, ...]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        table.add_column(Text(heading), no_wrap=True)
    return table
