"""What the pages show: bursts in pieces, each as a trace over frame number; outlines and focus maps are not loaded."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import RowMapping, Select, and_, func, select

from stillwing.errors import UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.animals import blur_from
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import why
from stillwing.fieldbook.slips import SLIP_COLUMNS, slip_from
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur, Box, Origin, Slip

__all__ = [
    "BurstSummary",
    "BurstTrace",
    "Neighbours",
    "TraceAnimal",
    "TraceFrame",
    "burst_summaries",
    "frame_path",
    "neighbours",
    "trace",
    "traces",
]


@dataclass(frozen=True, slots=True)
class BurstSummary:
    """One burst in a few figures. ``n_keep`` to ``n_leave`` count standing choices, the person's before the tool's."""

    id: int
    name: str
    taken_at: datetime | None
    n_frames: int
    n_measured: int
    n_found: int
    n_by_hand: int
    n_keep: int
    n_spare: int
    n_leave: int
    sharpest_blur_px: float
    """Smallest blur of the best animal of any frame; NaN where none was measured."""


@dataclass(frozen=True, slots=True)
class TraceAnimal:
    """One animal in one frame of a trace, without its outline and focus map."""

    number: int
    """0 for the best of its frame."""
    track: int
    box: Box
    certainty: float
    origin: Origin
    blur: Blur | None
    size_in_frame: float
    edge_clipped: bool


@dataclass(frozen=True, slots=True)
class TraceFrame:
    """One frame of a trace."""

    id: int
    number: int
    """Place in the burst, from 0."""
    path: Path
    taken_at: datetime | None
    is_measured: bool
    from_preview: bool
    width_px: int | None
    """Of the upright original; ``None`` before it was measured where the tags do not tell."""
    height_px: int | None
    animals: tuple[TraceAnimal, ...]
    """Best first."""
    proposed: Choice | None
    reason: str
    usable_width_px: float
    by_hand: Choice | None
    """The person's choice."""
    drawn: Box | None
    """The person's box."""
    slip: Slip | None = None
    """How the camera turned since the frame before."""

    @property
    def choice(self) -> Choice | None:
        """What stands: the person's choice, else the proposal."""
        return self.by_hand or self.proposed

    @property
    def why(self) -> str:
        """Why that stands, in words; empty where nothing does."""
        return why(self.by_hand, self.proposed, self.reason)


@dataclass(frozen=True, slots=True)
class BurstTrace:
    """One burst as a series over frame number."""

    id: int
    name: str
    outing_id: int
    taken_at: datetime | None
    frames: tuple[TraceFrame, ...]


@dataclass(frozen=True, slots=True)
class Neighbours:
    """The bursts before and after one, in order of time, and its own place among all, from 0."""

    before: int | None
    after: int | None
    place: int
    n_bursts: int


def burst_summaries(book: FieldBook, outing_id: int, *, offset: int = 0, limit: int = 50) -> tuple[BurstSummary, ...]:
    """Return a piece of an outing's bursts, in order of time; `outings.counts` tells how many there are."""
    with book.reading() as connection:
        rows = connection.execute(summaries_query(outing_id, offset, limit))
        return tuple(
            BurstSummary(
                row.id,
                row.name,
                _when(row.taken_at),
                row.n_frames,
                row.n_measured,
                row.n_found,
                row.n_by_hand,
                row.n_keep,
                row.n_spare,
                row.n_leave,
                math.nan if row.sharpest_blur_px is None else row.sharpest_blur_px,
            )
            for row in rows
        )


def trace(book: FieldBook, burst_id: int) -> BurstTrace:
    """Return one burst as a trace. Raises `UnknownThing`."""
    return traces(book, [burst_id])[0]


def traces(book: FieldBook, burst_ids: Sequence[int]) -> tuple[BurstTrace, ...]:
    """Return several bursts as traces, in the order asked for. Raises `UnknownThing`."""
    burst = schema.burst
    frames: dict[int, list[TraceFrame]] = {burst_id: [] for burst_id in burst_ids}
    with book.reading() as connection:
        heads = {row.id: row for row in connection.execute(select(burst).where(burst.c.id.in_(burst_ids)))}
        for burst_id in burst_ids:
            if burst_id not in heads:
                raise UnknownThing(f"the field book holds no burst number {burst_id}")
        animals: dict[int, list[TraceAnimal]] = {}
        for found in connection.execute(trace_animals_query(burst_ids)).mappings():
            animals.setdefault(found["frame_id"], []).append(_trace_animal(found))
        for row in connection.execute(trace_frames_query(burst_ids)):
            frames[row.burst_id].append(_trace_frame(row, animals.get(row.id, [])))
    return tuple(
        BurstTrace(
            burst_id,
            heads[burst_id].name,
            heads[burst_id].outing_id,
            _when(heads[burst_id].taken_at),
            tuple(frames[burst_id]),
        )
        for burst_id in burst_ids
    )


def neighbours(book: FieldBook, burst_id: int) -> Neighbours:
    """Return the bursts before and after one, in order of time. Raises `UnknownThing`."""
    burst = schema.burst
    with book.reading() as connection:
        outing_id = connection.execute(select(burst.c.outing_id).where(burst.c.id == burst_id)).scalar_one_or_none()
        if outing_id is None:
            raise UnknownThing(f"the field book holds no burst number {burst_id}")
        order = list(
            connection.execute(
                select(burst.c.id).where(burst.c.outing_id == outing_id).order_by(burst.c.taken_at, burst.c.id)
            ).scalars()
        )
    place = order.index(burst_id)
    before = order[place - 1] if place > 0 else None
    after = order[place + 1] if place + 1 < len(order) else None
    return Neighbours(before, after, place, len(order))


def frame_path(book: FieldBook, frame_id: int) -> Path:
    """Return the file whose pixels stand for a frame. Raises `UnknownThing`."""
    frame = schema.frame
    with book.reading() as connection:
        path: Path | None = connection.execute(select(frame.c.path).where(frame.c.id == frame_id)).scalar_one_or_none()
    if path is None:
        raise UnknownThing(f"the field book holds no frame number {frame_id}")
    return path


def summaries_query(outing_id: int, offset: int, limit: int) -> Select[Any]:
    """Return the query behind `burst_summaries`."""
    burst, member, measured = schema.burst, schema.burst_frame, schema.measurement
    animal, person, proposal = schema.animal, schema.person_choice, schema.proposal
    piece = (
        select(burst.c.id, burst.c.name, burst.c.taken_at)
        .where(burst.c.outing_id == outing_id)
        .order_by(burst.c.taken_at, burst.c.id)
        .limit(limit)
        .offset(offset)
        .subquery()
    )
    stands = func.coalesce(person.c.choice, proposal.c.choice)
    return (
        select(
            piece,
            func.count(member.c.frame_id).label("n_frames"),
            func.count(measured.c.frame_id).label("n_measured"),
            func.count(animal.c.frame_id).label("n_found"),
            func.count(person.c.frame_id).label("n_by_hand"),
            func.count().filter(stands == "keep").label("n_keep"),
            func.count().filter(stands == "spare").label("n_spare"),
            func.count().filter(stands == "leave").label("n_leave"),
            func.min(animal.c.blur_px).label("sharpest_blur_px"),
        )
        .select_from(piece)
        .join(member, member.c.burst_id == piece.c.id)
        .outerjoin(measured, measured.c.frame_id == member.c.frame_id)
        .outerjoin(animal, and_(animal.c.frame_id == member.c.frame_id, animal.c.number == 0))
        .outerjoin(person, person.c.frame_id == member.c.frame_id)
        .outerjoin(proposal, and_(proposal.c.outing_id == outing_id, proposal.c.frame_id == member.c.frame_id))
        .group_by(piece.c.id)
        .order_by(piece.c.taken_at, piece.c.id)
    )


def trace_frames_query(burst_ids: Sequence[int]) -> Select[Any]:
    """Return the query for the frames of `traces`."""
    member, frame, measured = schema.burst_frame, schema.frame, schema.measurement
    person, proposal, drawn = schema.person_choice, schema.proposal, schema.drawn_box
    return (
        select(
            frame.c.id,
            member.c.burst_id,
            member.c.number,
            frame.c.path,
            frame.c.taken_at,
            measured.c.frame_id.label("measured_id"),
            measured.c.from_preview,
            *SLIP_COLUMNS,
            func.coalesce(measured.c.width_px, frame.c.width_px).label("frame_width_px"),
            func.coalesce(measured.c.height_px, frame.c.height_px).label("frame_height_px"),
            proposal.c.choice.label("proposed"),
            proposal.c.reason,
            proposal.c.usable_width_px,
            person.c.choice.label("by_hand"),
            drawn.c.x_px,
            drawn.c.y_px,
            drawn.c.width_px,
            drawn.c.height_px,
        )
        .select_from(member)
        .join(frame, frame.c.id == member.c.frame_id)
        .outerjoin(measured, measured.c.frame_id == member.c.frame_id)
        .outerjoin(proposal, and_(proposal.c.outing_id == member.c.outing_id, proposal.c.frame_id == member.c.frame_id))
        .outerjoin(person, person.c.frame_id == member.c.frame_id)
        .outerjoin(drawn, drawn.c.frame_id == member.c.frame_id)
        .where(member.c.burst_id.in_(burst_ids))
        .order_by(member.c.burst_id, member.c.number)
    )


def trace_animals_query(burst_ids: Sequence[int]) -> Select[Any]:
    """Return the query for the animals of `traces`."""
    member, animal = schema.burst_frame, schema.animal
    return (
        select(animal)
        .select_from(member)
        .join(animal, animal.c.frame_id == member.c.frame_id)
        .where(member.c.burst_id.in_(burst_ids))
        .order_by(animal.c.frame_id, animal.c.number)
    )


def _trace_animal(row: RowMapping) -> TraceAnimal:
    return TraceAnimal(
        row["number"],
        row["track"],
        Box(row["x_px"], row["y_px"], row["width_px"], row["height_px"]),
        row["certainty"],
        Origin(row["origin"]),
        blur_from(row),
        math.nan if row["size_in_frame"] is None else row["size_in_frame"],
        bool(row["edge_clipped"]),
    )


def _trace_frame(row: Any, animals: list[TraceAnimal]) -> TraceFrame:
    return TraceFrame(
        row.id,
        row.number,
        row.path,
        _when(row.taken_at),
        row.measured_id is not None,
        bool(row.from_preview),
        row.frame_width_px,
        row.frame_height_px,
        tuple(animals),
        None if row.proposed is None else Choice(row.proposed),
        row.reason or "",
        math.nan if row.usable_width_px is None else row.usable_width_px,
        None if row.by_hand is None else Choice(row.by_hand),
        None if row.x_px is None else Box(row.x_px, row.y_px, row.width_px, row.height_px),
        slip_from(row),
    )


def _when(stored: str | None) -> datetime | None:
    return None if stored is None else datetime.fromisoformat(stored)
