"""The candidates on the page of an animal: chance, evidence as two-sided bars, and the year of each."""

from dataclasses import dataclass
from datetime import date
from urllib.parse import urlencode

from stillwing.fieldbook.traces import BurstTrace
from stillwing.records.flightspans import flight_spans
from stillwing.records.identify import Candidate, Identification, Weighed
from stillwing.records.region import FlightPeriod, Species
from stillwing.records.seasonwords import MONTHS
from stillwing.records.verdict import chance_words
from stillwing.records.weightwords import LEAST_BITS, weight_words
from stillwing.records.yearstrip import YEAR_DAYS, day_of_year

__all__ = [
    "BAR_HALF",
    "CandidateView",
    "Candidates",
    "EvidenceBar",
    "StripSpan",
    "YearStrip",
    "candidates_view",
    "evidence_bar",
    "year_strip",
]

BAR_HALF = 50.0
"""Length of a bar of evidence on either side of its middle line, in units of its drawing."""
LEAST_SCALE_BITS = 2.0
"""The bars of evidence reach at least so far, so that little evidence looks like little. [bit]"""


@dataclass(frozen=True, slots=True)
class EvidenceBar:
    """One piece of evidence: its words, and its bar from ``x`` on in a drawing of width 100 with its middle at 50."""

    words: str
    weight: str
    side: str
    """for, against or neither."""
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class StripSpan:
    """A span of the year in a drawing of width 366, one unit a day."""

    x: int
    width: int
    is_sure: bool


@dataclass(frozen=True, slots=True)
class YearStrip:
    """When a species flies, and the day of the burst."""

    spans: tuple[StripSpan, ...]
    day_x: float | None
    words: str


@dataclass(frozen=True, slots=True)
class CandidateView:
    """One species with its chance and reasons."""

    id: str
    name: str
    scientific_name: str
    chance: str
    chance_width: float
    """Of a bar in a drawing of width 100."""
    evidence: tuple[EvidenceBar, ...]
    strip: YearStrip | None
    lives: str
    file_href: str


@dataclass(frozen=True, slots=True)
class Candidates:
    """Those of the set of 80 %, and the rest."""

    likely: tuple[CandidateView, ...]
    rest: tuple[CandidateView, ...]
    n_all: int
    scale: str
    """What the longest bar of evidence stands for."""


def candidates_view(found: Identification, trace: BurstTrace) -> Candidates:
    """Return all candidates; the bars of evidence have one scale, set by the likely ones."""
    n_likely = len(found.set_80)
    weights = [abs(weighed.weight_bits) for each in found.set_80 for weighed in each.evidence]
    scale_bits = max(LEAST_SCALE_BITS, *weights) if weights else LEAST_SCALE_BITS
    shown = tuple(_view(each, found.seen.on, trace, scale_bits) for each in found.candidates)
    return Candidates(shown[:n_likely], shown[n_likely:], len(shown), weight_words(scale_bits))


def evidence_bar(weighed: Weighed, scale_bits: float) -> EvidenceBar:
    """Return the bar of one piece of evidence; ``scale_bits`` is the weight of the longest that is drawn. [bit]"""
    bits = weighed.weight_bits
    width = min(abs(bits) / scale_bits, 1.0) * BAR_HALF
    side = "neither" if abs(bits) < LEAST_BITS else "for" if bits > 0 else "against"
    x = BAR_HALF if bits > 0 else BAR_HALF - width
    return EvidenceBar(weighed.words, weight_words(bits), side, round(x, 2), round(width, 2))


def year_strip(period: FlightPeriod, on: date | None) -> YearStrip:
    """Return the strip of a flight season, with the day of the burst where it is known."""
    spans = tuple(StripSpan(span.first - 1, span.last - span.first + 1, span.is_sure) for span in flight_spans(period))
    words = f"on the wing from {period.first_words} to {period.last_words}"
    if on is None:
        return YearStrip(spans, None, words)
    inside = "within" if period.holds(on.timetuple().tm_yday) else "outside"
    day = min(day_of_year(on), YEAR_DAYS) - 0.5
    return YearStrip(spans, day, f"{words}; {on.day} {MONTHS[on.month - 1]} is {inside} that")


def _view(each: Candidate, on: date | None, trace: BurstTrace, scale_bits: float) -> CandidateView:
    species = each.species
    named = urlencode({"burst": trace.id, "name": species.scientific_name})
    return CandidateView(
        "candidate-" + "-".join(species.scientific_name.split()),
        species.name,
        species.scientific_name,
        chance_words(each.chance),
        round(100 * each.chance, 2),
        tuple(evidence_bar(weighed, scale_bits) for weighed in each.evidence),
        None if species.flight is None else year_strip(species.flight, on),
        _lives(species),
        f"/outings/{trace.outing_id}/sightings/new?{named}",
    )


def _lives(species: Species) -> str:
    return "" if species.habitats is None else ", ".join(species.habitats.words)
