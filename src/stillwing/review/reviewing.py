"""One question to the field book about what worked: a factor level by level, two of its levels, and practice."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.names import name_key
from stillwing.review.compared import BestLevel, WaysCompared, best_level, compare_ways
from stillwing.review.confounded import Association, associations
from stillwing.review.keepercautions import (
    NO_CAUSE,
    confounded_sentence,
    outings_sentence,
    pairs_sentence,
    unknown_sentence,
)
from stillwing.review.keeperwords import bursts_words, compared_sentence, factor_name, headline_sentence, listed
from stillwing.review.levels import levels_of
from stillwing.review.outcomes import BurstOutcome, FactorRates, LevelRate, factors_of, keeper_rates, overall_rate
from stillwing.review.outcomesread import Counted, TakenBursts
from stillwing.review.practice import PracticeTrend, practice

__all__ = ["KnownFactor", "Reviewed", "known_factors", "review"]

USUAL_FACTOR = "exposure_s"
WOULD_DO = "counted as kept is every frame that would do: sharp enough for the output, near-copies of keepers too"
NOTHING = "no burst has anything kept or proposed yet; begin with: stillwing sift FOLDER"


@dataclass(frozen=True, slots=True)
class KnownFactor:
    """One factor that some bursts tell."""

    factor: str
    name: str
    """In words."""
    n_levels: int
    n_bursts: int
    """Of which it is known."""


@dataclass(frozen=True, slots=True)
class Reviewed:
    """What worked, by one factor, and how practice goes."""

    overall: LevelRate
    factors: tuple[KnownFactor, ...]
    """All that can be asked for, in order of their names."""
    rates: FactorRates
    """Of the factor that was asked for."""
    best: BestLevel | None
    """None where the factor has one level."""
    ways: WaysCompared | None
    """The two levels that were asked for, else the best and the next best."""
    going_with: tuple[Association, ...]
    """Other factors that go with this one, the strongest first."""
    practice: tuple[PracticeTrend, ...]
    n_factors: int
    """Factors of several levels; a claim has to be so much surer."""
    n_unjudged: int
    counted: Counted
    n_twice: int

    def sentences(self) -> tuple[str, ...]:
        """Return which level did best and how the two levels compare; without full stops."""
        if self.best is None or self.ways is None:
            return (f"{factor_name(self.rates.factor)}: {self._only_level()}; it takes two levels to compare",)
        return headline_sentence(self.rates.factor, self.best), compared_sentence(self.ways)

    def cautions(self) -> tuple[str, ...]:
        """Return what to beware of; without full stops."""
        told = [
            WOULD_DO if self.counted is Counted.WOULD_DO else "",
            confounded_sentence(self.rates.factor, self.going_with),
            outings_sentence(self.rates),
            unknown_sentence(self.rates),
            "" if self.best is None else pairs_sentence(len(self.rates.levels), self.n_factors),
            _left_out(self.n_unjudged, "nothing in them kept or proposed yet"),
            _left_out(self.n_twice, "with frames that are in another outing too"),
            NO_CAUSE,
        ]
        return tuple(sentence for sentence in told if sentence)

    def _only_level(self) -> str:
        return f"all bursts are of {self.rates.levels[0].level.words}" if self.rates.levels else "no burst tells it"


def review(
    taken: TakenBursts, factor: str | None = None, ways: tuple[str, str] | None = None, *, confidence: float = 0.95
) -> Reviewed:
    """Return what worked.

    Parameters
    ----------
    taken : TakenBursts
        As `outcomesread.taken_bursts` reads them.
    factor : str, optional
        Key or name of a factor; exposure where it is not given, else the first that has several levels.
    ways : (str, str), optional
        Words of two of its levels; capitals do not matter. The best and the next best where they are not given.
    confidence : float, default 0.95
        Of each interval.

    Raises
    ------
    UnknownThing
        If no burst has such a factor, or the factor no such level.
    InputError
        If no burst has an outcome yet, or a level is to be compared with itself.
    """
    if not taken.outcomes:
        raise InputError(NOTHING)
    known = known_factors(taken.outcomes)
    asked = _asked(known, factor)
    rates = keeper_rates(taken.outcomes, asked, confidence=confidence)
    n_factors = max(1, sum(each.n_levels > 1 for each in known))
    best = best_level(rates, n_factors=n_factors) if len(rates.levels) > 1 else None
    pair = None if best is None else (best.best.level.words, best.runner_up.level.words)
    if ways is not None:
        pair = (_level(rates, ways[0]), _level(rates, ways[1]))
    return Reviewed(
        overall_rate(taken.outcomes, confidence=confidence),
        known,
        rates,
        best,
        None if pair is None else compare_ways(rates, *pair, n_factors=n_factors),
        _going_with(taken.outcomes, asked, known),
        practice(taken.practice, confidence=confidence),
        n_factors,
        taken.n_unjudged,
        taken.counted,
        taken.n_twice,
    )


def known_factors(outcomes: Sequence[BurstOutcome]) -> tuple[KnownFactor, ...]:
    """Return the factors that bursts tell, in order of their names."""
    told = []
    for factor in factors_of(outcomes):
        levels = [level for level in levels_of(factor, [each.factors.get(factor) for each in outcomes]) if level]
        told.append(KnownFactor(factor, factor_name(factor), len({each.words for each in levels}), len(levels)))
    return tuple(sorted(told, key=lambda each: each.name.casefold()))


def _asked(known: Sequence[KnownFactor], wanted: str | None) -> str:
    if wanted is None:
        several = [each.factor for each in known if each.n_levels > 1] or [each.factor for each in known]
        if not several:
            raise InputError("nothing tells how the bursts were taken; their files have no tags, and nothing was typed")
        return USUAL_FACTOR if USUAL_FACTOR in several else several[0]
    # A condition may be typed under a name that one of ours has too: a key says which is meant.
    for words in ({each.factor: each.factor for each in known}, {each.factor: each.name for each in known}):
        for factor, told in words.items():
            if name_key(wanted) == name_key(told):
                return factor
    raise UnknownThing(
        f"no burst tells {wanted!r}; what is told is {listed([each.name for each in known]) or 'nothing'}"
    )


def _level(rates: FactorRates, wanted: str) -> str:
    for each in rates.levels:
        if name_key(each.level.words) == name_key(wanted):
            return each.level.words
    levels = listed([each.level.words for each in rates.levels])
    raise UnknownThing(f"{factor_name(rates.factor)} has no level {wanted!r}; its levels are {levels}")


def _going_with(outcomes: Sequence[BurstOutcome], factor: str, known: Sequence[KnownFactor]) -> tuple[Association, ...]:
    others = [each.factor for each in known if each.factor != factor and each.n_levels > 1]
    found = [one for other in others for one in associations(outcomes, [factor, other])]
    return tuple(sorted(found, key=lambda each: -each.strength))


def _left_out(n: int, why: str) -> str:
    return f"{bursts_words(n)} {'is' if n == 1 else 'are'} left out, {why}" if n else ""
