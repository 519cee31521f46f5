"""The bursts of the field book as outcomes: how each was taken, what came of it, and how it was followed."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import camera_utc
from stillwing.fieldbook.choices import StandingChoice, standing_choices
from stillwing.fieldbook.frames import StoredBurst, measured_bursts
from stillwing.fieldbook.outings import Outing, outings
from stillwing.frames.chosen import Choice
from stillwing.frames.sharpfor import SharpFor, parse_sharp_for
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
    seen: set[Path] = set()
    for outing in sorted(outings(book), key=lambda each: each.id):
        if named and outing.name not in named:
            continue
        bursts = tuple(measured_bursts(book, outing.id))
        judged = _successes(book, outing, bursts, counted)
        factors = outing_factors(book, outing.id, bursts)
        fresh = [burst for burst in bursts if seen.isdisjoint(frame.path for frame in burst.frames)]
        n_twice += len(bursts) - len(fresh)
        seen.update(frame.path for burst in fresh for frame in burst.frames)
        for burst in fresh:
            when = _when(burst, outing.opened_at)
            one = followed(burst, outing.name, when)
            practice += [] if one is None else [one]
            if burst.id in judged:
                outcomes.append(_outcome(burst, judged[burst.id], factors[burst.id], when, outing.name))
            else:
                n_unjudged += 1
    return TakenBursts(tuple(outcomes), tuple(practice), n_unjudged, counted, n_twice)


def _outcome(burst: StoredBurst, judged: list[bool], factors: Factors, when: datetime, outing: str) -> BurstOutcome:
    return BurstOutcome(str(burst.id), len(judged), sum(judged), factors, when, outing)


def _successes(
    book: FieldBook, outing: Outing, bursts: Iterable[StoredBurst], counted: Counted
) -> dict[int, list[bool]]:
    """Return for each burst whether each frame with a choice is a success."""
    sharp_for = parse_sharp_for(outing.sharp_for) if outing.sharp_for else None
    widths = {frame.path: frame.width_px for burst in bursts for frame in burst.frames}
    judged: dict[int, list[bool]] = defaultdict(list)
    for choice in standing_choices(book, outing.id):
        is_kept = choice.choice is Choice.KEEP
        would_do = counted is Counted.WOULD_DO and _would_do(choice, sharp_for, widths)
        judged[choice.burst_id].append(is_kept or would_do)
    return dict(judged)


def _would_do(choice: StandingChoice, sharp_for: SharpFor | None, widths: dict[Path, int]) -> bool:
    width_px = widths.get(choice.path)
    if sharp_for is None or width_px is None or (choice.is_by_hand and choice.choice is Choice.LEAVE):
        return False
    # A frame whose blur could not be measured has no usable width, and compares as false.
    return choice.usable_width_px >= sharp_for.needed_width(width_px)


def _when(burst: StoredBurst, otherwise: datetime) -> datetime:
    times = [frame.frame.tags.taken_at for frame in burst.frames if frame.frame.tags.taken_at is not None]
    return min(map(camera_utc, times)) if times else otherwise
