"""The measured frames of an outing, with only what a review counts: twenty columns in place of everything."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Integer, and_, case, func, or_, select
from sqlalchemy.sql.elements import ColumnElement

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.frames.chosen import Choice

__all__ = ["Judged", "TakenBurst", "TakenFrame", "judged_bursts", "measured_widths", "taken_frames"]


class TakenFrame(NamedTuple):
    """One measured frame: how it was taken, where its best animal stands, how far the background moved."""

    frame_id: int
    taken_at: datetime | None
    has_subseconds: bool
    exposure_s: float | None
    f_number: float | None
    iso: int | None
    focal_length_mm: float | None
    focus_distance_m: float | None
    focus_mode: str | None
    width_px: int
    height_px: int
    slip_px: tuple[float, float] | None
    """Right and down, since the frame before."""
    animal_px: tuple[float, float] | None
    """Middle of the best animal's box; ``None`` where none was found."""


@dataclass(frozen=True, slots=True)
class TakenBurst:
    """One burst of an outing with those of its frames that have been measured, in order of time."""

    id: int
    frames: tuple[TakenFrame, ...]


class Judged(NamedTuple):
    """Frames of one burst for which a choice stands."""

    n_frames: int
    n_good: int


def taken_frames(book: FieldBook, outing_id: int) -> tuple[TakenBurst, ...]:
    """Return the bursts of an outing in order of time, those without a measured frame too."""
    burst, member, frame = schema.burst, schema.burst_frame, schema.frame
    measured, animal = schema.measurement, schema.animal
    query = (
        select(
            member.c.burst_id,
            *(frame.c[name] for name in ("id", "taken_at", "has_subseconds", "exposure_s", "f_number", "iso")),
            *(frame.c[name] for name in ("focal_length_mm", "focus_distance_m", "focus_mode")),
            *(measured.c[name] for name in ("width_px", "height_px", "slip_x_px", "slip_y_px")),
            (animal.c.x_px + animal.c.width_px / 2).label("animal_x_px"),
            (animal.c.y_px + animal.c.height_px / 2).label("animal_y_px"),
        )
        .join(frame, frame.c.id == member.c.frame_id)
        .join(measured, measured.c.frame_id == member.c.frame_id)
        # Animals are numbered from the best one on.
        .outerjoin(animal, (animal.c.frame_id == member.c.frame_id) & (animal.c.number == 0))
        .where(member.c.outing_id == outing_id)
        .order_by(member.c.burst_id, member.c.number)
    )
    order = select(burst.c.id).where(burst.c.outing_id == outing_id).order_by(burst.c.taken_at, burst.c.id)
    with book.reading() as connection:
        frames: dict[int, list[TakenFrame]] = {burst_id: [] for burst_id in connection.execute(order).scalars()}
        for row in connection.execute(query):
            frames[row[0]].append(_frame(row))
    return tuple(TakenBurst(burst_id, tuple(within)) for burst_id, within in frames.items())


def measured_widths(book: FieldBook, outing_id: int) -> tuple[int, ...]:
    """Return how wide the measured pictures of an outing are, each width once. [px]"""
    member, measured = schema.burst_frame, schema.measurement
    query = (
        select(measured.c.width_px)
        .join(member, member.c.frame_id == measured.c.frame_id)
        .where(member.c.outing_id == outing_id)
        .distinct()
    )
    with book.reading() as connection:
        return tuple(connection.execute(query.order_by(measured.c.width_px)).scalars())


def judged_bursts(book: FieldBook, outing_id: int, needed_px: Mapping[int, float] | None = None) -> dict[int, Judged]:
    """Return for each burst in which a choice stands how many frames have one, and how many of these are good.

    Parameters
    ----------
    needed_px : mapping of int to float, optional
        Usable width from which on a frame of each width would do. Good frames are those that are kept, and with this
        all others that would do, unless a person put them aside.
    """
    member, measured = schema.burst_frame, schema.measurement
    proposal, person = schema.proposal, schema.person_choice
    stands = func.coalesce(person.c.choice, proposal.c.choice)
    would_do: list[ColumnElement[bool]] = [
        and_(measured.c.width_px == width_px, proposal.c.usable_width_px >= needed)
        for width_px, needed in (needed_px or {}).items()
    ]
    is_good = stands == Choice.KEEP.value
    if would_do:
        is_refused = func.coalesce(person.c.choice, "") == Choice.LEAVE.value
        is_good = or_(is_good, and_(~is_refused, or_(*would_do)))
    query = (
        select(member.c.burst_id, func.count(), func.sum(case((is_good, 1), else_=0), type_=Integer))
        .outerjoin(measured, measured.c.frame_id == member.c.frame_id)
        .outerjoin(proposal, (proposal.c.outing_id == member.c.outing_id) & (proposal.c.frame_id == member.c.frame_id))
        .outerjoin(person, person.c.frame_id == member.c.frame_id)
        .where(member.c.outing_id == outing_id, stands.is_not(None))
        .group_by(member.c.burst_id)
    )
    with book.reading() as connection:
        return {burst_id: Judged(n, n_good) for burst_id, n, n_good in connection.execute(query)}


def _frame(row: Any) -> TakenFrame:
    # By place, not by name: of 17,000 frames each name is looked up anew.
    _, frame_id, taken_at, has_subseconds, exposure_s, f_number, iso, focal_mm, focus_m, mode, *rest = row
    width_px, height_px, slip_x, slip_y, animal_x, animal_y = rest
    return TakenFrame(
        frame_id,
        None if taken_at is None else datetime.fromisoformat(taken_at),
        bool(has_subseconds),
        exposure_s,
        f_number,
        iso,
        focal_mm,
        focus_m,
        mode,
        width_px,
        height_px,
        None if slip_x is None else (slip_x, slip_y),
        None if animal_x is None else (animal_x, animal_y),
    )
