"""What was seen of one animal, as far as somebody knows it: date, length, characters, colours, behaviour."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from stillwing.animals.catalogue import Group
from stillwing.errors import InputError, UnknownThing
from stillwing.fieldbook.moment import MomentKind
from stillwing.optics.subject import Range
from stillwing.records.nearby import Nearby
from stillwing.records.packrows import LONGEST_MM
from stillwing.records.region import Character, Region, Sex, Shows

__all__ = [
    "BODY_COLOURS",
    "LINE_WRONG",
    "SHORTEST_MM",
    "Answer",
    "Seen",
    "chance_wrong",
    "check_seen",
    "colour_names",
]

SHORTEST_MM = 10.0
"""No living dragonfly or damselfly is shorter (from memory: the shortest have 15 to 18 mm)."""
BODY_COLOURS = ("abdomen_colour", "thorax_colour")
"""Keys of the characters that tell what colours the body can have; a mask hardly shows legs and eyes."""
CHANCE_WRONG: Mapping[Shows, float] = MappingProxyType(
    {Shows.COLOUR: 0.15, Shows.PATTERN: 0.10, Shows.SHAPE: 0.10, Shows.POSTURE: 0.10}
)
"""How often a person who looks at a picture names the wrong state (a choice, no source)."""
LINE_WRONG = 0.03
"""How often a line of the body that a person saw to is not the animal's: a wrong box, a slip (a choice, no source)."""
LEAST_WRONG, MOST_WRONG = 0.02, 0.5
"""Nobody is surer than that, and who errs more often had better not answer (a choice, no source)."""
ALL_SHARES = 1.01
"""Shares of the whole, with room for rounding."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The states of one character that a person sees in the picture, one or more."""

    character: str
    states: tuple[str, ...]
    chance_wrong: float | None = None
    """Chance that they err, 0.02 to 0.5; ``None`` takes the usual one of what the character shows."""


@dataclass(frozen=True, slots=True)
class Seen:
    """All that is known of one animal; what is not known stays as it is here, and changes nothing."""

    on: date | None = None
    area: str | None = None
    """Where, in the pack's words for areas of a status; elsewhere all species count alike before anything is seen.

    ``None`` takes the first status that the pack tells.
    """
    length_mm: Range | None = None
    """Body length with its 90 % interval; its upper end is infinite where nobody said how far the body was turned."""
    group: Group | None = None
    sex: Sex = Sex.ANY
    answers: tuple[Answer, ...] = ()
    colours: Mapping[str, float] = field(default_factory=dict)
    """Share of the body by colour name; names are those of the body's characters in the pack."""
    doing: frozenset[MomentKind] = frozenset()
    nearby: Nearby | None = None
    """What is known of the place, by `stillwing.records.nearby.nearby` and the same pack."""
    length_wrong: float = LINE_WRONG
    """Chance that the length has nothing to do with the animal, above 0 and below 1."""
    colours_wrong: float = LINE_WRONG
    """The same of the colours."""


def chance_wrong(answer: Answer, character: Character) -> float:
    """Return the chance that an answer is wrong, its own or the usual one."""
    return CHANCE_WRONG[character.shows] if answer.chance_wrong is None else answer.chance_wrong


def colour_names(region: Region) -> tuple[str, ...]:
    """Return the colours that a body can have in a pack; empty where its characters tell of none."""
    told = (character for character in region.characters if character.key in BODY_COLOURS)
    return tuple(dict.fromkeys(state for character in told for state in character.states))


def check_seen(region: Region, seen: Seen) -> None:
    """Refuse what cannot have been seen, or what the pack has no word for.

    Raises
    ------
    UnknownThing
        If a character, a state, a colour or a species recorded nearby is not in the pack.
    InputError
        If a length, a chance or a share lies outside what it can be, or a character is answered twice.
    """
    if seen.length_mm is not None:
        _check_length(seen.length_mm)
    for what, wrong in {"a wrong length": seen.length_wrong, "wrong colours": seen.colours_wrong}.items():
        if not 0 < wrong < 1:
            raise InputError(f"the chance of {what} is {wrong:g}; it lies between 0 and 1, neither is certain")
    if seen.group is Group.BIRD:
        raise InputError("a bird was given; a pack lists dragonflies and damselflies")
    characters = {character.key: character for character in region.characters}
    for answer in seen.answers:
        _check_answer(answer, characters)
    if len({answer.character for answer in seen.answers}) < len(seen.answers):
        raise InputError("a character is answered twice; name all its states in one answer")
    _check_colours(seen.colours, colour_names(region))
    if seen.nearby is not None:
        _check_nearby(seen.nearby, {species.scientific_name for species in region.species})


def _check_length(length_mm: Range) -> None:
    low, likely, high = length_mm
    if not (SHORTEST_MM / 2 <= low <= likely <= high and likely <= LONGEST_MM):
        raise InputError(
            f"the length is {likely:g} mm, between {low:g} and {high:g} mm; it rises in that order from "
            f"{SHORTEST_MM / 2:g} mm, and the middle one ends at {LONGEST_MM:g} mm"
        )


def _check_answer(answer: Answer, characters: Mapping[str, Character]) -> None:
    if answer.character not in characters:
        raise UnknownThing(f'no character is called "{answer.character}"; there are {"; ".join(characters)}')
    allowed = characters[answer.character].states
    strange = [state for state in answer.states if state not in allowed]
    if strange:
        raise UnknownThing(f'{answer.character} is never "{strange[0]}"; it is {"; ".join(allowed)}')
    if not answer.states or len(set(answer.states)) < len(answer.states):
        raise InputError(f"{answer.character} has {len(answer.states)} states; name one or more, each once")
    wrong = answer.chance_wrong
    if wrong is not None and not LEAST_WRONG <= wrong <= MOST_WRONG:
        raise InputError(f"the chance to err is {wrong:g}; it lies between {LEAST_WRONG:g} and {MOST_WRONG:g}")


def _check_colours(colours: Mapping[str, float], allowed: tuple[str, ...]) -> None:
    if colours and not allowed:
        raise InputError(f"the pack has neither {' nor '.join(BODY_COLOURS)}; leave the colours of the body out")
    strange = [name for name in colours if name not in allowed]
    if strange:
        raise UnknownThing(f'no body in the pack is "{strange[0]}"; the colours are {"; ".join(allowed)}')
    shares = list(colours.values())
    if not all(math.isfinite(share) and share >= 0 for share in shares) or sum(shares) > ALL_SHARES:
        raise InputError(f"the shares of colours sum to {sum(shares):g}; each is 0 or more, and all are 1 at most")


def _check_nearby(known: Nearby, names: set[str]) -> None:
    strange = sorted({*known.counts, *known.listed} - names)
    if strange:
        raise UnknownThing(f'the records nearby are of "{strange[0]}", which the pack does not have; ask the same pack')
    fewest = min(known.counts.values(), default=1)
    if fewest < 1:
        raise InputError(f"a species nearby has {fewest} records; name those with 1 or more alone")
