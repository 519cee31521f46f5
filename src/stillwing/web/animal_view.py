"""What the page of an animal shows, put together from what the records make of the burst."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.animals.catalogue import Group
from stillwing.errors import InputError
from stillwing.fieldbook.looks import Look
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import BurstTrace
from stillwing.frames.bodycolours import NoColours
from stillwing.frames.bodylength import NoLength
from stillwing.records.animalseen import AnimalSeen
from stillwing.records.identify import Identification
from stillwing.records.region import Region
from stillwing.records.regionpicks import RegionPick
from stillwing.records.seenwords import (
    ColourTold,
    colour_doubts,
    colours_told,
    day_sentence,
    length_sentence,
    log_sentence,
    place_sentence,
)
from stillwing.records.verdict import cautions, chance_words, doubt_sentence, misfit_sentence, set_sentence
from stillwing.records.weightwords import LEAST_BITS, weight_words
from stillwing.web.animal_address import address, animal_href
from stillwing.web.animal_candidates import Candidates, candidates_view
from stillwing.web.animal_picture import AnimalPicture, animal_picture
from stillwing.web.animal_questions import Questions, questions_view

__all__ = ["AnimalPage", "ColourBar", "RegionChoice", "SourceLine", "Switch", "Verdict", "animal_page"]

MOST_LARGE = 4
"""More names than these are set smaller."""
FEW_NAMES = 3
"""So many names are read out after an answer; of more, the first."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the identification comes to, in sentences; empty where there is nothing of a kind."""

    answer: str
    is_long: bool
    """Whether the answer names so many that it is set smaller."""
    misfit: str
    misfits: tuple[str, ...]
    """Pieces that are likelier of an animal which is not on the list than of the best candidate, and by how much."""
    doubt: str
    cautions: tuple[str, ...]
    spoken: str
    """What is said after an answer."""


@dataclass(frozen=True, slots=True)
class ColourBar:
    """A colour of the body, with a bar in a drawing of width 100."""

    words: str
    width: float


@dataclass(frozen=True, slots=True)
class Switch:
    """Whether a source counts, and the form's field that changes it."""

    field: str
    counts: bool


@dataclass(frozen=True, slots=True)
class SourceLine:
    """One source of evidence, what it tells, and the switch that leaves it out."""

    name: str
    sentence: str
    switch: Switch | None = None


@dataclass(frozen=True, slots=True)
class RegionChoice:
    """One list of species that may be picked."""

    key: str
    words: str
    is_picked: bool
    trouble: str
    """Why it cannot be used; empty where it can."""


@dataclass(frozen=True, slots=True)
class AnimalPage:
    """The page; parts are ``None`` where there is nothing to show in them."""

    title: str
    outing: Outing
    burst_name: str
    burst_href: str
    href: str
    action: str
    told: str
    """Why what was sent is not kept, or why nothing can be named; empty where all is well."""
    has_failed: bool
    """Whether what was sent is not kept."""
    is_bird: bool
    """It was taken for a bird, and no list tells of birds."""
    picture: AnimalPicture | None
    no_picture: str
    verdict: Verdict | None
    candidates: Candidates | None
    questions: Questions | None
    sources: tuple[SourceLine, ...]
    colours: tuple[ColourBar, ...]
    no_colours: str
    colour_doubts: tuple[str, ...]
    regions: tuple[RegionChoice, ...]
    region_told: str

    @property
    def status(self) -> int:
        """The HTTP status: 422 where something was not kept."""
        return InputError.http_status if self.has_failed else 200


@dataclass(frozen=True, slots=True)
class Shown:
    """All that the page is made from; what is not known is ``None``."""

    outing: Outing
    trace: BurstTrace
    look: Look
    region: Region | None
    picks: tuple[RegionPick, ...]
    known: AnimalSeen | None
    found: Identification | None
    skipped: Sequence[str] = ()
    told: str = ""
    has_failed: bool = False
    is_region_proposed: bool = False
    """Whether the list was picked for another burst and stands here until another is picked."""


def animal_page(shown: Shown) -> AnimalPage:
    """Return the page."""
    trace, known, found, region = shown.trace, shown.known, shown.found, shown.region
    href = animal_href(shown.outing.id, trace.id)
    body = None if known is None else known.body
    colours = () if region is None or known is None else colours_told(region, body)
    return AnimalPage(
        f"Which animal is it? {trace.name}",
        shown.outing,
        trace.name,
        f"/outings/{shown.outing.id}/bursts/{trace.id}",
        address(href, shown.skipped),
        address(f"{href}/look", shown.skipped),
        shown.told,
        shown.has_failed,
        shown.look.group is Group.BIRD,
        None if body is None else animal_picture(trace, body, shown.look),
        "" if body or known is None else "no frame of this burst shows an animal that could be measured",
        None if found is None else _verdict(found),
        None if found is None else candidates_view(found, trace),
        None if found is None else questions_view(found, shown.skipped, href),
        () if known is None else _sources(known, shown.look),
        () if isinstance(colours, str) else tuple(map(_colour, colours)),
        colours if isinstance(colours, str) else "",
        () if region is None else colour_doubts(region, body),
        tuple(_region(pick, region) for pick in shown.picks),
        _region_told(region, is_proposed=shown.is_region_proposed),
    )


def _verdict(found: Identification) -> Verdict:
    doubt = None if found.cannot_tell is None else doubt_sentence(found.cannot_tell, found.seen.sex)
    answer, n_named = set_sentence(found), len(found.set_80)
    spoken = answer
    if n_named > FEW_NAMES:
        first = found.candidates[0]
        spoken = f"{n_named} species together {chance_words(found.set_chance)}, {first.species.name} first"
    odd = tuple(
        f"{weighed.words}: {weight_words(-weighed.weight_bits)}"
        for weighed in found.misfits
        if -weighed.weight_bits >= LEAST_BITS
    )
    return Verdict(
        answer, n_named > MOST_LARGE, misfit_sentence(found) or "", odd, doubt or "", cautions(found), spoken
    )


def _sources(known: AnimalSeen, look: Look) -> tuple[SourceLine, ...]:
    body, n_answers = known.body, len(known.seen.answers) + (known.seen.group is not None)
    has_length = body is not None and not isinstance(body.length, NoLength)
    has_colours = body is not None and not isinstance(body.colours, NoColours)
    said = f"{n_answers} question{'s' * (n_answers != 1)} answered" if n_answers else "no question answered yet"
    return (
        SourceLine("Day", day_sentence(known)),
        SourceLine("Place", place_sentence(known)),
        SourceLine("Field log", log_sentence(known)),
        SourceLine(
            "Length", length_sentence(body), Switch("counts_length", look.counts_length) if has_length else None
        ),
        SourceLine(
            "Colours",
            "measured on the body in the picture" if has_colours else "none measured",
            Switch("counts_colours", look.counts_colours) if has_colours else None,
        ),
        SourceLine("You", said),
    )


def _colour(told: ColourTold) -> ColourBar:
    return ColourBar(f"{100 * told.share:.0f} % {told.name}", round(100 * told.share, 1))


def _region(pick: RegionPick, region: Region | None) -> RegionChoice:
    is_picked = region is not None and pick.key == region.key
    if pick.region is None:
        return RegionChoice(pick.key, f"{pick.key}: has mistakes, cannot be used", is_picked, pick.trouble)
    return RegionChoice(pick.key, f"{pick.name} ({len(pick.region.species)} species)", is_picked, "")


def _region_told(region: Region | None, *, is_proposed: bool) -> str:
    if region is None:
        return "it tells which questions to ask and who may be the answer; it stands for the next bursts too"
    covers = f"it covers {region.covers}"
    return f"{covers}; it is the list that you picked last" if is_proposed else covers
