"""Boxes that a person drew round the animal, and the bursts that want measuring again because of them."""

import hashlib
import math
from collections.abc import Mapping
from pathlib import Path

from sqlalchemy import Connection, func, select

from stillwing.errors import InputError
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.history import check_frames, record_box
from stillwing.fieldbook.pieces import pieces
from stillwing.frames.measured import Box

__all__ = ["bursts_to_measure_again", "draw_box", "drawn_boxes"]

NOTHING_DRAWN = ""
"""Digest of no box at all."""


def draw_box(book: FieldBook, outing_id: int, frame_id: int, box: Box | None) -> None:
    """Store the box that a person drew in a frame, in place of an earlier one; ``None`` takes it away.

    `history.undo` restores what was there before.

    Parameters
    ----------
    box : Box or None
        In pixels of the upright original.

    Raises
    ------
    InputError
        If the box has no area or reaches beyond the picture.
    UnknownThing
        If the outing holds no such frame.
    """
    with book.writing() as connection:
        check_frames(connection, outing_id, [frame_id])
        if box is not None:
            _check_box(connection, frame_id, box)
        record_box(connection, outing_id, frame_id, box)


def drawn_boxes(book: FieldBook, outing_id: int, *, burst_id: int | None = None) -> dict[Path, Box]:
    """Return the boxes that stand in an outing, or in one of its bursts, by the frame's path."""
    drawn, member, frame = schema.drawn_box, schema.burst_frame, schema.frame
    query = (
        select(frame.c.path, drawn)
        .join(frame, frame.c.id == drawn.c.frame_id)
        .join(member, member.c.frame_id == drawn.c.frame_id)
        .where(member.c.outing_id == outing_id)
    )
    if burst_id is not None:
        query = query.where(member.c.burst_id == burst_id)
    with book.reading() as connection:
        rows = connection.execute(query)
        return {row.path: Box(row.x_px, row.y_px, row.width_px, row.height_px) for row in rows}


def bursts_to_measure_again(book: FieldBook, outing_id: int) -> tuple[int, ...]:
    """Return the numbers of the bursts in which boxes were drawn, moved or taken away since they were measured."""
    with book.reading() as connection:
        return tuple(bursts_drawn_since(connection, outing_id))


def bursts_drawn_since(connection: Connection, outing_id: int) -> list[int]:
    """Return `bursts_to_measure_again`, inside the caller's transaction."""
    member, measured = schema.burst_frame, schema.measurement
    digests = _digests(connection, outing_id)
    rows = connection.execute(
        select(member.c.burst_id, measured.c.drawn_digest)
        .distinct()
        .join(measured, measured.c.frame_id == member.c.frame_id)
        .where(member.c.outing_id == outing_id)
    )
    return sorted({burst_id for burst_id, digest in rows if digest != digests.get(burst_id, NOTHING_DRAWN)})


def drawn_digests(connection: Connection, outing_id: int, drawn: Mapping[int, Box]) -> dict[int, str]:
    """Return, by burst, a digest of the boxes by frame that a measurement was given; bursts without are left out."""
    member = schema.burst_frame
    of_burst: dict[int, tuple[int, Box]] = {}
    for some in pieces(list(drawn)):
        rows = connection.execute(
            select(member.c.frame_id, member.c.burst_id).where(
                member.c.outing_id == outing_id, member.c.frame_id.in_(some)
            )
        )
        of_burst |= {frame_id: (burst_id, drawn[frame_id]) for frame_id, burst_id in rows}
    return _digest_by_burst(of_burst)


def _digests(connection: Connection, outing_id: int) -> dict[int, str]:
    drawn, member = schema.drawn_box, schema.burst_frame
    rows = connection.execute(
        select(member.c.burst_id, drawn)
        .join(member, member.c.frame_id == drawn.c.frame_id)
        .where(member.c.outing_id == outing_id)
    )
    return _digest_by_burst(
        {row.frame_id: (row.burst_id, Box(row.x_px, row.y_px, row.width_px, row.height_px)) for row in rows}
    )


def _digest_by_burst(drawn: Mapping[int, tuple[int, Box]]) -> dict[int, str]:
    written: dict[int, list[str]] = {}
    for frame_id, (burst_id, box) in sorted(drawn.items()):
        figures = (box.x_px, box.y_px, box.width_px, box.height_px)
        written.setdefault(burst_id, []).append(f"{frame_id}:{','.join(float(one).hex() for one in figures)}")
    return {burst_id: hashlib.sha256("\n".join(lines).encode()).hexdigest()[:32] for burst_id, lines in written.items()}


def _check_box(connection: Connection, frame_id: int, box: Box) -> None:
    frame, measured = schema.frame, schema.measurement
    width_px, height_px = connection.execute(
        select(
            func.coalesce(measured.c.width_px, frame.c.width_px),
            func.coalesce(measured.c.height_px, frame.c.height_px),
        )
        .select_from(frame)
        .outerjoin(measured, measured.c.frame_id == frame.c.id)
        .where(frame.c.id == frame_id)
    ).one()
    given = f"{box.width_px:g} x {box.height_px:g} px at {box.x_px:g}, {box.y_px:g}"
    figures = (box.x_px, box.y_px, box.width_px, box.height_px)
    if not all(map(math.isfinite, figures)) or min(box.width_px, box.height_px) <= 0:
        raise InputError(f"the box ({given}) has no area; draw it from one corner of the animal to the other")
    beyond_right = width_px is not None and box.x_px + box.width_px > width_px
    beyond_bottom = height_px is not None and box.y_px + box.height_px > height_px
    if min(box.x_px, box.y_px) < 0 or beyond_right or beyond_bottom:
        raise InputError(f"the box ({given}) reaches beyond the picture, which is {width_px} x {height_px} px")
