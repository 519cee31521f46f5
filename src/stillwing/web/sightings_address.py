"""The addresses of the pages of sightings, and which sightings an address means."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from urllib.parse import urlencode
from uuid import UUID

from stillwing.errors import InputError
from stillwing.records.filing import Selection

__all__ = ["AskedList", "asked_list", "list_href", "selection_of", "sighting_href"]

WHOLE = re.compile(r"(?a)\d{1,9}")


@dataclass(frozen=True, slots=True)
class AskedList:
    """What the list is narrowed to, as an address tells it; nothing where empty."""

    outing: str = ""
    year: str = ""
    name: str = ""
    verified: str = ""
    first: str = ""
    """Place of the first one shown, from 1."""


def asked_list(sent: Mapping[str, object]) -> AskedList:
    """Return what an address or a form asks for."""
    return AskedList(**{one.name: str(sent.get(one.name, "")).strip() for one in fields(AskedList)})


def list_href(asked: AskedList, anchor: str = "", **changed: str) -> str:
    """Return the list's address, some of what is asked for changed.

    Examples
    --------
    >>> list_href(AskedList(year="2024", first="51"), year="", name="Aeshna grandis", first="")
    '/sightings?name=Aeshna+grandis'
    """
    now = replace(asked, **changed)
    told = {one.name: value for one in fields(AskedList) if (value := getattr(now, one.name))}
    return f"/sightings{'?' if told else ''}{urlencode(told)}{anchor}"


def selection_of(asked: AskedList) -> Selection:
    """Return which sightings are meant.

    Raises
    ------
    InputError
        If an outing or a year is no whole number.
    """
    return Selection(
        whole("the outing", asked.outing), whole("the year", asked.year), asked.name or None, bool(asked.verified)
    )


def sighting_href(sighting_id: UUID) -> str:
    """Return the page of one sighting."""
    return f"/sightings/{sighting_id}"


def whole(what: str, typed: str) -> int | None:
    """Return a whole number of an address; ``None`` where it tells none. Raises `InputError` for anything else."""
    if not typed:
        return None
    if not WHOLE.fullmatch(typed):
        raise InputError(f"{what} is {typed!r}; it is a whole number")
    return int(typed)
