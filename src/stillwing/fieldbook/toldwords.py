"""What the field log and a track tell of an outing, in words that pages and commands share."""

from datetime import datetime, tzinfo

from stillwing.fieldbook.burstlog import CameraMoment
from stillwing.fieldbook.clocks import OutingClock
from stillwing.fieldbook.joining import JoinedBurst
from stillwing.fieldbook.tracks import TrackTaken

__all__ = [
    "THIN_SPACE",
    "ahead_words",
    "camera_clock",
    "clock_of",
    "clock_words",
    "count",
    "moment_words",
    "number",
    "told_words",
    "track_words",
]

THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"


def told_words(joined: JoinedBurst) -> str:
    """Return behaviour and animal; empty where the log tells neither."""
    return ", ".join(one for one in (joined.behaviour or "", joined.animal) if one)


def moment_words(one: CameraMoment, zone: tzinfo | None) -> str:
    """Return a moment with the words of its log and its time by the camera's clock."""
    moment = one.moment
    place = f"on {moment.perch}" if moment.perch else ""
    words = ", ".join(word for word in (moment.kind.value, moment.animal, place) if word)
    return f"{words}, at {clock_of(one.at, zone)}"


def camera_clock(at: datetime, zone: tzinfo | None) -> datetime:
    """Return an instant in UTC by the camera's clock as the camera shows it."""
    return at.replace(tzinfo=None) if zone is None else at.astimezone(zone)


def clock_of(at: datetime, zone: tzinfo | None) -> str:
    """Return the time of day by the camera's clock as the camera shows it."""
    return f"{camera_clock(at, zone):%H:%M:%S}"


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


def track_words(taken: TrackTaken, name: str) -> tuple[str, ...]:
    """Return what a track gave, one line for each number that is not zero.

    Examples
    --------
    >>> track_words(TrackTaken(12, 0, 1, 0), "walk.gpx")
    ('walk.gpx: 12 bursts have a place', '1 burst lies further than 5 min from every point of it')
    """
    lines = [f"{name}: {count(taken.n_placed, 'burst')} {_verb(taken.n_placed, 'has', 'have')} a place"]
    if taken.n_own:
        lines.append(f"{count(taken.n_own, 'burst')} {_verb(taken.n_own, 'tells', 'tell')} a position already")
    if taken.n_beyond:
        far = f"{_verb(taken.n_beyond, 'lies', 'lie')} further than 5 min from every point of it"
        lines.append(f"{count(taken.n_beyond, 'burst')} {far}")
    if taken.n_untimed:
        lines.append(f"{count(taken.n_untimed, 'burst')} {_verb(taken.n_untimed, 'has', 'have')} no time")
    return tuple(lines)


def count(n: int, one: str, many: str | None = None) -> str:
    """Return a number with its noun, thousands parted.

    Examples
    --------
    >>> count(1, "frame"), count(20000, "frame").replace(THIN_SPACE, " ")
    ('1 frame', '20 000 frames')
    """
    return f"{number(n)} {one if n == 1 else (many or f'{one}s')}"


def number(n: int) -> str:
    """Return a whole number with its thousands parted."""
    return f"{n:,}".replace(",", THIN_SPACE)


def _verb(n: int, one: str, several: str) -> str:
    return one if n == 1 else several
