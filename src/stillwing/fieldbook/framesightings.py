"""Which sightings each photograph of an outing shows."""

import os
import re
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import StandingChoice, standing_choices
from stillwing.fieldbook.outings import outing
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import KeptSighting, sightings_of_bursts
from stillwing.frames.chosen import Choice

__all__ = ["FrameSightings", "sightings_of_frames"]

WEB = re.compile(r"https?://")


@dataclass(frozen=True, slots=True)
class FrameSightings:
    """What one photograph to keep or to spare shows."""

    frame_id: int
    burst_id: int
    sightings: tuple[Sighting, ...]
    """Those of its burst that list it among their pictures, or list no file at all; in order of names."""
    is_sensitive: bool
    """Whether any sighting of its burst is sensitive, listed or not: they all were at one place."""


def sightings_of_frames(book: FieldBook, outing_id: int) -> tuple[FrameSightings, ...]:
    """Return what the frames to keep and to spare show, in order of burst and frame.

    Frames of bursts that show no sighting are left out.

    Raises
    ------
    UnknownThing
        If there is no such outing.
    FieldBookError
        If a stored sighting cannot be read.
    """
    folder = outing(book, outing_id).folder
    choices = [one for one in standing_choices(book, outing_id) if one.choice is not Choice.LEAVE]
    shown = sightings_of_bursts(book, sorted({one.burst_id for one in choices}))
    return tuple(_of_frame(one, shown[one.burst_id], folder) for one in choices if one.burst_id in shown)


def _of_frame(choice: StandingChoice, kept: Collection[KeptSighting], folder: Path) -> FrameSightings:
    told = [one.sighting for one in kept]
    shown = tuple(sighting for sighting in told if _lists(sighting, choice.files, folder))
    return FrameSightings(choice.frame_id, choice.burst_id, shown, any(sighting.sensitive for sighting in told))


def _lists(sighting: Sighting, files: Collection[Path], folder: Path) -> bool:
    # A web address tells of a copy elsewhere, not which of the frames here it was made from.
    listed = {Path(os.path.normpath(folder / name)) for name in sighting.pictures if not WEB.match(name)}
    return not listed or not listed.isdisjoint(files)
