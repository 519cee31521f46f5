"""The bursts of the field book as outcomes: how each was taken, what came of it, and how it was followed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import camera_utc
from stillwing.fieldbook.outings import Outing, outings
from stillwing.fieldbook.takenframes import Judged, TakenBurst, judged_bursts, measured_widths, taken_frames
from stillwing.frames.sharpfor import parse_sharp_for
from stillwing.review.burstfactors import Factors, outing_factors
from stillwing.review.followed import followed
from stillwing.review.outcomes import BurstOutcome
from stillwing.review.practice import BurstPractice

__all__ = ["Counted", "TakenBursts", "taken_bursts"]


class Counted(StrEnum):
    """Which frames count as a success."""

    KEPT = "kept"
    """Those that stand as kept, by a person or by the proposal: near-copies are left out."""
    WOULD_DO = "would do"
    """Those that are kept, and all others that are sharp enough for the outing's output and that nobody refused."""


@dataclass(frozen=True, slots=True)
class TakenBursts:
    """All bursts that something is known of, in order of outings and time."""

    outcomes: tuple[BurstOutcome, ...]
    practice: tuple[BurstPractice, ...]
    n_unjudged: int
    """Bursts in which nothing has been chosen or proposed; they are no outcomes."""
    counted: Counted = Counted.KEPT
    n_twice: int = 0
    """Bursts left out because an earlier outing holds their frames too."""


def taken_bursts(book: FieldBook, counted: Counted = Counted.KEPT, named: Sequence[str] = ()) -> TakenBursts:
    """Return the bursts of all outings of a field book, or of those with the given names.

    A burst counts those of its frames for which a choice stands. Frames that were sifted into two outings count in the
    one that was entered first. One whose files tell no time is dated by when its
    outing was entered in the book.

    Raises
    ------
    FieldBookError
        If what is stored cannot be read.
    """
    outcomes: list[BurstOutcome] = []
    practice: list[BurstPractice] = []
    n_unjudged, n_twice = 0, 0
    seen: set[int] = set()
    for outing in sorted(outings(book), key=lambda each: each.id):
        if named and outing.name not in named:
            continue
        bursts = taken_frames(book, outing.id)
        judged = _judged(book, outing, counted)
        factors = outing_factors(book, outing.id, bursts)
        fresh = [burst for burst in bursts if seen.isdisjoint(frame.frame_id for frame in burst.frames)]
        n_twice += len(bursts) - len(fresh)
        seen.update(frame.frame_id for burst in fresh for frame in burst.frames)
        for burst in fresh:
            when = _when(burst, outing.opened_at)
            one = followed(burst, outing.name, when)
            practice += [] if one is None else [one]
            if burst.id in judged:
                outcomes.append(_outcome(burst, judged[burst.id], factors[burst.id], when, outing.name))
            else:
                n_unjudged += 1
    return TakenBursts(tuple(outcomes), tuple(practice), n_unjudged, counted, n_twice)


def _outcome(burst: TakenBurst, judged: Judged, factors: Factors, when: datetime, outing: str) -> BurstOutcome:
    return BurstOutcome(str(burst.id), judged.n_frames, judged.n_good, factors, when, outing)


def _judged(book: FieldBook, outing: Outing, counted: Counted) -> dict[int, Judged]:
    """Return for each burst with a choice how many frames have one, and how many are a success."""
    if counted is Counted.KEPT or not outing.sharp_for:
        return judged_bursts(book, outing.id)
    needed = parse_sharp_for(outing.sharp_for).needed_width
    return judged_bursts(book, outing.id, {width: needed(width) for width in measured_widths(book, outing.id)})


def _when(burst: TakenBurst, otherwise: datetime) -> datetime:
    times = [frame.taken_at for frame in burst.frames if frame.taken_at is not None]
    return min(map(camera_utc, times)) if times else otherwise
