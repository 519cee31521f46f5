"""What is known of the animals looked at last, kept so that a new answer does not read a picture again."""

import threading
from collections import OrderedDict
from dataclasses import dataclass, replace
from pathlib import Path

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.kits import kits
from stillwing.fieldbook.looks import Look
from stillwing.fieldbook.traces import BurstTrace
from stillwing.records.animalseen import AnimalSeen, animal_seen, frames_to_measure
from stillwing.records.region import Region
from stillwing.records.seen import colour_names

__all__ = ["MeasuredOnce"]

N_BURSTS = 16
"""Bursts that are remembered: those looked at last (a choice, no source)."""

FileState = tuple[int, int] | None


@dataclass(frozen=True, slots=True)
class _Measured:
    """What the picture told, and all that it depends on."""

    cause: tuple[object, ...]
    file: FileState
    known: AnimalSeen


class MeasuredOnce:
    """`animal_seen` with a memory of what the pictures told; safe to use from several threads.

    Log, place and earlier records are looked up anew each time; a picture is read again when its file, its animal, the
    marked ends, the tilt, a kit or the words of the list for colours have changed.
    """

    def __init__(self, n_bursts: int = N_BURSTS) -> None:
        self._n_bursts = n_bursts
        self._lock = threading.Lock()
        self._kept: OrderedDict[int, _Measured] = OrderedDict()

    def animal_seen(self, book: FieldBook, trace: BurstTrace, region: Region, look: Look) -> AnimalSeen:
        """Return `stillwing.records.animalseen.animal_seen`."""
        cause = _cause(book, trace, region, look)
        with self._lock:
            kept = self._kept.get(trace.id)
        if kept is None or kept.cause != cause or kept.file != _file(trace, kept.known):
            # All counts while it is measured, so that leaving a part out later needs no picture.
            known = animal_seen(book, trace, region, replace(look, counts_length=True, counts_colours=True))
            kept = self._keep(trace.id, _Measured(cause, _file(trace, known), known))
        # Without frames nothing is measured: this is what was said, logged and recorded alone.
        told = animal_seen(book, replace(trace, frames=()), region, look)
        seen = replace(
            told.seen,
            length_mm=kept.known.seen.length_mm if look.counts_length else None,
            length_wrong=kept.known.seen.length_wrong,
            colours_wrong=kept.known.seen.colours_wrong,
            colours=kept.known.seen.colours if look.counts_colours else {},
        )
        return replace(told, seen=seen, body=kept.known.body)

    def _keep(self, burst_id: int, measured: _Measured) -> _Measured:
        with self._lock:
            self._kept[burst_id] = measured
            self._kept.move_to_end(burst_id)
            while len(self._kept) > self._n_bursts:
                self._kept.popitem(last=False)
        return measured


def _cause(book: FieldBook, trace: BurstTrace, region: Region, look: Look) -> tuple[object, ...]:
    frames = tuple((frame.id, frame.path, frame.animals[0]) for frame in frames_to_measure(trace))
    said = look.frame_id, look.ends, look.most_tilt_deg, look.group is Group.BIRD
    return frames, said, colour_names(region), region.key, kits(book)


def _file(trace: BurstTrace, known: AnimalSeen) -> FileState:
    """Return size and time of change of the measured picture; ``None`` where it is not there, or none was measured."""
    body = known.body
    path = None if body is None else next((frame.path for frame in trace.frames if frame.id == body.frame_id), None)
    return None if path is None else _state(path)


def _state(path: Path) -> FileState:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns
