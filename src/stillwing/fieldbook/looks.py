"""What a person said of the animal of one burst, that no measurement tells: kept until they say something else."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.dialects.sqlite import insert

from stillwing.animals.catalogue import Group
from stillwing.errors import FieldBookError, InputError, UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.pieces import pieces

__all__ = ["SEXES", "BodyEnds", "Look", "groups_of_bursts", "keep_look", "list_picked_last", "look_of"]

SEXES = ("any", "male", "female")
"""What may be said of the sex; any where nobody said."""
MOST_TILT_DEG = 80.0
"""Beyond it a body points at the camera, and its length cannot be seen."""


@dataclass(frozen=True, slots=True)
class BodyEnds:
    """Front of the head and end of the body in one frame, as (x, y). [px of the upright original]"""

    frame_id: int
    head_px: tuple[float, float]
    tail_px: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Look:
    """What was said of one animal; what nobody said stays as it is here.

    Raises
    ------
    InputError
        If a word for the sex is none of `SEXES`, or the tilt lies outside 0 to 80 degrees.
    """

    region: str = ""
    """Key of the list of species; empty where none was picked."""
    group: Group | None = None
    sex: str = "any"
    answers: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Each character that was answered, with the states that were seen."""
    frame_id: int | None = None
    """The frame to measure; ``None`` leaves the choice to the tool."""
    ends: BodyEnds | None = None
    most_tilt_deg: float | None = None
    """The most that the body is turned out of the focal plane, where somebody said. [deg]"""
    counts_length: bool = True
    counts_colours: bool = True

    def __post_init__(self) -> None:
        if self.sex not in SEXES:
            raise InputError(f'the sex is "{self.sex}"; it is {", ".join(SEXES)}')
        if self.most_tilt_deg is not None and not 0 <= self.most_tilt_deg <= MOST_TILT_DEG:
            raise InputError(f"a tilt of {self.most_tilt_deg:g}° was given; it lies between 0 and {MOST_TILT_DEG:g}°")

    def answered(self, character: str, states: tuple[str, ...]) -> "Look":
        """Return the look with one character answered anew; no states take the answer back."""
        others = tuple(answer for answer in self.answers if answer[0] != character)
        return replace(self, answers=(*others, (character, states)) if states else others)


def look_of(book: FieldBook, burst_id: int) -> Look:
    """Return what was said of the animal of a burst; an empty look where nothing was.

    Raises
    ------
    UnknownThing
        If there is no such burst.
    FieldBookError
        If what is stored cannot be read.
    """
    burst, table = schema.burst, schema.burst_look
    query = select(burst.c.id, table.c.document).outerjoin(table, table.c.burst_id == burst.c.id)
    with book.reading() as connection:
        row = connection.execute(query.where(burst.c.id == burst_id)).one_or_none()
    if row is None:
        raise UnknownThing(f"the field book holds no burst number {burst_id}")
    return Look() if row.document is None else _read(burst_id, row.document)


def groups_of_bursts(book: FieldBook, burst_ids: Sequence[int]) -> dict[int, Group]:
    """Return the group that a person picked for each of some bursts; bursts of which nobody said one are left out.

    Raises
    ------
    FieldBookError
        If what is stored cannot be read.
    """
    table = schema.burst_look
    found: dict[int, Group] = {}
    with book.reading() as connection:
        for some in pieces(burst_ids):
            for row in connection.execute(select(table.c.burst_id, table.c.document).where(table.c.burst_id.in_(some))):
                group = _read(row.burst_id, row.document).group
                if group is not None:
                    found[row.burst_id] = group
    return found


def keep_look(book: FieldBook, burst_id: int, look: Look) -> None:
    """Keep what is said of the animal of a burst, in place of what was said before.

    Raises
    ------
    UnknownThing
        If there is no such burst.
    """
    burst, table = schema.burst, schema.burst_look
    with book.writing() as connection:
        if connection.execute(select(burst.c.id).where(burst.c.id == burst_id)).one_or_none() is None:
            raise UnknownThing(f"the field book holds no burst number {burst_id}")
        if look == Look():
            connection.execute(table.delete().where(table.c.burst_id == burst_id))
            return
        values = {"document": _written(look), "changed_at": datetime.now(UTC).isoformat()}
        put = insert(table).values(burst_id=burst_id, **values)
        connection.execute(put.on_conflict_do_update(index_elements=["burst_id"], set_=values))


def list_picked_last(book: FieldBook) -> str:
    """Return the key of the list of species that was picked last for any burst; empty where none was.

    Raises
    ------
    FieldBookError
        If what is stored cannot be read.
    """
    table = schema.burst_look
    query = select(table.c.burst_id, table.c.document).order_by(table.c.changed_at.desc(), table.c.burst_id.desc())
    with book.reading() as connection:
        for row in connection.execute(query):
            picked = _read(row.burst_id, row.document).region
            if picked:
                return picked
    return ""


def _written(look: Look) -> str:
    ends = look.ends
    told = {name: getattr(look, name) for name in Look.__slots__ if name != "ends"}
    told["ends"] = None if ends is None else [ends.frame_id, *ends.head_px, *ends.tail_px]
    return json.dumps(told, ensure_ascii=False, sort_keys=True)


def _read(burst_id: int, document: str) -> Look:
    try:
        told: dict[str, Any] = json.loads(document)
        ends, group = told["ends"], told["group"]
        read = {
            **told,
            "group": None if group is None else Group(group),
            "answers": tuple((character, tuple(states)) for character, states in told["answers"]),
            "ends": None if ends is None else BodyEnds(ends[0], (ends[1], ends[2]), (ends[3], ends[4])),
        }
        return Look(**read)
    except (KeyError, IndexError, ValueError, TypeError, InputError) as error:
        raise FieldBookError(f"what was said of burst number {burst_id} cannot be used: {error}") from error
