"""The fields of the form of one sighting: what it shows of a record, what was typed, and what is wrong with it."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from decimal import Decimal
from typing import Any, TypeVar

from starlette.datastructures import FormData

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting
from stillwing.fieldbook.sightingwords import Basis, Verification
from stillwing.records.filing import KnownNames
from stillwing.web.settings_form import FieldError

__all__ = ["FieldsTold", "TypedSighting", "WrongFields", "as_typed", "figure", "typed_sighting"]

T = TypeVar("T")

LISTS = ("sexes", "doing", "pictures")
"""Fields of ticks."""
LONGEST_TYPED = 10_000
AS_TOLD = "packs"
"""Of the field sensitive: marked so where a pack tells a reason; yes and no are the person's own word."""


class WrongFields(InputError):
    """Fields that cannot be used: a sentence each, by the field's name."""

    def __init__(self, sentences: Mapping[str, str]) -> None:
        super().__init__("; ".join(sentences.values()))
        self.sentences = sentences


@dataclass(frozen=True, slots=True)
class TypedSighting:
    """What stands in the fields; names of people stand one on a line."""

    name: str = ""
    name_as_written: str = ""
    qualifier: str = ""
    when: str = ""
    where: str = ""
    uncertainty_m: str = ""
    place_name: str = ""
    count: str = ""
    sexes: tuple[str, ...] = ()
    stage: str = ""
    doing: tuple[str, ...] = ()
    pictures: tuple[str, ...] = ()
    recorded_by: str = ""
    identified_by: str = ""
    verification: str = Verification.UNVERIFIED.value
    remarks: str = ""
    licence: str = ""
    basis: str = Basis.PERSON.value
    establishment: str = ""
    sensitive: str = AS_TOLD


def as_typed(sighting: Sighting, names: KnownNames) -> TypedSighting:
    """Return what the form shows of a record."""
    where = sighting.where
    # Not sensitive though a pack tells a reason: somebody said so, and it stays their word.
    own_word = "no" if names.why_sensitive(sighting.scientific_name, where) else AS_TOLD
    return TypedSighting(
        name=sighting.scientific_name,
        name_as_written=sighting.name_as_written,
        qualifier=sighting.qualifier,
        when=sighting.when.iso,
        where="" if where.latitude is None else f"{figure(where.latitude)}, {figure(where.longitude)}",
        uncertainty_m=figure(where.uncertainty_m),
        place_name=where.name,
        count="" if sighting.count is None else str(sighting.count),
        sexes=sighting.sexes,
        stage=sighting.stage or "",
        doing=sighting.doing,
        pictures=sighting.pictures,
        recorded_by="\n".join(sighting.recorded_by),
        identified_by="\n".join(sighting.identified_by),
        verification=sighting.verification,
        remarks=sighting.remarks,
        licence=sighting.licence,
        basis=sighting.basis,
        establishment=sighting.establishment or "",
        sensitive="yes" if sighting.sensitive else own_word,
    )


def typed_sighting(sent: FormData) -> TypedSighting:
    """Return the fields as a form sent them."""
    ticks: dict[str, Any] = {name: tuple(_words(sent.getlist(name))) for name in LISTS}
    lines: dict[str, Any] = {
        one.name: value.strip()
        for one in fields(TypedSighting)
        if one.name not in LISTS and isinstance(value := sent.get(one.name), str)
    }
    # A browser leaves out what is not ticked, so that an absent list is an empty one.
    return replace(TypedSighting(), **lines, **ticks)


@dataclass(frozen=True, slots=True)
class FieldsTold:
    """What was typed, what stood there before, and the sentences on what cannot be used."""

    typed: TypedSighting
    shown: TypedSighting
    sentences: dict[str, str] = field(default_factory=dict)

    def take(self, name: str, make: Callable[[], T], otherwise: T) -> T:
        """Return what ``make`` makes of a field, or ``otherwise`` with the reason noted."""
        try:
            if len(str(getattr(self.typed, name))) > LONGEST_TYPED:
                raise InputError(f"this holds more than {LONGEST_TYPED} characters")
            return make()
        except FieldError as error:
            self.sentences.setdefault(error.field, str(error))
        except InputError as error:
            self.sentences.setdefault(name, str(error))
        return otherwise


def _words(values: Iterable[object]) -> list[str]:
    return [value for value in values if isinstance(value, str)]


def figure(value: float | None) -> str:
    """Return a number as it is typed: all its digits, and no exponent."""
    if value is None:
        return ""
    text = format(Decimal(repr(float(value))), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
