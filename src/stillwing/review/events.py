"""What was tapped at the water, as plain numbers: the only thing that the waiting is learned from."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from stillwing.errors import InputError
from stillwing.fieldbook.moment import Moment, MomentKind

__all__ = ["Event", "Log", "log_of_moments"]


@dataclass(frozen=True, slots=True)
class Event:
    """One tap. Seconds count from any instant, the same one for a whole log."""

    at_s: float
    kind: MomentKind
    animal: str = ""
    stand: str = ""
    perch: str = ""
    until_s: float | None = None
    """End of a hover; ``None`` where nobody tapped it."""
    conditions: str = ""
    """Words for the weather from now on; only of a tap of conditions."""

    def __post_init__(self) -> None:
        """Refuse a time that is none.

        Raises
        ------
        InputError
            If a time is no finite number, or the end comes before the start.
        """
        for name, value in (("at_s", self.at_s), ("until_s", self.until_s)):
            if value is not None and not math.isfinite(value):
                raise InputError(f"{name} is {value}; it must be a finite number of seconds")
        if self.until_s is not None and self.until_s < self.at_s:
            raise InputError(f"until_s is {self.until_s:g}, before at_s, which is {self.at_s:g}; a hover ends later")


@dataclass(frozen=True, slots=True)
class Log:
    """All taps of one stay at a water, in order of time, and how long somebody watched."""

    events: tuple[Event, ...]
    start_s: float
    """Arrival at the first stand."""
    end_s: float
    """When the watching ended; now, while it goes on."""
    conditions: str = ""
    """Words for the weather at arrival."""

    def __post_init__(self) -> None:
        """Refuse a log in which time does not go on.

        Raises
        ------
        InputError
            If taps are not in order of time, or lie outside the log.
        """
        times = [self.start_s, *(event.at_s for event in self.events), self.end_s]
        if not all(map(math.isfinite, times)):
            raise InputError("a log begins or ends at no finite number of seconds; give both in seconds")
        for one, other in pairwise(times):
            if other < one:
                raise InputError(
                    f"a log has {other:g} s after {one:g} s; its start, taps and end must be in order of time"
                )


def log_of_moments(
    moments: Sequence[Moment],
    instants: Sequence[datetime],
    end: datetime | None = None,
    conditions: str = "",
) -> Log:
    """Return moments of one stay at one water as a log that begins with its first tap.

    Parameters
    ----------
    moments : sequence of Moment
        In any order; those taken back are left out.
    instants : sequence of datetime, one per moment
        When each was, in the time of one clock.
    end : datetime, optional
        When the watching ended, or now; by default the last tap, or the end of the last hover.
    conditions : str, default ""
        Words for the weather at arrival; a tap of conditions brings its note.

    Raises
    ------
    InputError
        If there is no moment, or one comes after ``end``.
    """
    kept = sorted(
        ((at, moment.id, moment) for moment, at in zip(moments, instants, strict=True) if not moment.undone),
        key=lambda timed: timed[:2],
    )
    if not kept:
        raise InputError("no moment is left to learn from; log a tap first")
    start = kept[0][0]
    events = tuple(_event(moment, at - start) for at, _, moment in kept)
    last_s = max(event.at_s if event.until_s is None else event.until_s for event in events)
    end_s = last_s if end is None else (end - start).total_seconds()
    return Log(events, 0.0, end_s, conditions)


def _event(moment: Moment, after: timedelta) -> Event:
    # Added as whole milliseconds: sums of seconds would put an end a last digit beside the instant that it is.
    until_s = None if moment.until is None else (after + (moment.until - moment.at)).total_seconds()
    words = moment.note if moment.kind is MomentKind.CONDITIONS else ""
    return Event(after.total_seconds(), moment.kind, moment.animal, moment.stand, moment.perch, until_s, words)
