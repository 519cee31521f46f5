"""Which way of working gives keepers: the share of frames and of bursts kept, at each level of a factor."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from stillwing.errors import InputError
from stillwing.review.burstcounts import count_bursts
from stillwing.review.burstrates import KnownRate, burst_share, known_rate
from stillwing.review.fits import Limits
from stillwing.review.levels import Level, levels_of
from stillwing.review.survival import check_confidence

__all__ = ["BurstOutcome", "FactorRates", "LevelRate", "factors_of", "keeper_rates", "overall_rate"]


@dataclass(frozen=True, slots=True)
class BurstOutcome:
    """One burst, how it was taken, and how many of its frames are keepers."""

    burst: str
    n_frames: int
    n_keepers: int
    factors: Mapping[str, str | float]
    """How it was taken, by the name of the factor: words, or numbers in the unit of the name."""
    when: datetime
    outing: str
    """On which it was taken; bursts of one outing are alike."""

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if self.n_frames < 1 or not 0 <= self.n_keepers <= self.n_frames:
            raise InputError(
                f"burst {self.burst} has {self.n_keepers} keepers of {self.n_frames} frames; "
                "it takes 0 or more of 1 or more"
            )


@dataclass(frozen=True, slots=True)
class LevelRate:
    """How often one level of a factor gave keepers."""

    level: Level
    n_bursts: int
    n_bursts_kept: int
    """Bursts with at least one keeper."""
    n_outings: int
    """On how many outings these bursts were taken."""
    n_frames: int
    n_keepers: int
    frames_kept: Limits
    """Share of frames kept."""
    bursts_kept: Limits
    """Share of bursts with at least one keeper."""
    known: KnownRate
    """All that is known of the share of frames kept."""


@dataclass(frozen=True, slots=True)
class FactorRates:
    """One factor, level by level."""

    factor: str
    levels: tuple[LevelRate, ...]
    """Numbers in their order, words by the alphabet."""
    n_unknown: int
    """Bursts of which this factor is not known; they are in no level."""
    confidence: float

    @property
    def n_outings(self) -> int:
        """On how many outings the bursts of all levels were taken."""
        return len({outing for each in self.levels for outing in each.known.counts.outings})

    def by_rate(self) -> tuple[LevelRate, ...]:
        """Return the levels, the highest share of frames kept first."""
        return tuple(sorted(self.levels, key=lambda each: (-each.frames_kept.likely, -each.n_frames, each.level.words)))


def factors_of(outcomes: Iterable[BurstOutcome]) -> tuple[str, ...]:
    """Return the names of all factors that any burst has, by the alphabet."""
    return tuple(sorted({factor for outcome in outcomes for factor in outcome.factors}))


def keeper_rates(outcomes: Sequence[BurstOutcome], factor: str, *, confidence: float = 0.95) -> FactorRates:
    """Return how often each level of a factor gave keepers; of no levels where no burst has the factor.

    Parameters
    ----------
    outcomes : sequence of BurstOutcome
        In any order.
    factor : str
        Such as "exposure_s"; numbers are cut into levels as `levels.levels_of` does it.
    confidence : float, default 0.95
        Of each interval.

    Raises
    ------
    InputError
        If a burst is there twice, or as `levels.levels_of` refuses its values.

    Examples
    --------
    >>> day = datetime.fromisoformat("2026-07-01T10:00Z")
    >>> ways = ["hand", "tripod"] * 4
    >>> bursts = [BurstOutcome(str(at), 10, at % 3, {"support": way}, day, "July") for at, way in enumerate(ways)]
    >>> rates = keeper_rates(bursts, "support")
    >>> [(each.level.words, each.n_keepers, each.n_frames, each.n_bursts_kept) for each in rates.levels]
    [('hand', 3, 40, 2), ('tripod', 4, 40, 3)]
    """
    check_confidence(confidence)
    _refuse_twins(outcomes)
    found = levels_of(factor, [outcome.factors.get(factor) for outcome in outcomes])
    inside: dict[Level, list[BurstOutcome]] = defaultdict(list)
    for level, outcome in zip(found, outcomes, strict=True):
        if level is not None:
            inside[level].append(outcome)
    ordered = sorted(inside, key=lambda level: (level.order, level.words.casefold()))
    levels = tuple(_level_rate(level, inside[level], confidence) for level in ordered)
    return FactorRates(factor, levels, sum(level is None for level in found), confidence)


def overall_rate(outcomes: Sequence[BurstOutcome], *, confidence: float = 0.95) -> LevelRate:
    """Return how often all bursts together gave keepers.

    Raises
    ------
    InputError
        If there is no burst, or one is there twice.
    """
    check_confidence(confidence)
    _refuse_twins(outcomes)
    return _level_rate(Level(0.0, "all bursts"), outcomes, confidence)


def _refuse_twins(outcomes: Sequence[BurstOutcome]) -> None:
    seen: set[str] = set()
    for outcome in outcomes:
        if outcome.burst in seen:
            raise InputError(f"burst {outcome.burst} is there twice; each burst counts once")
        seen.add(outcome.burst)


def _level_rate(level: Level, outcomes: Sequence[BurstOutcome], confidence: float) -> LevelRate:
    counts = count_bursts(
        [each.n_frames for each in outcomes],
        [each.n_keepers for each in outcomes],
        [each.outing for each in outcomes],
    )
    known = known_rate(counts)
    return LevelRate(
        level,
        n_bursts=len(outcomes),
        n_bursts_kept=counts.n_bursts_kept,
        n_outings=counts.n_outings,
        n_frames=counts.n_frames,
        n_keepers=counts.n_kept,
        frames_kept=known.limits(confidence),
        bursts_kept=burst_share(counts, confidence),
        known=known,
    )
