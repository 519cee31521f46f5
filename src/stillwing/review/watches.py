"""Stretches of a log during which the photographer stood at one stand."""

from collections.abc import Iterator
from dataclasses import dataclass

from stillwing.fieldbook.moment import MomentKind
from stillwing.review.events import Event, Log

__all__ = ["Watch", "watches_of"]


@dataclass(frozen=True, slots=True)
class Watch:
    """One stay at one stand."""

    stand: str
    start_s: float
    end_s: float
    events: tuple[Event, ...]
    """All taps made there, without those of moving."""
    spells: tuple[tuple[float, str], ...]
    """From when on which words for the weather held; the first holds at the start."""

    def conditions_at(self, at_s: float) -> str:
        """Return the words for the weather that held at an instant."""
        return [words for since_s, words in self.spells if since_s <= at_s][-1]

    def watched(self) -> Iterator[tuple[str, float]]:
        """Yield the words for the weather and how long they held, one spell after the other. [s]"""
        ends = [since_s for since_s, _ in self.spells[1:]] + [self.end_s]
        for (since_s, words), end_s in zip(self.spells, ends, strict=True):
            yield words, end_s - since_s


def watches_of(log: Log) -> tuple[Watch, ...]:
    """Return a log as stays at stands, in order of time.

    A tap of having moved ends one and begins the next, and the walk counts to the next. Where a tap names another stand
    and nobody tapped the move, the watch ends with the last tap at the old stand and the next one begins with the first
    at the new one: what was watched in between is not known. A tap that names no stand belongs to the one before it.
    """
    found: list[Watch] = []
    weather = log.conditions
    stand, start_s, last_s = "", log.start_s, log.start_s
    events: list[Event] = []
    spells = [(start_s, weather)]

    def close(end_s: float) -> None:
        found.append(Watch(stand, start_s, end_s, tuple(events), tuple(spells)))
        events.clear()
        spells.clear()

    for event in log.events:
        is_move = event.kind is MomentKind.MOVED
        if is_move or (stand and event.stand and event.stand != stand):
            close(event.at_s if is_move else min(last_s, event.at_s))
            stand, start_s = event.stand, event.at_s
            spells.append((start_s, weather))
        stand = stand or event.stand
        last_s = max(last_s, event.at_s if event.until_s is None else event.until_s)
        if event.kind is MomentKind.CONDITIONS:
            weather = event.conditions
            spells.append((event.at_s, weather))
        if not is_move:
            events.append(event)
    close(log.end_s)
    return tuple(found)
