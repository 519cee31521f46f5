"""The log of an outing as a picture: one row per stretch of the clock, in it one lane per kind of moment.

All rows have one scale, so that the eye compares them; a stretch in which nothing happened has no row. Places are in
percent of a row's width, so that the words keep their size on any window.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from stillwing.fieldbook.burstlog import CameraMoment
from stillwing.fieldbook.burstspans import BurstSpan
from stillwing.fieldbook.joining import JoinedBurst
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.outinglog import OutingLog
from stillwing.fieldbook.toldwords import camera_clock, count, moment_words, told_words

__all__ = ["DiaryBurst", "DiaryLane", "DiaryMark", "DiaryRow", "DiaryTick", "diary"]

STRETCHES_MIN = (5, 10, 20, 30, 60)
MOST_ROWS = 6
"""The shortest stretch that needs no more rows is taken; the hour where none does (a choice, no source)."""
LANES = (
    MomentKind.HOVER, MomentKind.PASS, MomentKind.PERCH, MomentKind.LANDING, MomentKind.RETURN, MomentKind.TAKE_OFF,
    MomentKind.BURST, MomentKind.MOVED, MomentKind.CONDITIONS,
)  # fmt: skip
LANE_PX, TOP_PX, FOOT_PX = 20, 22, 6
TICKS = 5
"""Parts of a row; every stretch has whole minutes in each."""
LEAST_BAR_PERCENT = 0.6
WORDS = {MomentKind.BURST: "burst tap", MomentKind.MOVED: "moved stand"}


@dataclass(frozen=True, slots=True)
class DiaryTick:
    """A time on the axis of a row."""

    x: float
    words: str


@dataclass(frozen=True, slots=True)
class DiaryMark:
    """One moment; a bar where it has an end."""

    x: float
    width: float
    """0 for a dot."""
    words: str


@dataclass(frozen=True, slots=True)
class DiaryLane:
    """The moments of one kind in one row."""

    words: str
    y: float
    marks: tuple[DiaryMark, ...]


@dataclass(frozen=True, slots=True)
class DiaryBurst:
    """One burst: a stroke through all lanes."""

    x: float
    href: str
    state: str
    """``told``, ``doubt`` or ``silent``."""
    words: str


@dataclass(frozen=True, slots=True)
class DiaryRow:
    """One stretch of the clock. Widths in percent of the row, heights in CSS px."""

    title: str
    spoken: str
    height: int
    burst_y: float
    ticks: tuple[DiaryTick, ...]
    lanes: tuple[DiaryLane, ...]
    bursts: tuple[DiaryBurst, ...]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A stretch of the camera's clock, and where instants lie in it."""

    start: datetime
    minutes: int

    def percent(self, at: datetime) -> float:
        """Return how far along an instant lies, from 0 to 100."""
        share = (at - self.start) / timedelta(minutes=self.minutes)
        return round(100 * min(max(share, 0.0), 1.0), 2)


def diary(log: OutingLog, outing_id: int) -> tuple[DiaryRow, ...]:
    """Return the rows of an outing, by the camera's clock; none where nothing was logged."""
    if not log.moments:
        return ()
    instants = [camera_clock(one.at, log.zone) for one in log.moments]
    starts = [camera_clock(span.start, log.zone) for span in log.bursts]
    minutes = _stretch_min([*instants, *starts])
    moments: dict[datetime, list[CameraMoment]] = {}
    for at, one in zip(instants, log.moments, strict=True):
        moments.setdefault(_start(at, minutes), []).append(one)
    bursts: dict[datetime, list[tuple[BurstSpan, JoinedBurst]]] = {}
    for at, pair in zip(starts, zip(log.bursts, log.joined, strict=True), strict=True):
        bursts.setdefault(_start(at, minutes), []).append(pair)
    rows = []
    for start in sorted(moments.keys() | bursts.keys()):
        stretch, found = _Stretch(start, minutes), moments.get(start, [])
        kinds = [kind for kind in LANES if any(one.moment.kind is kind for one in found)]
        lanes = tuple(_lane(stretch, kind, place, found, log.zone) for place, kind in enumerate(kinds))
        ticks = tuple(_burst(stretch, *pair, log.zone, outing_id) for pair in bursts.get(start, []))
        rows.append(_row(stretch, lanes, ticks))
    return tuple(rows)


def _stretch_min(instants: Iterable[datetime]) -> int:
    held = list(instants)
    for minutes in STRETCHES_MIN:
        if len({_start(at, minutes) for at in held}) <= MOST_ROWS:
            return minutes
    return STRETCHES_MIN[-1]


def _start(at: datetime, minutes: int) -> datetime:
    return at.replace(minute=at.minute - at.minute % minutes, second=0, microsecond=0)


def _lane(
    stretch: _Stretch, kind: MomentKind, place: int, moments: Sequence[CameraMoment], zone: tzinfo | None
) -> DiaryLane:
    marks = tuple(_mark(stretch, one, zone) for one in moments if one.moment.kind is kind)
    return DiaryLane(WORDS.get(kind, kind.value), TOP_PX + LANE_PX * (place + 1.5), marks)


def _mark(stretch: _Stretch, one: CameraMoment, zone: tzinfo | None) -> DiaryMark:
    x, width = stretch.percent(camera_clock(one.at, zone)), 0.0
    if one.until is not None:
        width = max(stretch.percent(camera_clock(one.until, zone)) - x, LEAST_BAR_PERCENT)
    return DiaryMark(x, round(width, 2), moment_words(one, zone))


def _burst(stretch: _Stretch, span: BurstSpan, joined: JoinedBurst, zone: tzinfo | None, outing_id: int) -> DiaryBurst:
    at = camera_clock(span.start, zone)
    in_doubt = joined.conflict is not None and bool(joined.moments)
    state = "doubt" if in_doubt else "silent" if joined.behaviour is None else "told"
    words = {"doubt": str(joined.conflict), "silent": "nothing logged", "told": told_words(joined)}[state]
    return DiaryBurst(
        stretch.percent(at), f"/outings/{outing_id}/bursts/{span.id}", state, f"{span.name}, {at:%H:%M:%S}: {words}"
    )


def _row(stretch: _Stretch, lanes: tuple[DiaryLane, ...], bursts: tuple[DiaryBurst, ...]) -> DiaryRow:
    step = timedelta(minutes=stretch.minutes) / TICKS
    times = [stretch.start + step * i for i in range(TICKS)]
    end = stretch.start + timedelta(minutes=stretch.minutes)
    heard = ", ".join(f"{len(lane.marks)} {lane.words}" for lane in lanes) or "no moment"
    return DiaryRow(
        f"{stretch.start:%H:%M} to {end:%H:%M}",
        f"{stretch.start:%H:%M} to {end:%H:%M}: {count(len(bursts), 'burst')}; {heard}",
        TOP_PX + LANE_PX * (len(lanes) + 1) + FOOT_PX,
        TOP_PX + LANE_PX * 0.5,
        tuple(DiaryTick(100 * i / TICKS, f"{at:%H:%M}") for i, at in enumerate(times)),
        lanes,
        bursts,
    )
