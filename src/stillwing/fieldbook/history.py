"""What a person did, act by act, and how it is undone.

The present choice and the present box of a frame are always those of its last act that stands. Undo takes the last
step of an outing out of the history; what stood before holds again, also after a restart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path

from sqlalchemy import Connection, func, select, update
from sqlalchemy.dialects.sqlite import insert

from stillwing.errors import UnknownThing
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.pieces import pieces
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Box

__all__ = ["Act", "Restored", "Subject", "history", "undo"]


class Subject(StrEnum):
    """What an act is about."""

    CHOICE = "choice"
    BOX = "box"


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that a person did to one frame; ``choice`` or ``box`` is ``None`` where they took it away."""

    step: int
    frame_id: int
    path: Path
    subject: Subject
    choice: Choice | None
    box: Box | None
    done_at: datetime


@dataclass(frozen=True, slots=True)
class Restored:
    """What holds for one frame after an undo: its choice, or its box, as the subject tells."""

    frame_id: int
    path: Path
    burst_id: int | None
    subject: Subject
    choice: Choice | None
    box: Box | None


def history(book: FieldBook, outing_id: int, *, limit: int = 50) -> tuple[Act, ...]:
    """Return the last acts of an outing that stand, the newest first."""
    act, frame = schema.act, schema.frame
    with book.reading() as connection:
        rows = connection.execute(
            select(act, frame.c.path)
            .join(frame, frame.c.id == act.c.frame_id)
            .where(act.c.outing_id == outing_id, act.c.undone_at.is_(None))
            .order_by(act.c.id.desc())
            .limit(limit)
        )
        return tuple(
            Act(
                row.step,
                row.frame_id,
                row.path,
                Subject(row.subject),
                None if row.choice is None else Choice(row.choice),
                _box(row),
                datetime.fromisoformat(row.done_at),
            )
            for row in rows
        )


def undo(book: FieldBook, outing_id: int, *, burst_id: int | None = None) -> tuple[Restored, ...]:
    """Undo the last step of an outing, or the last that touched one burst, and return what holds now.

    An empty tuple says that there is nothing left to undo. A step of several acts is undone as one.
    """
    act, member = schema.act, schema.burst_frame
    with book.writing() as connection:
        last = select(act.c.step).where(act.c.outing_id == outing_id, act.c.undone_at.is_(None))
        if burst_id is not None:
            last = last.where(act.c.frame_id.in_(select(member.c.frame_id).where(member.c.burst_id == burst_id)))
        step = connection.execute(last.order_by(act.c.id.desc()).limit(1)).scalar_one_or_none()
        if step is None:
            return ()
        undone = connection.execute(
            update(act)
            .where(act.c.step == step, act.c.undone_at.is_(None))
            .values(undone_at=_now())
            .returning(act.c.frame_id, act.c.subject)
        ).all()
        return tuple(_restore(connection, outing_id, row.frame_id, Subject(row.subject)) for row in sorted(undone))


def record_choices(connection: Connection, outing_id: int, frames: Sequence[int], choice: Choice | None) -> int:
    """Record one choice for several frames as one step; return for how many it is new."""
    person = schema.person_choice
    held: dict[int, str] = {}
    for some in pieces(frames):
        rows = connection.execute(select(person.c.frame_id, person.c.choice).where(person.c.frame_id.in_(some)))
        held |= dict(rows.all())
    fresh = [frame_id for frame_id in frames if held.get(frame_id) != choice]
    _record(connection, outing_id, Subject.CHOICE, fresh, {"choice": None if choice is None else choice.value})
    return len(fresh)


def record_box(connection: Connection, outing_id: int, frame_id: int, box: Box | None) -> int:
    """Record the box that a person drew, or took away; return 1 where it is new, else 0."""
    if _present_box(connection, frame_id) == box:
        return 0
    _record(connection, outing_id, Subject.BOX, [frame_id], _box_columns(box) if box else {})
    return 1


def check_frames(connection: Connection, outing_id: int, frames: Sequence[int]) -> None:
    """Raise `UnknownThing` where a frame is not in the outing."""
    member = schema.burst_frame
    held: set[int] = set()
    for some in pieces(frames):
        held |= set(
            connection.execute(
                select(member.c.frame_id).where(member.c.outing_id == outing_id, member.c.frame_id.in_(some))
            ).scalars()
        )
    for frame_id in frames:
        if frame_id not in held:
            raise UnknownThing(f"outing number {outing_id} holds no frame number {frame_id}")


def _record(
    connection: Connection, outing_id: int, subject: Subject, frames: Sequence[int], values: dict[str, object]
) -> None:
    if not frames:
        return
    step = connection.execute(select(func.coalesce(func.max(schema.act.c.step), 0) + 1)).scalar_one()
    empty = {"choice": None, "x_px": None, "y_px": None, "width_px": None, "height_px": None}
    shared = {"step": step, "outing_id": outing_id, "subject": subject.value, "done_at": _now(), **empty, **values}
    connection.execute(insert(schema.act), [{"frame_id": frame_id, **shared} for frame_id in frames])
    for frame_id in frames:
        _settle(connection, frame_id, subject)


def _restore(connection: Connection, outing_id: int, frame_id: int, subject: Subject) -> Restored:
    _settle(connection, frame_id, subject)
    frame, member, person = schema.frame, schema.burst_frame, schema.person_choice
    row = connection.execute(
        select(frame.c.path, member.c.burst_id, person.c.choice)
        .select_from(frame)
        .outerjoin(member, (member.c.frame_id == frame.c.id) & (member.c.outing_id == outing_id))
        .outerjoin(person, person.c.frame_id == frame.c.id)
        .where(frame.c.id == frame_id)
    ).one()
    choice = None if row.choice is None else Choice(row.choice)
    return Restored(frame_id, row.path, row.burst_id, subject, choice, _present_box(connection, frame_id))


def _settle(connection: Connection, frame_id: int, subject: Subject) -> None:
    """Make the present state of a frame follow from its last act that stands."""
    act = schema.act
    last = connection.execute(
        select(act)
        .where(act.c.frame_id == frame_id, act.c.subject == subject.value, act.c.undone_at.is_(None))
        .order_by(act.c.id.desc())
        .limit(1)
    ).one_or_none()
    present = schema.person_choice if subject is Subject.CHOICE else schema.drawn_box
    connection.execute(present.delete().where(present.c.frame_id == frame_id))
    if subject is Subject.CHOICE and last is not None and last.choice is not None:
        connection.execute(insert(present).values(frame_id=frame_id, choice=last.choice))
    box = None if last is None else _box(last)
    if subject is Subject.BOX and box is not None:
        connection.execute(insert(present).values(frame_id=frame_id, **_box_columns(box)))


def _present_box(connection: Connection, frame_id: int) -> Box | None:
    drawn = schema.drawn_box
    row = connection.execute(select(drawn).where(drawn.c.frame_id == frame_id)).one_or_none()
    return None if row is None else _box(row)


def _box(row: object) -> Box | None:
    x_px, y_px, width_px, height_px = (getattr(row, name) for name in ("x_px", "y_px", "width_px", "height_px"))
    return None if x_px is None else Box(x_px, y_px, width_px, height_px)


def _box_columns(box: Box) -> dict[str, object]:
    return {"x_px": box.x_px, "y_px": box.y_px, "width_px": box.width_px, "height_px": box.height_px}


def _now() -> str:
    return datetime.now(UTC).isoformat()
