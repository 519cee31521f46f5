"""One sighting as a line of the list, and the last step with what taking it back comes to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import KeptSighting, sightings_of_bursts
from stillwing.fieldbook.sightingsteps import LastStep
from stillwing.fieldbook.toldwords import count
from stillwing.records.filedwords import animals_words, place_words, step_words, when_words
from stillwing.records.filing import KnownNames, known_names
from stillwing.web.sightings_address import sighting_href
from stillwing.web.sightings_evidence import Evidence, Linked, evidence_of, shown_bursts
from stillwing.web.words import clock, day

__all__ = ["LineView", "StepView", "filed_from", "line_views", "moment_words", "step_view", "sure_words"]

MOST_PICTURES = 5
"""Shown of one record in the list; of more, how many there are besides."""
MOST_NAMES = 4
"""Named of one step."""


@dataclass(frozen=True, slots=True)
class LineView:
    """One sighting of the list; parts are empty where nothing is told."""

    id: str
    href: str
    english: str
    scientific: str
    """With the doubt about it."""
    when: str
    outing: str
    outing_href: str
    bursts: tuple[Linked, ...]
    animals: str
    place: str
    sure: str
    is_verified: bool
    is_sensitive: bool
    pictures: tuple[Evidence, ...]
    n_more: int
    """Pictures that are not shown."""
    remarks: str


@dataclass(frozen=True, slots=True)
class StepView:
    """The last step, for the button that takes it back."""

    words: str
    made_at: str
    """Sent along, so that no other step is taken back than the one that is shown."""


def line_views(book: FieldBook, kept: Sequence[KeptSighting], names: KnownNames) -> tuple[LineView, ...]:
    """Return sightings as lines, in their order."""
    bursts = shown_bursts(book, kept)
    pictures = evidence_of(book, kept, bursts)
    links = {one.id: Linked(one.name, f"/outings/{one.outing_id}/bursts/{one.id}?frame=1") for one in bursts.values()}
    visits = {one.id: one.name for one in outings(book)}
    return tuple(_line(one, pictures[one.sighting.id], links, visits, names) for one in kept)


def filed_from(book: FieldBook, burst_id: int) -> tuple[Linked, ...]:
    """Return the sightings that a burst shows, each with its name and how sure that is."""
    kept = sightings_of_bursts(book, [burst_id]).get(burst_id, ())
    if not kept:
        return ()
    names = known_names()
    return tuple(Linked(_filed_words(one.sighting, names), sighting_href(one.sighting.id)) for one in kept)


def step_view(step: LastStep | None, names: KnownNames) -> StepView | None:
    """Return the last step in words; ``None`` where there is none."""
    if step is None:
        return None
    shown = ", ".join(names.english(name) or name for name in step.names[:MOST_NAMES])
    rest = len(step.names) - MOST_NAMES
    more = f" and {count(rest, 'other name')}" if rest > 0 else ""
    words = f"{step_words(step.comes_to)} ({shown}{more}), on {moment_words(step.made_at)}"
    return StepView(words, step.made_at.isoformat())


def sure_words(sighting: Sighting) -> str:
    """Return how sure the name is and who says so.

    Examples
    --------
    >>> from stillwing.fieldbook.sighting import Where
    >>> from stillwing.fieldbook.sightingtime import read_when
    >>> seen = Sighting("Aeshna juncea", read_when("2024-07-06"), Where(name="Long Pond"), identified_by=("A Person",))
    >>> sure_words(seen)
    'unverified, named by A Person'
    """
    by = " and ".join(sighting.identified_by)
    return f"{sighting.verification}, named by {by}" if by else str(sighting.verification)


def moment_words(when: datetime) -> str:
    """Return an instant as a day and a time of day on this machine's clock."""
    local = when.astimezone()
    return f"{day(local)}, {clock(local)}"


def _filed_words(sighting: Sighting, names: KnownNames) -> str:
    name = names.english(sighting.scientific_name) or sighting.scientific_name
    return f"{name} ({sighting.verification})"


def _line(
    kept: KeptSighting,
    pictures: tuple[Evidence, ...],
    links: Mapping[int, Linked],
    visits: Mapping[int, str],
    names: KnownNames,
) -> LineView:
    sighting = kept.sighting
    scientific = sighting.scientific_name
    return LineView(
        str(sighting.id),
        sighting_href(sighting.id),
        names.english(scientific),
        f"{scientific} ({sighting.qualifier})" if sighting.qualifier else scientific,
        when_words(sighting.when),
        "" if kept.outing_id is None else visits[kept.outing_id],
        "" if kept.outing_id is None else f"/outings/{kept.outing_id}",
        tuple(links[burst] for burst in kept.bursts),
        animals_words(sighting),
        place_words(sighting.where),
        sure_words(sighting),
        sighting.verification == "verified",
        sighting.sensitive,
        pictures[:MOST_PICTURES],
        max(0, len(pictures) - MOST_PICTURES),
        sighting.remarks,
    )
