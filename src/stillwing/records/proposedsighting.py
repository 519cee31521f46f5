"""The record that a burst suggests, for a person to put right and to keep."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from types import MappingProxyType

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstlog import burst_logs
from stillwing.fieldbook.burstplace import BurstPlace, burst_place
from stillwing.fieldbook.looks import Look
from stillwing.fieldbook.outings import outing
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Doing, LifeStage, SightedSex
from stillwing.fieldbook.traces import BurstTrace
from stillwing.frames.chosen import Choice
from stillwing.optics.subject import Behaviour

__all__ = ["ProposedSighting", "proposed_sighting"]

WHOLE_MINUTES = timedelta(minutes=1)
SEXES: Mapping[str, tuple[SightedSex, ...]] = MappingProxyType(
    {"any": (), "male": (SightedSex.MALE,), "female": (SightedSex.FEMALE,)}
)
DID: Mapping[Behaviour, Doing] = MappingProxyType(
    {
        Behaviour.HOVER: Doing.HOVERING,
        Behaviour.PASS: Doing.FLYING,
        Behaviour.TAKE_OFF: Doing.FLYING,
        Behaviour.LANDING: Doing.FLYING,
        Behaviour.PERCH: Doing.PERCHED,
    }
)


@dataclass(frozen=True, slots=True)
class ProposedSighting:
    """A record that nobody has confirmed yet, and in sentences where its parts come from."""

    sighting: Sighting
    told: tuple[str, ...]


def proposed_sighting(book: FieldBook, trace: BurstTrace, scientific_name: str, look: Look) -> ProposedSighting:
    """Return the record that a burst suggests: one adult, where and when it was taken, doing what the log tells.

    Its pictures are the frames that stand as kept.

    Raises
    ------
    InputError
        If the burst tells no time, or nothing tells where it was taken; the sentence says what to do.
    """
    visit, place = outing(book, trace.outing_id), burst_place(book, trace.outing_id, trace.id)
    if trace.taken_at is None:
        raise InputError(f"the pictures of burst {trace.name} tell no time; write the record by hand")
    log = burst_logs(book, trace.outing_id, [trace.id]).get(trace.id)
    behaviour = None if log is None else log.joined.behaviour
    kept = [frame.path for frame in trace.frames if frame.choice is Choice.KEEP]
    sighting = Sighting(
        scientific_name,
        _when(trace.taken_at),
        _where(place, visit.name),
        count=1,
        sexes=SEXES[look.sex],
        stage=LifeStage.ADULT,
        doing=() if behaviour is None else (DID[behaviour],),
        pictures=tuple(os.path.relpath(path, visit.folder).replace(os.sep, "/") for path in kept),
    )
    return ProposedSighting(sighting, _told(place, trace.taken_at, behaviour))


def _when(taken_at: datetime) -> When:
    offset = taken_at.utcoffset()
    if offset is None or offset % WHOLE_MINUTES:
        return When(taken_at.date())
    return When(taken_at.replace(microsecond=0))


def _where(place: BurstPlace | None, outing_name: str) -> Where:
    if place is None:
        return Where(name=outing_name)
    return Where(
        place.position.latitude_deg, place.position.longitude_deg, float(round(place.uncertainty_m, 1)), name=place.site
    )


def _told(place: BurstPlace | None, taken_at: datetime, behaviour: Behaviour | None) -> tuple[str, ...]:
    told = []
    if place is None:
        told.append("nothing tells where it was taken: the outing's name stands for the place; put in the coordinates")
    else:
        told.append(f"the place is by {place.told_by}, and may be off by {place.uncertainty_m:.0f} m")
    if taken_at.utcoffset() is None:
        told.append("the camera tells no zone, so only the day is given")
    if behaviour is not None:
        told.append(f"the field log tells what it did: {behaviour}")
    return tuple(told)
