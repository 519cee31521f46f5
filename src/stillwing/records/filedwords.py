"""Kept sightings in words that pages and commands share."""

from datetime import date, datetime

from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import TakenBack
from stillwing.fieldbook.sightingtime import When
from stillwing.records.typedplace import coordinates_words, distance_words

__all__ = ["animals_words", "changed_parts", "kept_exact_words", "place_words", "step_words", "when_words"]

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
PARTS = {
    "scientific_name": "name",
    "name_as_written": "name as first written",
    "qualifier": "doubt about the name",
    "when": "time",
    "where": "place",
    "count": "number",
    "sexes": "sex",
    "stage": "stage",
    "doing": "what they did",
    "pictures": "pictures",
    "recorded_by": "who saw it",
    "identified_by": "who named it",
    "verification": "how sure the name is",
    "licence": "licence",
    "basis": "person or camera",
    "establishment": "at home there",
    "remarks": "remarks",
    "sensitive": "sensitive or not",
    "generalized": "what was made coarser",
    "withheld": "what was left out",
    "others": "columns of other programs",
}
"""The parts of a record, as they are called where changes are told."""


def place_words(where: Where) -> str:
    """Return a place in one line, with how far it may be off where that is known.

    Examples
    --------
    >>> place_words(Where(52.2053, 0.1218, 8.5, name="Long Pond"))
    'Long Pond, 52.20530 N, 0.12180 E ± 8.5 m'
    """
    if where.latitude is None or where.longitude is None:
        return where.name
    off = "" if where.uncertainty_m is None else f" ± {distance_words(where.uncertainty_m)}"
    at = f"{coordinates_words(where.latitude, where.longitude)}{off}"
    return f"{where.name}, {at}" if where.name else at


def when_words(when: When) -> str:
    """Return a time as people say it: days with the month written out, instants to the minute in their own zone.

    Examples
    --------
    >>> from stillwing.fieldbook.sightingtime import read_when
    >>> when_words(read_when("2024-07-06")), when_words(read_when("2024-07-06T14:30+01:00"))
    ('6 July 2024', '6 July 2024, 14:30')
    >>> when_words(read_when("2024-07-06/08"))
    '6 July 2024 to 8 July 2024'
    """
    return " to ".join(_moment(moment) for moment in (when.begin, when.end) if moment is not None)


def animals_words(sighting: Sighting) -> str:
    """Return how many there were, of which sex and stage, and what they did; empty where nothing is told.

    Examples
    --------
    >>> from stillwing.fieldbook.sightingtime import read_when
    >>> from stillwing.fieldbook.sightingwords import Doing, LifeStage, SightedSex
    >>> where, when = Where(name="Long Pond"), read_when("2024-07-06")
    >>> animals_words(Sighting("Aeshna juncea", when, where, count=2, stage=LifeStage.ADULT, doing=(Doing.TANDEM,)))
    '2, adult, tandem'
    >>> animals_words(Sighting("Aeshna juncea", when, where, count=0))
    'looked for, none found'
    """
    if sighting.count == 0:
        return "looked for, none found"
    parts = [
        "" if sighting.count is None else str(sighting.count),
        " and ".join(sighting.sexes),
        sighting.stage or "",
        *sighting.doing,
    ]
    return ", ".join(part for part in parts if part)


def changed_parts(before: Sighting, after: Sighting) -> tuple[str, ...]:
    """Return the names of the parts in which two versions of a record differ, in the order of the record."""
    return tuple(words for name, words in PARTS.items() if getattr(before, name) != getattr(after, name))


def kept_exact_words(n: int) -> str:
    """Return how many places stay as they are kept because a file tells less of them.

    Examples
    --------
    >>> kept_exact_words(1)
    '1 place is told less exactly there than it is kept, and stays as it is kept'
    """
    if n == 1:
        return "1 place is told less exactly there than it is kept, and stays as it is kept"
    return f"{n:,} places are told less exactly there than they are kept, and stay as they are kept"


def step_words(comes_to: TakenBack) -> str:
    """Return what a step did, from what taking it back would come to; empty where it did nothing.

    Examples
    --------
    >>> step_words(TakenBack(1, 0, 0)), step_words(TakenBack(12, 3, 0)), step_words(TakenBack(0, 0, 1))
    ('1 new', '12 new, 3 changed', '1 withdrawn')
    """
    told = {"new": comes_to.n_gone, "changed": comes_to.n_changed, "withdrawn": comes_to.n_again}
    return ", ".join(f"{n:,} {word}" for word, n in told.items() if n)


def _moment(moment: date | datetime) -> str:
    day = f"{moment.day} {MONTHS[moment.month - 1]} {moment.year}"
    return f"{day}, {moment:%H:%M}" if isinstance(moment, datetime) else day
