"""What the bursts of one outing teach together: what frames were lost to, and which one change would have won most."""

import statistics
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr
from scipy.stats import t as student

from stillwing.review.burstlesson import BurstLesson, Setting
from stillwing.review.changes import STEPS, Change
from stillwing.review.losses import Loss

__all__ = ["ChangeWon", "OutingLesson", "outing_lesson"]

Reals = NDArray[np.float64]

N_RESAMPLES, SEED = 2000, 47
CONFIDENCE = 0.90
MOST_OF = 0.9
"""Of each change the least step is told that wins this share of what the change can win (a choice, no source)."""
WORTH = 1.0
"""Fewer sharp frames are not worth a change."""
FEWEST_BURSTS = 5
"""Fewer bursts tell no interval (a choice, no source)."""
GAINS = 0.5
"""Sharp frames won from which a burst counts as one that gains."""


@dataclass(frozen=True, slots=True)
class ChangeWon:
    """One change over all bursts that tell their flight."""

    change: Change
    step: float
    """One of `stillwing.review.changes.STEPS`."""
    won: float
    """More sharp frames."""
    between: tuple[float, float] | None
    """90 % interval of that; ``None`` where the bursts are too few to tell one."""
    n_bursts: int
    """That gain by it."""
    best_chance: float
    """How often it wins most where the bursts are drawn anew."""


@dataclass(frozen=True, slots=True)
class OutingLesson:
    """What the bursts of an outing teach together."""

    n_bursts: int
    n_telling: int
    """Bursts that tell their flight; all that follows is of these."""
    untold: tuple[tuple[str, int], ...]
    """Why the others do not, and how many; the commonest first."""
    n_frames: int
    n_sharp: int
    lost: tuple[tuple[Loss, int], ...]
    """Frames lost, the most first."""
    n_late: int
    """Bursts that began when the animal was past the focal plane and going away from it."""
    n_angled: int
    """Bursts of which the angle to the focal plane is told."""
    setting: Setting | None
    """The middle of each figure; ``None`` where no burst tells."""
    is_one_setting: bool
    """Whether exposure and f-number were the same in all bursts that tell."""
    changes: tuple[ChangeWon, ...]
    """Those worth it, the one that wins most first."""


def outing_lesson(lessons: Sequence[BurstLesson]) -> OutingLesson:
    """Return what bursts teach together.

    Parameters
    ----------
    lessons : sequence of BurstLesson
        Of all bursts of the outing.

    Notes
    -----
    Bursts are independent of each other, frames of one are not: the 90 % interval of frames won is the percentile
    interval of the total over bursts drawn anew with replacement, its percentiles moved outwards as few bursts ask
    [1]_. The step of a change is chosen once, from the bursts as they are.

    References
    ----------
    .. [1] T. C. Hesterberg, "What Teachers Should Know About the Bootstrap", Am. Stat. 69 (2015) 371,
       doi:10.1080/00031305.2015.1089789: the expanded percentile interval.
    """
    telling = [one for one in lessons if not one.untold]
    lost: Counter[str] = Counter()
    for one in telling:
        lost.update(one.lost or {})
    settings = [one.setting for one in telling if one.setting is not None]
    return OutingLesson(
        len(lessons),
        len(telling),
        tuple(Counter(one.untold for one in lessons if one.untold).most_common()),
        sum(one.n_frames for one in telling),
        sum(one.n_sharp for one in telling),
        tuple((Loss(loss), n) for loss, n in lost.most_common()),
        sum(one.began_late for one in telling),
        sum(one.flown_deg is not None for one in telling),
        _middle(settings) if settings else None,
        len({(round(one.exposure_s, 6), round(one.f_number, 2)) for one in settings}) <= 1,
        _changes(telling),
    )


def _middle(settings: Sequence[Setting]) -> Setting:
    isos = [one.iso for one in settings if one.iso is not None]
    return Setting(
        statistics.median(one.exposure_s for one in settings),
        statistics.median(one.f_number for one in settings),
        statistics.median(one.focal_length_mm for one in settings),
        statistics.median(one.distance_m for one in settings),
        statistics.median(isos) if len(isos) == len(settings) else None,
    )


def _changes(telling: Sequence[BurstLesson]) -> tuple[ChangeWon, ...]:
    if not telling:
        return ()
    picked: list[tuple[Change, float, Reals]] = []
    for change in Change:
        won = np.array([(one.won or {})[change] for one in telling], np.float64)
        totals = won.sum(0)
        if totals.max() < WORTH:
            continue
        step = int(np.argmax(totals >= MOST_OF * totals.max()))
        picked.append((change, STEPS[change][step], won[:, step]))
    if not picked:
        return ()
    columns = np.column_stack([won for *_, won in picked])
    drawn = _drawn_anew(columns)
    best = np.bincount(drawn.argmax(1), minlength=len(picked)) / len(drawn)
    found = [
        ChangeWon(
            change,
            step,
            float(won.sum()),
            _between(drawn[:, at], len(telling)),
            int((won >= GAINS).sum()),
            float(best[at]),
        )
        for at, (change, step, won) in enumerate(picked)
    ]
    return tuple(sorted(found, key=lambda one: -one.won))


def _drawn_anew(columns: Reals) -> Reals:
    """Return totals over bursts drawn with replacement, shape (N_RESAMPLES, n_changes)."""
    n_bursts = len(columns)
    times = np.random.default_rng(SEED).multinomial(n_bursts, np.full(n_bursts, 1 / n_bursts), N_RESAMPLES)
    return np.asarray(times @ columns, np.float64)


def _between(drawn: Reals, n_bursts: int) -> tuple[float, float] | None:
    if n_bursts < FEWEST_BURSTS:
        return None
    tail = float(ndtr(np.sqrt(n_bursts / (n_bursts - 1)) * student.ppf((1 - CONFIDENCE) / 2, n_bursts - 1)))
    low, high = np.quantile(drawn, [tail, 1 - tail])
    return float(low), float(high)
