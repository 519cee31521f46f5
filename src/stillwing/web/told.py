"""What the field log tells of a burst, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo

from stillwing.fieldbook.burstlog import BurstLog, CameraMoment, LogLine
from stillwing.fieldbook.joining import Conflict
from stillwing.fieldbook.toldwords import clock_of, clock_words, count, moment_words, told_words

__all__ = ["Told", "log_line_words", "told"]

TWO_AT_ONCE = "Two things at once in the field log"
TOO_OLD = "The last word of the field log is too old"
CLOCK_UNKNOWN = "Nothing ties the camera's clock to the field log"


@dataclass(frozen=True, slots=True)
class Told:
    """What the log tells of one burst; nothing at all where all is empty."""

    word: str
    """Behaviour and animal, such as "hover, emperor"."""
    sentence: str
    """The same with its times and certainty; empty where it is in conflict."""
    conflict: str
    """What does not fit, as the head of a notice; empty where all does."""
    moments: tuple[str, ...]
    """Of a conflict, each with its time."""
    advice: str
    """What to do about it."""
    is_clock: bool
    """The clocks have to be set first."""


NOTHING = Told("", "", "", (), "", False)


def told(log: BurstLog | None, zone: tzinfo | None) -> Told:
    """Return what the log tells of a burst; times by the camera's clock, in its zone where it has one."""
    if log is None:
        return NOTHING
    match log.joined.conflict:
        case Conflict.TWO_AT_ONCE:
            advice = "take one back on the Log page, or leave it: nothing is guessed"
            if len({one.moment.animal for one in log.moments}) > 1:
                advice = f"Two animals at once: {advice}."
            else:
                advice = f"{advice[:1].upper()}{advice[1:]}."
            return Told("", "", TWO_AT_ONCE, _listed(log.moments, zone), advice, False)
        case Conflict.TOO_OLD:
            age = (log.start - max(one.at for one in log.moments)).total_seconds()
            advice = f"That was {_age(age)} before this burst. It may have been there still or not: nothing is guessed."
            return Told("", "", TOO_OLD, _listed(log.moments, zone), advice, False)
        case Conflict.CLOCK_UNKNOWN:
            return Told("", "", CLOCK_UNKNOWN, (), "Moments were logged that may belong to this burst.", True)
    if log.joined.behaviour is None:
        return NOTHING
    return Told(told_words(log.joined), _sentence(log, zone), "", (), "", False)


def log_line_words(line: LogLine, n_told: int, n_bursts: int, n_shown: int) -> str:
    """Return how much was logged at an outing, in one line.

    Parameters
    ----------
    line : LogLine
    n_told : int
        Bursts on the page of which the log tells the behaviour.
    n_bursts, n_shown : int
        Bursts of the outing, and those on the page.
    """
    if not line.n_moments:
        return "nothing logged near these bursts"
    whose = count(n_bursts, "burst") if n_shown == n_bursts else f"the {n_shown} bursts here"
    return f"{count(line.n_moments, 'moment')}, {n_told} of {whose} told; {clock_words(line.clock)}"


def _sentence(log: BurstLog, zone: tzinfo | None) -> str:
    behaviour = log.joined.behaviour
    kinds = dict.fromkeys(one.moment.kind.value for one in log.moments)
    times = " and ".join(clock_of(one.at, zone) for one in log.moments)
    tapped = "" if list(kinds) == [behaviour] else f"{' and '.join(kinds)} "
    sure = f"{log.joined.certainty * 100:.0f} % sure that tap and burst meet"
    return f"{told_words(log.joined)}, {tapped}at {times} by the camera's clock ({sure})"


def _listed(moments: Sequence[CameraMoment], zone: tzinfo | None) -> tuple[str, ...]:
    return tuple(moment_words(one, zone) for one in moments)


def _age(seconds: float) -> str:
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 100 else f"{minutes / 60:.1f} h"
