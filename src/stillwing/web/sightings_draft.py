"""What the form of a sighting starts from: a record that is kept, one that a burst suggests, or nothing."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.looks import look_of
from stillwing.fieldbook.outings import outing
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import KeptSighting, sightings
from stillwing.fieldbook.traces import BurstTrace
from stillwing.records.filing import KnownNames, last_recorders
from stillwing.records.proposedsighting import proposed_sighting
from stillwing.web.sightings_evidence import Evidence, frames_of
from stillwing.web.sightings_fields import TypedSighting, as_typed
from stillwing.web.sightings_form import PLAIN

__all__ = ["Draft", "burst_draft", "empty_draft", "kept_draft"]


@dataclass(frozen=True, slots=True)
class Draft:
    """The start of a form."""

    base: Sighting
    """The parts that the form does not show come from here."""
    shown: TypedSighting
    outing_id: int | None
    bursts: tuple[int, ...]
    told: tuple[str, ...] = ()
    """Where the parts come from, a sentence each without a full stop."""
    frames: tuple[Evidence, ...] = ()
    """Pictures that may be evidence."""


def empty_draft(book: FieldBook, identity: UUID, outing_id: int | None = None) -> Draft:
    """Return a form with nothing in it but who recorded the last one. Raises `UnknownThing`, as for an outing."""
    if outing_id is not None:
        outing(book, outing_id)
    shown = TypedSighting(recorded_by=_recorders(book))
    told = ("who saw it is taken over from the record that was kept last",) if shown.recorded_by else ()
    return Draft(replace(PLAIN, id=identity), shown, outing_id, (), told)


def burst_draft(book: FieldBook, identity: UUID, trace: BurstTrace, name: str, names: KnownNames) -> Draft:
    """Return the record that a burst suggests, under a name that may be empty still."""
    empty = empty_draft(book, identity, trace.outing_id)
    frames = frames_of(trace, outing(book, trace.outing_id).folder)
    try:
        proposed = proposed_sighting(book, trace, PLAIN.scientific_name, look_of(book, trace.id))
    except InputError as error:
        shown = replace(empty.shown, name=name)
        return replace(empty, shown=shown, bursts=(trace.id,), told=(str(error), *empty.told), frames=frames)
    base = replace(proposed.sighting, id=identity)
    shown = replace(as_typed(base, names), name=name, recorded_by=empty.shown.recorded_by)
    told = ("one adult, and the frames to keep as its pictures, are what the burst suggests", *proposed.told)
    return Draft(base, shown, trace.outing_id, (trace.id,), (*told, *empty.told), frames)


def kept_draft(book: FieldBook, kept: KeptSighting, bursts: Sequence[BurstTrace], names: KnownNames) -> Draft:
    """Return a record that is kept, with the frames of its bursts."""
    frames = tuple(one for trace in bursts for one in frames_of(trace, outing(book, trace.outing_id).folder))
    return Draft(kept.sighting, as_typed(kept.sighting, names), kept.outing_id, kept.bursts, (), frames)


def _recorders(book: FieldBook) -> str:
    return "\n".join(last_recorders(sightings(book)))
