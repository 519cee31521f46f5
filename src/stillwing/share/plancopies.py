"""A plan to take along: one A4 page, calendar events, waypoints or GeoJSON, by the ending of the file's name."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from stillwing.errors import InputError
from stillwing.plan.told import DayTold
from stillwing.share.atomic import write_atomically
from stillwing.share.calendar import plan_calendar
from stillwing.share.planfeatures import plan_geojson
from stillwing.share.plangpx import plan_gpx
from stillwing.share.plansheet import plan_sheet_pdf

__all__ = ["check_copy_path", "copy_of", "write_copy"]

MAKERS: dict[str, Callable[[DayTold, datetime], bytes]] = {
    ".pdf": lambda told, _: plan_sheet_pdf(told),
    ".ics": plan_calendar,
    ".gpx": lambda told, _: plan_gpx(told).encode(),
    ".geojson": lambda told, _: plan_geojson(told).encode(),
}


def check_copy_path(path: Path) -> None:
    """Refuse a name from whose ending no kind of copy follows.

    Raises
    ------
    InputError
        If it ends in none of .pdf, .ics, .gpx and .geojson.
    """
    if path.suffix.lower() not in MAKERS:
        raise InputError(f"{path}: a plan is written as .pdf, .ics, .gpx or .geojson, by the ending of the file's name")


def copy_of(told: DayTold, kind: str, made_at: datetime) -> bytes:
    """Return one copy.

    Parameters
    ----------
    told : DayTold
        The plan.
    kind : str
        ".pdf", ".ics", ".gpx" or ".geojson".
    made_at : datetime
        The present, aware: a calendar event says when it was made.
    """
    return MAKERS[kind](told, made_at)


def write_copy(told: DayTold, path: Path, made_at: datetime) -> None:
    """Write one copy, the kind by the ending of ``path``; a file of that name is replaced once the new one is whole.

    Raises
    ------
    InputError
        If the ending is none of a copy's.
    WriteFailed
        If the file cannot be written; one that was there before stays as it was.
    """
    check_copy_path(path)
    write_atomically(path, copy_of(told, path.suffix.lower(), made_at))
