"""The form that gives sightings away: what was typed, and the file that it makes."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime

from stillwing.errors import InputError
from stillwing.fieldbook.sightings import KeptSighting
from stillwing.records.coarsening import COARSE_SIDE_M
from stillwing.records.darwin_core import darwin_core_archive, simple_darwin_core
from stillwing.records.darwinmeta import Dataset
from stillwing.web.settings_form import FieldError

__all__ = ["KINDS", "LICENCES", "SQUARES", "GivenFile", "TypedGiving", "given_file", "typed_giving"]

KINDS = {"archive": "Darwin Core Archive (zip)", "csv": "Simple Darwin Core (CSV)"}
SQUARES = {"1000": "1 km", "2000": "2 km", "10000": "10 km", "100000": "100 km"}
"""By their sides in m; that of 2 km is written in the grids of Britain and Ireland alone."""

LICENCES = tuple(
    f"https://creativecommons.org/{path}/"
    for path in ("publicdomain/zero/1.0", "licenses/by/4.0", "licenses/by-nc/4.0")
)
"""Offered to pick from; any web address will do."""


@dataclass(frozen=True, slots=True)
class TypedGiving:
    """What stands in the fields."""

    kind: str = "archive"
    square: str = str(COARSE_SIDE_M)
    exact: str = ""
    """yes where it is ticked."""
    title: str = "Sightings"
    description: str = "Sightings from a field book"
    contact: str = ""
    licence: str = ""


@dataclass(frozen=True, slots=True)
class GivenFile:
    """A file to hand over."""

    content: bytes
    suffix: str
    media_type: str


def typed_giving(sent: Mapping[str, object]) -> TypedGiving:
    """Return the fields as a form sent them."""
    known = {one.name: str(sent[one.name]).strip() for one in fields(TypedGiving) if one.name in sent}
    return replace(TypedGiving(), **known)


def given_file(typed: TypedGiving, kept: Sequence[KeptSighting]) -> GivenFile:
    """Return sightings as the file that was asked for.

    Raises
    ------
    FieldError
        If a field cannot be used; the sentence says what would be right.
    InputError
        If there are no sightings, or a place cannot be made coarser so.
    """
    if not kept:
        raise InputError("no such sighting is kept, so there is nothing to give away")
    found = [one.sighting for one in kept]
    side_m = _side_m(typed)
    if typed.kind == "csv":
        return GivenFile(simple_darwin_core(found, coarse_side_m=side_m), ".csv", "text/csv; charset=utf-8")
    if typed.kind != "archive":
        raise FieldError("kind", f"{typed.kind!r} is no kind of file; it is one of {', '.join(KINDS)}")
    return GivenFile(darwin_core_archive(found, _dataset(typed), coarse_side_m=side_m), ".zip", "application/zip")


def _side_m(typed: TypedGiving) -> int | None:
    if typed.exact:
        return None
    if typed.square not in SQUARES:
        raise FieldError("square", f"{typed.square!r} is no square; it is one of {', '.join(SQUARES)} m")
    return int(typed.square)


def _dataset(typed: TypedGiving) -> Dataset:
    for name in ("title", "description", "contact", "licence"):
        if not getattr(typed, name):
            raise FieldError(name, f"an archive tells its {name}; write it, or take the CSV, which has no such part")
    today = datetime.now().astimezone().date()
    try:
        return Dataset(typed.title, typed.description, typed.contact, typed.licence, today)
    except InputError as error:
        raise FieldError("licence" if "licence" in str(error) else _blamed(typed), str(error)) from error


def _blamed(typed: TypedGiving) -> str:
    """Return the field that holds what cannot be printed."""
    return next(name for name in ("title", "description", "contact") if not getattr(typed, name).isprintable())
