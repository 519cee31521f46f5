"""The record that the form of one sighting makes."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from enum import StrEnum
from typing import Any, TypeVar

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightingtime import When, read_when
from stillwing.fieldbook.sightingwords import Basis, Doing, Establishment, LifeStage, SightedSex, Verification
from stillwing.records.filing import KnownNames, is_scientific
from stillwing.web.sightings_fields import AS_TOLD, FieldsTold, TypedSighting, WrongFields
from stillwing.web.sightings_place import where_typed

__all__ = ["PLAIN", "sighting_typed"]

Word = TypeVar("Word", bound=StrEnum)

WHOLE = re.compile(r"(?a)\d{1,9}")
PLAIN = Sighting("Animalia", When(date(2000, 1, 1)), Where(name="anywhere"))
"""A record in which one part at a time is tried, so that a mistake is told beside its own field."""


def sighting_typed(typed: TypedSighting, shown: TypedSighting, base: Sighting, names: KnownNames) -> Sighting:
    """Return the record that was typed.

    Parameters
    ----------
    typed, shown : TypedSighting
        What was typed, and what stood in the fields before.
    base : Sighting
        The record that the form was filled from. What the form does not show is taken from it, and a place or a name
        that was not changed leaves its part as it was.
    names : KnownNames
        For English names, and for why a record had better be sensitive.

    Raises
    ------
    WrongFields
        If any field cannot be used; each is told.
    """
    told = FieldsTold(typed, shown)
    name, written = told.take("name", lambda: _name(typed, base, names), (base.scientific_name, ""))
    parts = _parts(told, written)
    parts["scientific_name"] = name
    parts["when"] = told.take("when", lambda: _when(typed.when), base.when)
    parts["where"] = where_typed(told, base.where)
    parts["sensitive"] = told.take("sensitive", lambda: _sensitive(typed.sensitive), False)
    _compare(told, parts)
    if told.sentences:
        raise WrongFields(told.sentences)
    made = replace(base, **parts)
    return names.marked(made) if typed.sensitive == AS_TOLD else made


def _parts(told: FieldsTold, written: str) -> dict[str, Any]:
    """Return the parts that stand by themselves, each tried alone."""
    typed = told.typed
    made: dict[str, Callable[[], object]] = {
        "name_as_written": lambda: typed.name_as_written or written,
        "qualifier": lambda: typed.qualifier,
        "count": lambda: _count(typed.count),
        "sexes": lambda: tuple(_word(SightedSex, word) for word in typed.sexes),
        "stage": lambda: _word(LifeStage, typed.stage) if typed.stage else None,
        "doing": lambda: tuple(_word(Doing, word) for word in typed.doing),
        "pictures": lambda: typed.pictures,
        "recorded_by": lambda: _lines(typed.recorded_by),
        "identified_by": lambda: _lines(typed.identified_by),
        "remarks": lambda: typed.remarks,
        "licence": lambda: typed.licence,
        "basis": lambda: _word(Basis, typed.basis),
        "establishment": lambda: _word(Establishment, typed.establishment) if typed.establishment else None,
    }
    parts = {name: told.take(name, _tried(name, make), getattr(PLAIN, name)) for name, make in made.items()}
    verification = told.take("verification", lambda: _word(Verification, typed.verification), PLAIN.verification)
    return parts | {"verification": verification}


def _compare(told: FieldsTold, parts: dict[str, Any]) -> None:
    """Note what contradicts itself: animals that were not seen cannot do anything, nobody verifies nothing."""
    together: dict[str, Any] = {name: parts[name] for name in ("count", "sexes", "stage", "doing")}
    told.take("count", lambda: replace(PLAIN, **together), PLAIN)
    people: dict[str, Any] = {name: parts[name] for name in ("verification", "identified_by")}
    told.take("identified_by", lambda: replace(PLAIN, **people), PLAIN)


def _tried(name: str, make: Callable[[], object]) -> Callable[[], object]:
    def tried() -> object:
        part: dict[str, Any] = {name: make()}
        replace(PLAIN, **part)
        return part[name]

    return tried


def _name(typed: TypedSighting, base: Sighting, names: KnownNames) -> tuple[str, str]:
    """Return the scientific name, and the name as it was written where that is another."""
    if typed.name == base.scientific_name:
        return typed.name, ""
    name = names.scientific(typed.name)
    if name and name not in names.species and not is_scientific(name):
        raise InputError(
            f'no list of species knows "{name}", and it is not written as a scientific name is, such as Aeshna'
        )
    replace(PLAIN, scientific_name=name)
    return name, typed.name if name.casefold() != typed.name.casefold() else ""


def _when(typed: str) -> When:
    if not typed:
        raise InputError("the time is missing; write at least the day, such as 2024-07-06")
    return read_when(typed)


def _sensitive(typed: str) -> bool:
    if typed not in (AS_TOLD, "yes", "no"):
        raise InputError(f"{typed!r} is none of {AS_TOLD}, yes and no")
    return typed == "yes"


def _count(typed: str) -> int | None:
    if not typed:
        return None
    if not WHOLE.fullmatch(typed):
        raise InputError(f"{typed!r} is no number of animals; write one such as 3, 0 for none found, or nothing")
    return int(typed)


def _word(words: type[Word], typed: str) -> Word:
    try:
        return words(typed)
    except ValueError as error:
        raise InputError(f"{typed!r} is none of {', '.join(words)}") from error


def _lines(typed: str) -> tuple[str, ...]:
    # Not splitlines: a name may hold signs that Python takes for ends of lines, and a browser sends only these two.
    return tuple(line.strip() for line in re.split(r"\r?\n", typed) if line.strip())
