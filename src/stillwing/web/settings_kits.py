"""Kits on the Settings page: the list, the form that adds one, and what using and removing one does."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.kits import EXAMPLE_KIT, kit_named, kits, save_kit
from stillwing.optics.engraved import read_exposure
from stillwing.optics.kit import Kit
from stillwing.optics.kitparts import TYPICAL, KitParts, put_together

__all__ = ["KIT_FIELDS", "KitField", "KitLine", "KitsPart", "add_kit", "kits_part"]


@dataclass(frozen=True, slots=True)
class KitField:
    """One field of the form that adds a kit."""

    name: str
    """Of `KitParts`."""
    words: str
    unit: str
    example: str
    is_needed: bool = False
    kind: str = "number"
    """number, whole or seconds."""


KIT_FIELDS = (
    KitField("sensor_width_mm", "sensor, width", "mm", "17.4", True),
    KitField("sensor_height_mm", "sensor, height", "mm", "13.0", True),
    KitField("width_px", "picture, width", "px", "5184", True, "whole"),
    KitField("height_px", "picture, height", "px", "3888", True, "whole"),
    KitField("shortest_mm", "shortest focal length", "mm", "75", True),
    KitField("longest_mm", "longest focal length", "mm", "300", True),
    KitField("widest_at_shortest", "widest aperture at the shortest", "f/", "4.8", True),
    KitField("widest_at_longest", "widest aperture at the longest", "f/", "6.7", True),
    KitField("narrowest", "narrowest aperture", "f/", "22"),
    KitField("closest_focus_m", "closest focus, from the sensor", "m", "1.3"),
    KitField("largest_magnification", "largest magnification", "times", "0.25"),
    KitField("teleconverter", "teleconverter", "times", "1.4"),
    KitField("frames_per_s", "burst", "frames/s", "18"),
    KitField("look_back_s", "look-back buffer", "s", "0.5", kind="seconds"),
    KitField("readout_s", "read-out, first row to last", "s", "1/60", kind="seconds"),
    KitField("lowest_iso", "lowest ISO", "", "200"),
    KitField("highest_iso", "highest ISO", "", "25600"),
    KitField("shortest_s", "shortest exposure", "s", "1/8000", kind="seconds"),
)
NOT_TOLD = {
    "closest_focus_m": "not known",
    "largest_magnification": "not known",
    "teleconverter": "none",
    "look_back_s": "none",
}
"""What an empty field means where no typical figure stands in for it."""
_NUMBER = re.compile(r"\d{1,9}(?:[.,]\d{0,9})?|[.,]\d{1,9}")
_WHOLE = re.compile(r"\d{1,7}")


@dataclass(frozen=True, slots=True)
class KitLine:
    """One kit of the list."""

    name: str
    words: str
    is_standing: bool


@dataclass(frozen=True, slots=True)
class KitsPart:
    """The kits, and the form that adds one with what was typed into it."""

    stored: tuple[KitLine, ...]
    example: KitLine
    fields: tuple[KitField, ...]
    typical: Mapping[str, str]
    """What stands in for each field that is left empty, in words."""
    typed: Mapping[str, str]
    sentence: str | None
    """Why the kit was not stored."""


def kits_part(book: FieldBook, typed: Mapping[str, str] | None = None, sentence: str | None = None) -> KitsPart:
    """Return the list of kits and the form."""
    stored = kits(book)
    standing = kit_named(book).name if stored else None
    return KitsPart(
        tuple(_line(kit, kit.name == standing) for kit in stored),
        _line(EXAMPLE_KIT, standing is None),
        KIT_FIELDS,
        {field.name: _typical(field) for field in KIT_FIELDS},
        typed or {},
        sentence,
    )


def add_kit(book: FieldBook, sent: Mapping[str, object]) -> Kit:
    """Store the kit that a form sent, and return it.

    Raises
    ------
    InputError
        If a field cannot be read, one that is needed is empty, or the name is taken.
    """
    known: dict[str, Any] = {}
    for field in KIT_FIELDS:
        typed = str(sent.get(field.name, "")).strip()
        if typed:
            known[field.name] = _read(field, typed)
    name = str(sent.get("name", ""))
    if not name.strip():
        raise InputError("the kit has no name; give it one, such as long lens")
    return save_kit(book, put_together(name, KitParts(**known)).kit)


def _read(field: KitField, typed: str) -> float:
    if field.kind == "seconds" and re.fullmatch(r"0+(?:[.,]0*)?", typed):
        return 0.0  # no look-back buffer, or a shutter that opens all rows at once
    try:
        if field.kind == "seconds":
            return read_exposure(typed)
        return _figure(field, typed)
    except InputError as error:
        raise InputError(f"{field.words} is {typed!r}; write {_unit(field)}, such as {field.example}") from error


def _figure(field: KitField, typed: str) -> float:
    if field.kind == "whole":
        if _WHOLE.fullmatch(typed) is None:
            raise InputError("no whole number")
        return int(typed)
    if _NUMBER.fullmatch(typed) is None:
        raise InputError("no number")
    return float(typed.replace(",", "."))


def _unit(field: KitField) -> str:
    return {"f/": "the number after f/", "times": "a factor", "": "a number"}.get(field.unit, f"it in {field.unit}")


def _typical(field: KitField) -> str:
    if field.is_needed:
        return ""
    if field.name in NOT_TOLD:
        return NOT_TOLD[field.name]
    value = TYPICAL[field.name]
    return f"1/{1 / value:.0f}" if field.kind == "seconds" else f"{value:g}"


def _line(kit: Kit, is_standing: bool) -> KitLine:
    return KitLine(kit.name, kit.words, is_standing)
