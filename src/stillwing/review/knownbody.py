"""The body length of the animal of a burst, where the field book knows it apart from the distance of the burst."""

import math
from dataclasses import dataclass

from stillwing.animals.catalogue import CatalogueAnimal, animal_named, read_catalogue
from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.looks import look_of
from stillwing.fieldbook.sightings import sightings_of_bursts
from stillwing.fieldbook.sightingwords import LifeStage
from stillwing.flight.distances import MOST_TILT_DEG
from stillwing.optics.subject import Range

__all__ = ["KnownBody", "known_body"]

LENGTH = "body_length_mm"
FULL_GROWN = (None, LifeStage.TENERAL, LifeStage.ADULT)
"""Stages of which the catalogue's lengths are; where nobody said one, it flew."""


@dataclass(frozen=True, slots=True)
class KnownBody:
    """The animal's body length, and how long the body shows in one frame of the burst."""

    frame_id: int
    shown_px: float
    middle_px: tuple[float, float]
    """Of the body in that frame."""
    length_mm: Range
    whence: str
    """Where the length is from, in words."""


def known_body(book: FieldBook, burst_id: int) -> KnownBody | None:
    """Return the body length of the animal of a burst; ``None`` where the field book does not tell it.

    The length is that of the species of the burst's one sighting, as the catalogue has it; how long the body shows is
    the line of the body that a person marked. A length that was measured on the line itself went by the distance of
    this burst, and tells nothing of it. Nor does a sighting in doubt, one of a young animal, or a body that somebody
    said is turned further out of the focal plane than `stillwing.flight.distances` allows for.

    Raises
    ------
    UnknownThing
        If there is no such burst.
    """
    look = look_of(book, burst_id)
    if look.ends is None or (look.most_tilt_deg is not None and look.most_tilt_deg > MOST_TILT_DEG):
        return None
    animal = _of_sighting(book, burst_id)
    if animal is None or LENGTH not in animal.figures:
        return None
    length = animal.figure(LENGTH)
    (x0, y0), (x1, y1) = look.ends.head_px, look.ends.tail_px
    whence = (
        f"the {animal.name} of the sighting, {length.low:g} to {length.high:g} mm long, and the marked line of its body"
    )
    return KnownBody(
        look.ends.frame_id,
        math.hypot(x1 - x0, y1 - y0),
        ((x0 + x1) / 2, (y0 + y1) / 2),
        Range(length.low, length.likely, length.high),
        whence,
    )


def _of_sighting(book: FieldBook, burst_id: int) -> CatalogueAnimal | None:
    """Return the species of the one sighting that a burst shows; ``None`` where it is in doubt or not catalogued."""
    shown = [kept.sighting for kept in sightings_of_bursts(book, [burst_id]).get(burst_id, ())]
    if len(shown) != 1 or shown[0].qualifier or shown[0].count == 0 or shown[0].stage not in FULL_GROWN:
        return None
    try:
        animal = animal_named(read_catalogue(), shown[0].scientific_name)
    except InputError:
        # The catalogue holds some species; others are as unknown to it as none at all.
        return None
    return None if animal.is_class else animal
