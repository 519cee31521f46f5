"""What a burst tells of its animal, in sentences by what told it; where it tells nothing, why."""

import math
from dataclasses import dataclass

from stillwing.frames.bodycolours import NoColours
from stillwing.frames.bodylength import BodyLength, NoLength
from stillwing.optics.subject import Range
from stillwing.records.animalseen import AnimalSeen, MeasuredBody
from stillwing.records.bodycolourwords import colours_left_out, pack_colours
from stillwing.records.region import Region
from stillwing.records.seasonwords import MONTHS

__all__ = [
    "ColourTold",
    "colour_doubts",
    "colours_told",
    "day_sentence",
    "known_sentences",
    "length_sentence",
    "length_words",
    "log_sentence",
    "place_sentence",
    "tilt_sentence",
]

LEAST_SHARE = 0.01
"""Of a colour that is told."""
NO_FRAME = "no frame shows an animal that could be measured"


@dataclass(frozen=True, slots=True)
class ColourTold:
    """A colour of the body in the words of a list, with its share from 0 to 1."""

    name: str
    share: float


def known_sentences(known: AnimalSeen, region: Region) -> tuple[str, ...]:
    """Return all that a burst tells of its animal, and why where it does not tell."""
    body = known.body
    told = [f"{day_sentence(known)}, {place_sentence(known)}", log_sentence(known), length_sentence(body)]
    if body is not None and isinstance(body.length, BodyLength):
        along = "ends that you marked" if body.is_marked else "the line that was taken for the body"
        told[-1] = f"length of the body: {told[-1]}, along {along}"
    colours = colours_told(region, body)
    if isinstance(colours, str):
        return (*told, colours)
    shares = ", ".join(f"{100 * one.share:.0f} % {one.name}" for one in colours)
    return (*told, f"colours of the body: {shares}", *colour_doubts(region, body))


def day_sentence(known: AnimalSeen) -> str:
    """Return when the burst was taken."""
    when = known.taken_at
    if when is None:
        return "the pictures tell no day"
    return f"taken on {when.day} {MONTHS[when.month - 1]} {when.year}"


def place_sentence(known: AnimalSeen) -> str:
    """Return where it was taken, and how many earlier records there are of that place."""
    place = known.place
    if place is None:
        return "nothing tells where; a position in the pictures, a track or a field log would"
    where = f"at {place.position.words} by {place.told_by}, which may be off by {place.uncertainty_m:.0f} m"
    earlier = known.nearby
    if earlier is None:
        return where
    n_records = earlier.n_records
    if not n_records:
        return f"{where}; no earlier records within {earlier.square_words}"
    records = f"{n_records} earlier record{'s' * (n_records > 1)} of {len(earlier.counts)} species"
    return f"{where}; {records} within {earlier.square_words}"


def log_sentence(known: AnimalSeen) -> str:
    """Return what the field log tells that the animal did."""
    log = known.logged
    if log is None:
        return "the field log tells nothing of this burst"
    return f"the field log tells that it did this: {log.behaviour}, {100 * log.certainty:.0f} % sure"


def length_words(length_mm: Range) -> str:
    """Return a body length with its interval.

    Examples
    --------
    >>> length_words(Range(33.2, 36.0, 40.1)), length_words(Range(33.2, 36.0, math.inf))
    ('36 mm (33 to 40 with 90 % chance)', '33 mm or longer')
    """
    low, likely, high = length_mm
    if math.isinf(high):
        return f"{low:.0f} mm or longer"
    return f"{likely:.0f} mm ({low:.0f} to {high:.0f} with 90 % chance)"


def length_sentence(body: MeasuredBody | None) -> str:
    """Return the measured length, or why there is none."""
    if body is None:
        return f"no length: {NO_FRAME}"
    if isinstance(body.length, NoLength):
        return f"no length: {body.length.reason}"
    return length_words(body.length.length_mm)


def tilt_sentence(body: BodyLength) -> str:
    """Return what the tilt of the body does to its length."""
    if body.most_tilt_deg is None:
        return "a body that is turned towards or away from you shows shorter than it is, so this is a least length"
    return f"turned by {body.most_tilt_deg:g}° at most, as you said: the upper end allows for it"


def colours_told(region: Region, body: MeasuredBody | None) -> tuple[ColourTold, ...] | str:
    """Return the colours of the body in the words of the list, the largest share first, or why there are none."""
    if body is None:
        return f"no colours: {NO_FRAME}"
    if isinstance(body.colours, NoColours):
        return f"no colours: {body.colours.reason}"
    told = [ColourTold(name, share) for name, share in pack_colours(region, body.colours).items()]
    shown = tuple(sorted((one for one in told if one.share >= LEAST_SHARE), key=lambda one: (-one.share, one.name)))
    return shown or "no colours: the list of species has no words for them"


def colour_doubts(region: Region, body: MeasuredBody | None) -> tuple[str, ...]:
    """Return what is doubtful of the colours, a sentence each."""
    if body is None or isinstance(body.colours, NoColours):
        return ()
    return (*body.colours.doubts, *colours_left_out(region, body.colours))
