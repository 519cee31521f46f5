"""Flights of the bursts looked at last, kept so that a page shown again does not make one out again."""

import hashlib
import threading
from collections import OrderedDict
from dataclasses import dataclass, replace
from pathlib import Path

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.frames import measured_burst
from stillwing.fieldbook.kits import kits
from stillwing.fieldbook.traces import BurstTrace
from stillwing.review.burstflight import BurstFlight, burst_flight
from stillwing.review.knownbody import known_body

__all__ = ["FlownOnce", "flight_cause"]

N_BURSTS = 16
"""Bursts that are remembered: those looked at last (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class _Flown:
    """A flight, and all that it depends on."""

    cause: tuple[object, ...]
    file: tuple[int, int] | None
    told: BurstFlight


class FlownOnce:
    """`burst_flight` with a memory; safe to use from several threads.

    A flight is made out again when boxes, outlines, cutouts, blur, background or tags of the burst, a kit, the known
    length of the body, or the picture whose tags are read have changed. Choices change nothing.
    """

    def __init__(self, n_bursts: int = N_BURSTS) -> None:
        self._n_bursts = n_bursts
        self._lock = threading.Lock()
        self._kept: OrderedDict[int, _Flown] = OrderedDict()

    def burst_flight(self, book: FieldBook, trace: BurstTrace) -> BurstFlight:
        """Return `stillwing.review.burstflight.burst_flight`."""
        cause = flight_cause(book, trace)
        with self._lock:
            kept = self._kept.get(trace.id)
        if kept is None or kept.cause != cause or kept.file != _file(trace, kept.told):
            told = burst_flight(book, trace)
            kept = _Flown(cause, _file(trace, told), told)
        with self._lock:
            self._kept[trace.id] = kept
            self._kept.move_to_end(trace.id)
            while len(self._kept) > self._n_bursts:
                self._kept.popitem(last=False)
        return kept.told


def flight_cause(book: FieldBook, trace: BurstTrace) -> tuple[object, ...]:
    """Return all in the field book that a burst's flight depends on, to be compared with what it was."""
    stored = measured_burst(book, trace.id)
    tags = tuple((frame.path, frame.frame.tags) for frame in stored.frames)
    cutouts = hashlib.sha256()
    for animal in (one for frame in stored.frames for one in frame.animals):
        cutouts.update(repr((animal.outline_px, animal.cutout)).encode())
    frames = tuple(
        replace(frame, proposed=None, by_hand=None, reason="", usable_width_px=0.0) for frame in trace.frames
    )
    return frames, tags, cutouts.hexdigest(), kits(book), known_body(book, trace.id)


def _file(trace: BurstTrace, told: BurstFlight) -> tuple[int, int] | None:
    """Return size and time of change of the picture whose tags were read; ``None`` where none was, or it is gone."""
    read = next((frame.path for frame in trace.frames if frame.number in told.numbers[:1]), None)
    return None if read is None else _state(read)


def _state(path: Path) -> tuple[int, int] | None:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns
