"""What taking sightings of a file in would come to; nothing is changed here."""

from collections.abc import Sequence
from dataclasses import dataclass

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.exactplaces import as_taken
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightings import sightings

__all__ = ["Foreseen", "foreseen"]


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a file would bring.

    Attributes
    ----------
    new : tuple of Sighting
    changed : tuple of (Sighting, Sighting)
        As it is kept, and as it would stand.
    same : tuple of Sighting
        Known as they are.
    less_exact : tuple of Sighting
        As they are kept: those of which the file tells less of the place.
    """

    new: tuple[Sighting, ...]
    changed: tuple[tuple[Sighting, Sighting], ...]
    same: tuple[Sighting, ...]
    less_exact: tuple[Sighting, ...]


def foreseen(book: FieldBook, taken: Sequence[Sighting]) -> Foreseen:
    """Return what `stillwing.fieldbook.sightings.take_sightings` would do with sightings, were it told nothing else."""
    known = {kept.sighting.id: kept.sighting for kept in sightings(book)}
    new: list[Sighting] = []
    changed: list[tuple[Sighting, Sighting]] = []
    same: list[Sighting] = []
    less_exact: list[Sighting] = []
    for came in taken:
        kept = known.get(came.id)
        sighting = came if kept is None else as_taken(kept, came)
        if kept is None:
            new.append(came)
        elif sighting == kept:
            same.append(kept)
        else:
            changed.append((kept, sighting))
        if kept is not None and sighting is not came:
            less_exact.append(kept)
        known[came.id] = sighting
    return Foreseen(tuple(new), tuple(changed), tuple(same), tuple(less_exact))
