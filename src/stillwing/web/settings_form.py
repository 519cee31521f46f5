"""The form of the Settings page: what was typed, kept as it was typed, and the question that it asks."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from urllib.parse import urlencode

from stillwing.animals.catalogue import animal_named, read_catalogue
from stillwing.animals.subjects import SQUARE_ON_DEG
from stillwing.errors import InputError
from stillwing.fieldbook.asking import Asked, kit_asked
from stillwing.fieldbook.book import FieldBook
from stillwing.frames.sharpfor import DEFAULT_SHARP_FOR, parse_sharp_for
from stillwing.optics.engraved import read_exposure, read_f_number
from stillwing.optics.light import light_of
from stillwing.optics.question import HAND_HELD_DEG_S
from stillwing.optics.subject import Behaviour

__all__ = ["FieldError", "Typed", "address", "asked_of", "blamed", "chosen_of", "typed_in"]

LONGEST_TYPED = 120
_DIGITS = r"\d{1,9}(?:[.,]\d{0,9})?|[.,]\d{1,9}"
_NUMBER = re.compile(rf"({_DIGITS})")
_FAR = re.compile(rf"({_DIGITS})\s*(m|%)?")


class FieldError(InputError):
    """One field of the form cannot be used."""

    def __init__(self, field: str, sentence: str) -> None:
        super().__init__(sentence)
        self.field = field


@dataclass(frozen=True, slots=True)
class Typed:
    """What stands in the fields. An optional one that is empty leaves its figure to what is usual."""

    animal: str = "75 mm hawker"
    behaviour: str = Behaviour.HOVER.value
    far: str = "3 m"
    """A distance in metres, or a size in percent of the frame."""
    light: str = "sun"
    kit: str = ""
    focal_length_mm: str = ""
    sharp_for: str = DEFAULT_SHARP_FOR
    wings_too: str = ""
    angle_deg: str = f"{SQUARE_ON_DEG:g}"
    following_percent: str = ""
    shake_deg_s: str = f"{HAND_HELD_DEG_S:g}"
    f_number: str = ""
    """Of the point that is looked at, as is the next."""
    exposure: str = ""


def typed_in(sent: Mapping[str, object]) -> Typed:
    """Return the fields as an address or a form sent them; those that it lacks are as on the empty page."""
    known = {field.name: str(sent[field.name]).strip() for field in fields(Typed) if field.name in sent}
    return replace(Typed(), **known)


def address(typed: Typed) -> str:
    """Return the page's address for what was typed, without what stands there anyway."""
    plain = Typed()
    told = {
        field.name: getattr(typed, field.name)
        for field in fields(Typed)
        if getattr(typed, field.name) != getattr(plain, field.name)
    }
    return f"/settings?{urlencode(told)}" if told else "/settings"


def asked_of(typed: Typed) -> Asked:
    """Return the question.

    Raises
    ------
    FieldError
        If a field cannot be read; the sentence says what came and what would be right.
    """
    for field in fields(Typed):
        length = len(getattr(typed, field.name))
        if length > LONGEST_TYPED:
            raise FieldError(field.name, f"one field holds {length} characters; {LONGEST_TYPED} are the most")
    if not typed.animal:
        raise FieldError("animal", "name an animal, such as hawker or 35 mm damselfly")
    distance_m, size_percent = _far(typed.far)
    return Asked(
        typed.animal,
        _behaviour(typed.behaviour),
        typed.light or Typed().light,
        distance_m,
        size_percent,
        typed.kit or None,
        _number("focal_length_mm", typed.focal_length_mm, "the focal length", "mm, such as 300"),
        typed.sharp_for or DEFAULT_SHARP_FOR,
        bool(typed.wings_too),
        _or_else(_number("angle_deg", typed.angle_deg, "the angle", "degrees, such as 15"), SQUARE_ON_DEG),
        _number("following_percent", typed.following_percent, "the motion left", "percent, such as 15"),
        _or_else(
            _number("shake_deg_s", typed.shake_deg_s, "the shake", "degrees a second, such as 0.4"), HAND_HELD_DEG_S
        ),
    )


def chosen_of(typed: Typed) -> tuple[float, float] | None:
    """Return f-number and exposure [s] of the point that is looked at; ``None`` for the solver's own."""
    if not typed.f_number and not typed.exposure:
        return None
    return read_f_number(typed.f_number), read_exposure(typed.exposure)


def blamed(book: FieldBook, asked: Asked) -> str | None:
    """Return the field that a question fails for; ``None`` where it is no single one."""
    parts: dict[str, Callable[[], object]] = {
        "kit": lambda: kit_asked(book, asked.kit),
        "animal": lambda: animal_named(read_catalogue(), asked.animal),
        "light": lambda: light_of(asked.light),
        "sharp_for": lambda: parse_sharp_for(asked.sharp_for),
    }
    for field, part in parts.items():
        try:
            part()
        except InputError:
            return field
    return None


def _behaviour(typed: str) -> Behaviour:
    try:
        return Behaviour(typed)
    except ValueError as error:
        known = ", ".join(Behaviour)
        raise FieldError("behaviour", f"{typed!r} is not what an animal does here; it is one of {known}") from error


def _far(typed: str) -> tuple[float | None, float | None]:
    match = _FAR.fullmatch(typed)
    if match is None:
        raise FieldError("far", f"{typed!r} is neither a distance nor a size; write 3 m, or 25 % of the frame")
    value = float(match[1].replace(",", "."))
    if value == 0:
        raise FieldError("far", f"{typed!r} is nothing; write a distance such as 3 m, or a size such as 25 %")
    return (None, value) if match[2] == "%" else (value, None)


def _number(field: str, typed: str, what: str, right: str) -> float | None:
    if not typed:
        return None
    match = _NUMBER.fullmatch(typed)
    if match is None:
        raise FieldError(field, f"{what} is {typed!r}; write {right}")
    return float(match[1].replace(",", "."))


def _or_else(value: float | None, usual: float) -> float:
    return usual if value is None else value
