"""Moments of the field log as a table and as JSON, by the clock of their site."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.fieldbook.moment import Moment, instant_text
from stillwing.fieldbook.moments import TakenIn, moment_to_json
from stillwing.fieldbook.names import name_key
from stillwing.fieldbook.sites import KeptSite
from stillwing.sky.instants import zone_named

__all__ = ["LoggedMoment", "log_rows", "log_table", "logged", "taken_words"]

HEADINGS = ("day", "time", "zone", "what", "for [s]", "animal", "site", "stand", "perch", "note")


@dataclass(frozen=True, slots=True)
class LoggedMoment:
    """A moment with its time by the clock of its site."""

    moment: Moment
    corrected: datetime
    """In UTC, its phone's clock put right."""
    zone: str
    """Of the site; UTC where the field book does not hold the site."""
    local: datetime


def logged(
    moments: Sequence[Moment], corrected: Sequence[datetime], known: Sequence[KeptSite]
) -> tuple[LoggedMoment, ...]:
    """Return moments with their time by the clock of their site.

    Parameters
    ----------
    moments : sequence of Moment
    corrected : sequence of datetime
        When each was, in UTC, as `fieldbook.moments.corrected_instants` gives it.
    known : sequence of KeptSite
        The sites of the field book.
    """
    zones = {name_key(kept.site.name): kept.zone for kept in known}
    clocks: dict[str, ZoneInfo] = {zone: zone_named(zone) for zone in {*zones.values(), "UTC"}}
    told = [zones.get(name_key(moment.site), "UTC") for moment in moments]
    return tuple(
        LoggedMoment(moment, instant.astimezone(UTC), zone, instant.astimezone(clocks[zone]))
        for moment, instant, zone in zip(moments, corrected, told, strict=True)
    )


def log_table(found: Sequence[LoggedMoment]) -> Table:
    """Return one row for each moment."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in HEADINGS:
        table.add_column(Text(heading), justify="right" if heading == "for [s]" else "left", no_wrap=heading != "note")
    for one in found:
        # Text, because a note in square brackets would be read as a style.
        table.add_row(*map(Text, _cells(one)))
    return table


def log_rows(found: Sequence[LoggedMoment]) -> list[dict[str, Any]]:
    """Return moments as JSON objects: as a phone logged them, with the time put right and by the site's clock."""
    return [
        {
            **moment_to_json(one.moment),
            "corrected_at": instant_text(one.corrected),
            "local": one.local.isoformat(timespec="milliseconds"),
            "zone": one.zone,
            "duration_s": _duration_s(one.moment),
        }
        for one in found
    ]


def taken_words(taken: TakenIn) -> str:
    """Return what came of taking a file in.

    Examples
    --------
    >>> taken_words(TakenIn(("a", "b"), (), ("c",)))
    '2 new, 0 changed, 1 known before'
    """
    return f"{len(taken.new):,} new, {len(taken.changed):,} changed, {len(taken.known):,} known before"


def _cells(one: LoggedMoment) -> tuple[str, ...]:
    moment, duration_s = one.moment, _duration_s(one.moment)
    return (
        f"{one.local:%Y-%m-%d}",
        f"{one.local:%H:%M:%S}.{one.local.microsecond // 100_000}",
        one.zone,
        f"{moment.kind} (taken back)" if moment.undone else str(moment.kind),
        "" if duration_s is None else f"{duration_s:.1f}",
        moment.animal,
        moment.site,
        moment.stand,
        moment.perch,
        " ".join(moment.note.split()),
    )


def _duration_s(moment: Moment) -> float | None:
    return None if moment.until is None else (moment.until - moment.at).total_seconds()
