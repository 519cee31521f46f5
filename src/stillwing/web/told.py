"""What the field log tells of a burst, in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from stillwing.fieldbook.burstlog import BurstLog, CameraMoment, LogLine
from stillwing.fieldbook.clocks import OutingClock
from stillwing.fieldbook.joining import Conflict, JoinedBurst
from stillwing.web.words import count

__all__ = ["Told", "ahead_words", "camera_clock", "clock_words", "log_line_words", "moment_words", "told", "told_words"]

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


def told_words(joined: JoinedBurst) -> str:
    """Return behaviour and animal; empty where the log tells neither."""
    return ", ".join(one for one in (joined.behaviour or "", joined.animal) if one)


def moment_words(one: CameraMoment, zone: tzinfo | None) -> str:
    """Return a moment with the words of its log and its time by the camera's clock."""
    moment = one.moment
    place = f"on {moment.perch}" if moment.perch else ""
    words = ", ".join(word for word in (moment.kind.value, moment.animal, place) if word)
    return f"{words}, at {_clock(one.at, zone)}"


def camera_clock(at: datetime, zone: tzinfo | None) -> datetime:
    """Return an instant in UTC by the camera's clock as the camera shows it."""
    return at.replace(tzinfo=None) if zone is None else at.astimezone(zone)


def ahead_words(seconds: float) -> str:
    """Return how far a clock is ahead or behind, with hours and minutes where there are any.

    Examples
    --------
    >>> ahead_words(3.2), ahead_words(-7203.25), ahead_words(0.04)
    ('ahead 3.2 s', 'behind 2 h 0 min 3.2 s', 'right')
    """
    tenths = round(abs(seconds) * 10)
    if tenths == 0:
        return "right"
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    days, hours = divmod(hours, 24)
    parts = [(days, "d"), (hours, "h"), (minutes, "min")]
    while parts and not parts[0][0]:
        parts.pop(0)
    words = " ".join([*(f"{n} {unit}" for n, unit in parts), f"{rest / 10:g} s"])
    return f"{'ahead' if seconds > 0 else 'behind'} {words}"


def clock_words(clock: OutingClock) -> str:
    """Return what is known of the camera's clock against the leading phone's."""
    leading = clock.leading
    return "clock unknown" if leading is None else f"clock {ahead_words(leading.camera_minus_phone_s)}"


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
    times = " and ".join(_clock(one.at, zone) for one in log.moments)
    tapped = "" if list(kinds) == [behaviour] else f"{' and '.join(kinds)} "
    sure = f"{log.joined.certainty * 100:.0f} % sure that tap and burst meet"
    return f"{told_words(log.joined)}, {tapped}at {times} by the camera's clock ({sure})"


def _listed(moments: Sequence[CameraMoment], zone: tzinfo | None) -> tuple[str, ...]:
    return tuple(moment_words(one, zone) for one in moments)


def _clock(at: datetime, zone: tzinfo | None) -> str:
    return f"{camera_clock(at, zone):%H:%M:%S}"


def _age(seconds: float) -> str:
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 100 else f"{minutes / 60:.1f} h"
