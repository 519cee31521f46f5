"""The moments of a field book as stays: one visit to one water, as a log that can be learned from."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.moment import Moment
from stillwing.fieldbook.moments import corrected_instants, moments
from stillwing.fieldbook.names import name_key
from stillwing.review.events import Log, log_of_moments
from stillwing.review.intervals import Intervals, read_intervals

__all__ = ["REST", "Stay", "stays_of"]

REST = timedelta(hours=6)
"""Taps further apart belong to different stays (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Stay:
    """One visit to one water, from its first tap to its last."""

    site: str
    """As it was logged last; empty where no tap named one."""
    start: datetime
    end: datetime
    log: Log
    intervals: Intervals


def stays_of(book: FieldBook, site: str | None = None, end: datetime | None = None) -> tuple[Stay, ...]:
    """Return all stays of a field book in order of their start.

    Parameters
    ----------
    site : str, optional
        Name of the water; capitals and the width of gaps do not matter. Of all waters when not given.
    end : datetime, optional
        Now, where somebody may still be watching: a stay whose last tap is less than six hours before lasts until then.

    Notes
    -----
    Instants are those of `fieldbook.moments.corrected_instants`; what was taken back counts nowhere. A name that was
    written in several ways, as "Post" and "post", is one, as it was written last.
    """
    found = _spelt_alike(moments(book, site=site))
    by_site: dict[str, list[tuple[datetime, Moment]]] = {}
    for at, moment in zip(corrected_instants(book, found), found, strict=True):
        by_site.setdefault(name_key(moment.site), []).append((at, moment))
    stays = [_stay(part, end) for timed in by_site.values() for part in _parts(timed)]
    return tuple(sorted(stays, key=lambda stay: (stay.start, stay.site)))


def _spelt_alike(found: Sequence[Moment]) -> list[Moment]:
    last: dict[tuple[str, str], str] = {}
    for moment in found:
        for name in ("animal", "stand", "perch"):
            words = getattr(moment, name)
            last[name, name_key(words)] = words
    return [
        replace(
            moment,
            animal=last["animal", name_key(moment.animal)],
            stand=last["stand", name_key(moment.stand)],
            perch=last["perch", name_key(moment.perch)],
        )
        for moment in found
    ]


def _parts(timed: Sequence[tuple[datetime, Moment]]) -> list[list[tuple[datetime, Moment]]]:
    parts: list[list[tuple[datetime, Moment]]] = []
    last = None
    for at, moment in timed:
        if last is None or at - last > REST:
            parts.append([])
        parts[-1].append((at, moment))
        # A hover that lasts goes on until it ends, for what comes after it too.
        ends_at = at if moment.until is None else at + (moment.until - moment.at)
        last = ends_at if last is None else max(last, ends_at)
    return parts


def _stay(timed: Sequence[tuple[datetime, Moment]], now: datetime | None) -> Stay:
    instants, taps = [at for at, _ in timed], [moment for _, moment in timed]
    log = log_of_moments(taps, instants)
    start = instants[0]
    end = start + timedelta(seconds=log.end_s)
    if now is not None and timedelta(0) <= now - end <= REST:
        end = now
        log = Log(log.events, log.start_s, (now - start).total_seconds(), log.conditions)
    return Stay(taps[-1].site, start, end, log, read_intervals(log))
