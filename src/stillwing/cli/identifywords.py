"""What a person types of an animal: which list of species to ask, how long it is, what was seen of it."""

import math
import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from stillwing.errors import InputError
from stillwing.optics.subject import Range
from stillwing.records.pack import pack_folders, read_pack, region_named
from stillwing.records.region import Character, Region
from stillwing.records.seen import Answer, Seen, check_seen

__all__ = ["answers_asked", "day_asked", "length_asked", "region_asked"]

_FIGURE = r"(\d{1,4}(?:\.\d{0,6})?)"
_LENGTH = re.compile(rf"{_FIGURE}(?:([-–])(?:{_FIGURE})?)?(?:mm)?", re.ASCII)
_RIGHT = "write millimetres, such as 33-38, or 33- for at least 33"


def region_asked(words: str | None, remembered: str = "") -> Region:
    """Return the list of species that was named, by its key or as a folder of tables.

    Parameters
    ----------
    words : str or None
        As it was typed.
    remembered : str, default empty
        Key that was picked before, which stands where nothing is typed.

    Raises
    ------
    InputError
        If nothing tells which of several lists is meant.
    UnknownThing
        If there is no such list.
    BadTables
        If its tables hold mistakes.
    """
    known = pack_folders()
    asked = words or remembered
    if not asked and len(known) > 1:
        raise InputError(f"no list of species is named; name one with --region: {', '.join(known)}")
    if asked and asked not in known and Path(asked).is_dir():
        return read_pack(Path(asked))
    return region_named(asked or next(iter(known)))


def day_asked(words: str) -> date:
    """Return the day that was typed.

    Raises
    ------
    InputError
        If it is none.
    """
    try:
        return date.fromisoformat(words.strip())
    except ValueError as error:
        raise InputError(f"--date is {words!r}; write year, month and day, such as 2024-08-10") from error


def length_asked(words: str) -> Range:
    """Return a body length with its 90 % interval, from one figure, two, or one that is the least. [mm]

    Raises
    ------
    InputError
        If it is none of these.

    Examples
    --------
    >>> tuple(length_asked("33-38 mm")), tuple(length_asked("35")), tuple(length_asked("33-"))
    ((33.0, 35.5, 38.0), (35.0, 35.0, 35.0), (33.0, 33.0, inf))
    """
    match = _LENGTH.fullmatch(words.replace(" ", "").lower())
    if match is None:
        raise InputError(f"--length is {words!r}; {_RIGHT}")
    low, dash, high = float(match[1]), match[2], match[3]
    if not dash:
        return Range(low, low, low)
    if high is None:
        return Range(low, low, math.inf)
    return Range(low, (low + float(high)) / 2, float(high))


def answers_asked(region: Region, typed: Sequence[str]) -> tuple[Answer, ...]:
    """Return what was seen, each as CHARACTER=STATE or CHARACTER=STATE,STATE in the list's words.

    Capitals do not matter, and blanks may stand for underscores.

    Raises
    ------
    InputError
        If one has no ``=``, or a character is answered twice.
    UnknownThing
        If the list has no such character or state; the sentence tells which there are.

    Examples
    --------
    >>> from stillwing.records.pack import region_named
    >>> answers_asked(region_named("britain-and-ireland", own=Path("none")), ["Leg colour = black,pale"])
    (Answer(character='leg_colour', states=('black', 'pale'), chance_wrong=None),)
    """
    asked = {_plain(character.key): character for character in region.characters}
    answers = tuple(_answer(words, asked) for words in typed)
    check_seen(region, Seen(answers=answers))
    return answers


def _answer(words: str, asked: dict[str, Character]) -> Answer:
    name, sign, told = words.partition("=")
    if not sign:
        raise InputError(f'--seen is {words!r}; write a character and its state, such as "abdomen colour=red"')
    character = asked.get(_plain(name))
    if character is None:
        # The check that follows knows the words to refuse it with.
        return Answer(name.strip(), (told.strip(),))
    states = {_plain(state): state for state in character.states}
    parts = [told] if _plain(told) in states else told.split(",")
    return Answer(character.key, tuple(states.get(_plain(part), part.strip()) for part in parts))


def _plain(words: str) -> str:
    return " ".join(words.replace("_", " ").casefold().split())
