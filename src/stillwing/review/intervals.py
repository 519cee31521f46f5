"""From taps to intervals that are known whole, or only as "at least so long".

What an interval is and what cuts it off stands as a table in docs/waiting.md.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

from stillwing.fieldbook.moment import MomentKind
from stillwing.review.events import Event, Log
from stillwing.review.watches import Watch, watches_of

__all__ = ["End", "Interval", "Intervals", "What", "read_intervals"]

LANDINGS = (MomentKind.RETURN, MomentKind.LANDING, MomentKind.PERCH)


class What(StrEnum):
    """What an interval is the time of."""

    HOVER_WAIT = "time to the next hover"
    HOVER = "hover"
    ABSENCE = "time away from the perch"
    STAY = "time on the perch"


class End(StrEnum):
    """How an interval ended."""

    HAPPENED = "happened"
    """The hover began, or ended; the animal came back, or took off."""
    ELSEWHERE = "landed elsewhere"
    """Of an absence: it was seen to land on another perch."""
    CUT_OFF = "not seen"
    """The photographer moved or the log ended first: the interval is longer than what was seen of it."""

    @property
    def code(self) -> int:
        """Number of this way to end, as `survival.shares_by_end` takes it; 0 where it was cut off."""
        return (End.CUT_OFF, End.HAPPENED, End.ELSEWHERE).index(self)


@dataclass(frozen=True, slots=True)
class Interval:
    """One interval of one animal at one stand."""

    what: What
    start_s: float
    length_s: float
    end: End
    animal: str
    stand: str
    perch: str = ""
    """The perch left, or sat on."""
    conditions: str = ""
    """At its start."""

    @property
    def has_happened(self) -> bool:
        """Whether what was waited for was seen."""
        return self.end is End.HAPPENED


@dataclass(frozen=True, slots=True)
class Intervals:
    """All intervals of one log, in order of their start."""

    all: tuple[Interval, ...]
    unclear: tuple[str, ...]
    """The animal of each absence and stay of which an end must have been missed; they are left out."""
    n_untimed_hovers: int
    """Hovers of which nobody tapped the end; they have no length."""

    def of(
        self, what: What, animal: str | None = None, stand: str | None = None, perch: str | None = None
    ) -> tuple[Interval, ...]:
        """Return those of one kind, and where given of one animal, stand and perch."""
        return tuple(
            each
            for each in self.all
            if each.what is what
            and animal in (None, each.animal)
            and stand in (None, each.stand)
            and perch in (None, each.perch)
        )


def read_intervals(log: Log, animals: Collection[str] = ()) -> Intervals:
    """Return what a log tells of waiting.

    Parameters
    ----------
    log : Log
        One stay at a water.
    animals : collection of str, default ()
        Waited for although no tap names them; those that a tap names are waited for anyway.
    """
    named = {event.animal for event in log.events if event.kind in (MomentKind.HOVER, MomentKind.PASS, *LANDINGS)}
    named |= {event.animal for event in log.events if event.kind is MomentKind.TAKE_OFF}
    found: list[Interval] = []
    unclear: list[str] = []
    n_untimed = 0
    for watch in watches_of(log):
        for animal in sorted(named | set(animals)):
            own = [event for event in watch.events if event.animal == animal]
            hovers = [event for event in own if event.kind is MomentKind.HOVER]
            found += _hover_waits(watch, animal, hovers)
            found += [_hover(watch, event, event.until_s) for event in hovers if event.until_s is not None]
            n_untimed += sum(event.until_s is None for event in hovers)
            perches = _Perches(watch, animal)
            found += perches.read(own)
            unclear += [animal] * perches.n_unclear
    return Intervals(tuple(sorted(found, key=lambda each: each.start_s)), tuple(unclear), n_untimed)


def _hover_waits(watch: Watch, animal: str, hovers: Sequence[Event]) -> list[Interval]:
    found, start_s = [], watch.start_s
    for event in hovers:
        # Two hovers at once are two animals; the second was not waited for. Nor is it known how long one waited for a
        # hover whose own tap is the first that is known of the watch.
        if event.at_s >= start_s and event.at_s > watch.start_s:
            found.append(_interval(watch, What.HOVER_WAIT, (start_s, event.at_s), End.HAPPENED, (animal, "")))
        start_s = max(start_s, event.at_s if event.until_s is None else event.until_s)
    if start_s < watch.end_s:
        found.append(_interval(watch, What.HOVER_WAIT, (start_s, watch.end_s), End.CUT_OFF, (animal, "")))
    return found


def _hover(watch: Watch, event: Event, until_s: float) -> Interval:
    end = End.CUT_OFF if until_s > watch.end_s else End.HAPPENED
    return _interval(watch, What.HOVER, (event.at_s, min(until_s, watch.end_s)), end, (event.animal, ""))


def _interval(watch: Watch, what: What, span: tuple[float, float], end: End, whose: tuple[str, str]) -> Interval:
    animal, perch = whose
    start_s, end_s = span
    return Interval(what, start_s, end_s - start_s, end, animal, watch.stand, perch, watch.conditions_at(start_s))


class _Perches:
    """What is open at each perch of one animal during one watch: an absence or a stay, since when."""

    def __init__(self, watch: Watch, animal: str) -> None:
        self.watch, self.animal = watch, animal
        self.away: dict[str, float] = {}
        self.sits: dict[str, float] = {}
        self.found: list[Interval] = []
        self.n_unclear = 0

    def read(self, own: Sequence[Event]) -> list[Interval]:
        """Return the absences and stays that the taps of this animal tell."""
        for event in own:
            if event.kind is MomentKind.TAKE_OFF:
                self._take_off(event)
            elif event.kind in LANDINGS:
                self._land(event)
        for what, still in ((What.ABSENCE, self.away), (What.STAY, self.sits)):
            for perch, start_s in still.items():
                self._keep(what, perch, start_s, (self.watch.end_s, End.CUT_OFF))
        return self.found

    def _take_off(self, event: Event) -> None:
        perch = event.perch or _only(self.sits)
        # It left twice without coming back in between: the return was missed.
        self.n_unclear += self.away.pop(perch, None) is not None
        seat = perch if perch in self.sits else ""  # a landing that named no perch may have been on this one
        if seat in self.sits:
            self._keep(What.STAY, perch, self.sits.pop(seat), (event.at_s, End.HAPPENED))
        self.away[perch] = event.at_s

    def _land(self, event: Event) -> None:
        left = self._left(event)
        at = event.perch or (left or "")
        if event.kind is MomentKind.PERCH and left is None and at in self.sits:
            return  # seen again where it sits
        if left is not None:
            self._keep(What.ABSENCE, left, self.away.pop(left), (event.at_s, End.HAPPENED))
        elif event.kind is not MomentKind.RETURN and self.away:
            # It landed elsewhere; of several that are away, the one that left last is meant.
            last = max(self.away, key=self.away.__getitem__)
            self._keep(What.ABSENCE, last, self.away.pop(last), (event.at_s, End.ELSEWHERE))
        # It landed where it sat: the take-off was missed.
        self.n_unclear += self.sits.pop(at, None) is not None
        self.sits[at] = event.at_s

    def _left(self, event: Event) -> str | None:
        """Return the perch of the absence that a landing ends as a return, if any."""
        if event.perch:
            return event.perch if event.perch in self.away else None
        if event.kind is MomentKind.LANDING or not self.away:
            return None
        return max(self.away, key=self.away.__getitem__)

    def _keep(self, what: What, perch: str, start_s: float, end: tuple[float, End]) -> None:
        self.found.append(_interval(self.watch, what, (start_s, end[0]), end[1], (self.animal, perch)))


def _only(perches: dict[str, float]) -> str:
    """Return the one perch that is sat on, the one last come to of several, or none."""
    return max(perches, key=perches.__getitem__) if perches else ""
