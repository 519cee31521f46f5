"""The pictures that show a sighting: small cut-outs where the field book holds the frame, names where it does not."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from uuid import UUID

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sightings import KeptSighting
from stillwing.fieldbook.traces import BurstTrace, TraceFrame, traces
from stillwing.frames.chosen import Choice
from stillwing.records.filing import picture_name
from stillwing.web.curve import cut_box, cut_href
from stillwing.web.note import shown_size
from stillwing.web.trace import lead

__all__ = ["Evidence", "Linked", "evidence_of", "frames_of", "shown_bursts"]

SIDE_PX = 84
"""Longest side of a cut-out beside a record. [CSS px]"""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One picture: with a cut-out and its page where the field book holds it, else by its name alone."""

    name: str
    href: str = ""
    source: str = ""
    width: int = 0
    """CSS px, as ``height``."""
    height: int = 0
    is_kept: bool = False
    """Whether the frame stands as one to keep."""


@dataclass(frozen=True, slots=True)
class Linked:
    """A burst or a sighting by its name, and its page."""

    name: str
    href: str


def shown_bursts(book: FieldBook, kept: Sequence[KeptSighting]) -> dict[int, BurstTrace]:
    """Return the bursts that show any of some sightings, by number."""
    numbers = sorted({burst for one in kept for burst in one.bursts})
    return {trace.id: trace for trace in traces(book, numbers)} if numbers else {}


def evidence_of(
    book: FieldBook, kept: Sequence[KeptSighting], bursts: dict[int, BurstTrace]
) -> dict[UUID, tuple[Evidence, ...]]:
    """Return the pictures of each sighting, in its order.

    Parameters
    ----------
    book : FieldBook
    kept : sequence of KeptSighting
    bursts : dict of int to BurstTrace
        Of `shown_bursts`.
    """
    folders = {one.id: one.folder for one in outings(book)}
    found = {}
    for one in kept:
        held: dict[str, Evidence] = {}
        for burst_id in one.bursts:
            trace = bursts[burst_id]
            held |= {told.name: told for told in frames_of(trace, folders[trace.outing_id])}
        found[one.sighting.id] = tuple(held.get(name, Evidence(name)) for name in one.sighting.pictures)
    return found


def frames_of(trace: BurstTrace, folder: Path) -> tuple[Evidence, ...]:
    """Return the frames of a burst as pictures of a record."""
    return tuple(_evidence(trace, frame, folder) for frame in trace.frames)


def _evidence(trace: BurstTrace, frame: TraceFrame, folder: Path) -> Evidence:
    animal = lead(frame)
    if animal is None:
        width, height = shown_size(frame, SIDE_PX)
    else:
        box = cut_box(frame, animal)
        scale = SIDE_PX / max(box.width_px, box.height_px)
        width, height = max(20, round(box.width_px * scale)), max(20, round(box.height_px * scale))
    return Evidence(
        picture_name(frame.path, folder),
        f"/outings/{trace.outing_id}/bursts/{trace.id}?frame={frame.number + 1}",
        cut_href(frame, animal, "lane"),
        width,
        height,
        frame.choice is Choice.KEEP,
    )
