"""Sightings as a table and as JSON, and what came of taking some in or back, in words."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.sightingswords import SHORT_ID
from stillwing.fieldbook.sightingjson import sighting_to_json
from stillwing.fieldbook.sightings import KeptSighting, TakenBack, TakenSightings
from stillwing.records.filedwords import place_words
from stillwing.records.filing import KnownNames

__all__ = ["sighting_rows", "sightings_table", "taken_back_words", "taken_in_words"]

HEADINGS = ("id", "when", "scientific name", "name", "count", "sex", "doing", "place", "status", "sensitive")


def sightings_table(kept: Sequence[KeptSighting], names: KnownNames) -> Table:
    """Return one row for each sighting."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in HEADINGS:
        table.add_column(Text(heading), justify="right" if heading == "count" else "left", no_wrap=heading != "place")
    for one in kept:
        table.add_row(*map(Text, _cells(one, names)))
    return table


def sighting_rows(
    kept: Sequence[KeptSighting], names: KnownNames, outings: Mapping[int, str], bursts: Mapping[int, str]
) -> list[dict[str, Any]]:
    """Return sightings as JSON objects: all that is kept of each, its English name, outing and bursts by name."""
    return [
        {
            **json.loads(sighting_to_json(one.sighting)),
            "name": names.english(one.sighting.scientific_name),
            "outing": None if one.outing_id is None else outings[one.outing_id],
            "bursts": [bursts[burst] for burst in one.bursts],
            "changed_at": one.changed_at.isoformat(),
        }
        for one in kept
    ]


def taken_in_words(taken: TakenSightings) -> str:
    """Return what came of taking sightings in.

    Examples
    --------
    >>> taken_in_words(TakenSightings(2, 0, 1))
    '2 new, 0 changed, 1 known before'
    """
    return f"{taken.n_new:,} new, {taken.n_changed:,} changed, {taken.n_same:,} known before"


def taken_back_words(back: TakenBack) -> str:
    """Return what came of taking the last step back.

    Examples
    --------
    >>> taken_back_words(TakenBack(1, 0, 2))
    'taken back: 1 gone, 0 changed back, 2 there again'
    """
    return f"taken back: {back.n_gone:,} gone, {back.n_changed:,} changed back, {back.n_again:,} there again"


def _cells(one: KeptSighting, names: KnownNames) -> tuple[str, ...]:
    sighting = one.sighting
    name = f"{sighting.scientific_name} ({sighting.qualifier})" if sighting.qualifier else sighting.scientific_name
    return (
        str(sighting.id)[:SHORT_ID],
        sighting.when.iso,
        name,
        names.english(sighting.scientific_name),
        "" if sighting.count is None else str(sighting.count),
        ", ".join(sighting.sexes),
        ", ".join(sighting.doing),
        place_words(sighting.where),
        sighting.verification,
        "yes" if sighting.sensitive else "",
    )
