"""What the waiting at one water teaches of one animal: everything that the page and the command tell."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.names import name_key
from stillwing.review.fits import Exponential, Weibull, aic_gain, fit_exponential, fit_weibull
from stillwing.review.intervals import End, Interval, What
from stillwing.review.leaving import leave_after_s
from stillwing.review.perchpay import Elsewhere, best_elsewhere, perch_pays
from stillwing.review.rates import By, PlaceRate, rates_by
from stillwing.review.returns import Returns, learn_returns
from stillwing.review.stays import Stay, stays_of
from stillwing.review.survival import Curve, Share, kaplan_meier, shares_by_end
from stillwing.review.watches import watches_of

__all__ = ["Away", "Timed", "Waited", "Waiting", "waited_for", "waiting_at"]

SEEN = (MomentKind.HOVER, MomentKind.PASS, MomentKind.RETURN, MomentKind.LANDING, MomentKind.PERCH, MomentKind.TAKE_OFF)
"""Taps that are about an animal."""
AT_PERCH = (MomentKind.RETURN, MomentKind.LANDING, MomentKind.PERCH)


@dataclass(frozen=True, slots=True)
class Away:
    """Absences from a perch, and what became of them."""

    intervals: tuple[Interval, ...]
    """In order of time."""
    back: Share | None
    """Share that had ended in a return; ``None`` where none did."""
    elsewhere: Share | None
    """Share that had ended in a landing elsewhere; ``None`` where none did."""
    returns: Returns | None
    best: Elsewhere | None
    """The best other place, from a perch or stand of the page's animal; ``None`` where none is known."""
    leave_after_s: float
    """Infinite: never, or nothing is known of returns."""

    def number(self, end: End) -> int:
        """Return how many ended so."""
        return sum(each.end is end for each in self.intervals)


@dataclass(frozen=True, slots=True)
class Timed:
    """Intervals that end in one way only, and the models of them."""

    intervals: tuple[Interval, ...]
    """In order of time."""
    curve: Curve
    exponential: Exponential | None
    """``None`` where nobody waited at all."""
    weibull: Weibull | None
    """``None`` where fewer than two different lengths were seen to their end."""
    aic_gain: float | None
    """By how much the Weibull model is better, its second parameter paid for."""

    @property
    def n_happened(self) -> int:
        """How many were seen to their end."""
        return self.curve.n_happened


@dataclass(frozen=True, slots=True)
class Waited:
    """An animal that was logged at a water."""

    site: str
    animal: str
    n_moments: int


@dataclass(frozen=True, slots=True)
class Waiting:
    """All that is known of one animal at one water."""

    site: str
    animal: str
    n_stays: int
    watched_h: float
    away: Away | None
    hover_waits: Timed | None
    hovers: Timed | None
    perched: Timed | None
    n_unclear: int
    """Absences and stays of which an end must have been missed; they are left out."""
    by_perch: tuple[PlaceRate, ...]
    """Of returns, landings and perching; the highest first, as the next two. Empty where the animal did none."""
    by_stand: tuple[PlaceRate, ...]
    """Of all taps about the animal, hovers and passes above all."""
    by_conditions: tuple[PlaceRate, ...]


def waited_for(book: FieldBook) -> tuple[Waited, ...]:
    """Return the animals that were logged, by water, the most often logged first."""
    counts: dict[tuple[str, str], tuple[str, str, int]] = {}
    for stay in stays_of(book):
        for event in stay.log.events:
            if event.kind in SEEN:
                key = name_key(stay.site), name_key(event.animal)
                counts[key] = (stay.site, event.animal, counts.get(key, ("", "", 0))[2] + 1)
    return tuple(sorted((Waited(*each) for each in counts.values()), key=lambda each: (-each.n_moments, each.site)))


def waiting_at(book: FieldBook, site: str, animal: str, *, confidence: float = 0.95) -> Waiting:
    """Return what the moments at a water tell of an animal.

    Parameters
    ----------
    site, animal : str
        As they were logged; capitals and the width of gaps do not matter. An empty animal is what was logged without
        a name.
    confidence : float, default 0.95
        Of each interval.

    Raises
    ------
    UnknownThing
        If nothing was logged there.
    """
    stays = stays_of(book, site)
    if not stays:
        raise UnknownThing(
            f"nothing was logged at {site!r}; the Log page and its file bring moments into the field book"
        )
    spelt = {name_key(event.animal): event.animal for stay in stays for event in stay.log.events if event.kind in SEEN}
    if name_key(animal) not in spelt:
        known = ", ".join(sorted(name or "one without a name" for name in spelt.values())) or "no animal"
        raise UnknownThing(f"no {animal!r} was logged at {site!r}; there is {known}")
    name = spelt[name_key(animal)]
    found = tuple(each for stay in stays for each in stay.intervals.all if name_key(each.animal) == name_key(animal))
    logs = [stay.log for stay in stays]
    by_perch = rates_by(logs, By.PERCH, AT_PERCH, name, confidence=confidence)
    return Waiting(
        stays[-1].site,
        name,
        len(stays),
        sum(watch.end_s - watch.start_s for log in logs for watch in watches_of(log)) / 3600.0,
        _away(stays, name, _of(found, What.ABSENCE), confidence),
        _timed(_of(found, What.HOVER_WAIT), confidence),
        _timed(_of(found, What.HOVER), confidence),
        _timed(_of(found, What.STAY), confidence),
        sum(stay.intervals.unclear.count(name) for stay in stays),
        by_perch if any(place.rate.n for place in by_perch) else (),
        rates_by(logs, By.STAND, SEEN, name, confidence=confidence),
        rates_by(logs, By.CONDITIONS, SEEN, name, confidence=confidence),
    )


def _of(intervals: Collection[Interval], what: What) -> tuple[Interval, ...]:
    return tuple(each for each in intervals if each.what is what)


def _away(stays: Sequence[Stay], animal: str, absences: Sequence[Interval], confidence: float) -> Away | None:
    if not absences:
        return None
    lengths, ends = [each.length_s for each in absences], [each.end for each in absences]
    shares = shares_by_end(lengths, [end.code for end in ends], confidence=confidence)
    last = absences[-1]
    best = best_elsewhere(perch_pays(stays), stays[-1].site, animal, last.perch, last.stand)
    returns = learn_returns(lengths, ends) if End.HAPPENED.code in shares else None
    leave_s = float("inf")
    if returns is not None:
        leave_s = leave_after_s(returns) if best is None else leave_after_s(returns, best.per_s, best.walk_s)
    return Away(tuple(absences), shares.get(End.HAPPENED.code), shares.get(End.ELSEWHERE.code), returns, best, leave_s)


def _timed(intervals: Sequence[Interval], confidence: float) -> Timed | None:
    if not any(each.has_happened for each in intervals):
        return None
    lengths, happened = [each.length_s for each in intervals], [each.has_happened for each in intervals]
    curve = kaplan_meier(lengths, happened, confidence=confidence)
    exponential = fit_exponential(lengths, happened, confidence=confidence) if sum(lengths) > 0 else None
    try:
        weibull = fit_weibull(lengths, happened, confidence=confidence)
    except InputError:
        weibull = None  # too few different lengths to tell a shape from
    gain = None if weibull is None or exponential is None else aic_gain(exponential, weibull)
    return Timed(tuple(intervals), curve, exponential, weibull, gain)
