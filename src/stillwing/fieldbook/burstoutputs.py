"""How large the pictures of each burst are, and what they were to be sharp for."""

from dataclasses import dataclass

from sqlalchemy import func, select

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook

__all__ = ["BurstOutput", "burst_outputs"]


@dataclass(frozen=True, slots=True)
class BurstOutput:
    """Of one burst."""

    size_px: tuple[int, int]
    """Width and height of its first measured upright picture. [px]"""
    sharp_for: str
    """As its outing's proposals were made for."""


def burst_outputs(book: FieldBook) -> dict[int, BurstOutput]:
    """Return the output of each burst of which a frame was measured and proposals were made, by its number."""
    burst, member, measured, outing = schema.burst, schema.burst_frame, schema.measurement, schema.outing
    # Beside one min(), SQLite gives the other columns of the row that has it (https://www.sqlite.org/lang_select.html).
    query = (
        select(burst.c.id, func.min(member.c.number), measured.c.width_px, measured.c.height_px, outing.c.sharp_for)
        .join(member, member.c.burst_id == burst.c.id)
        .join(measured, measured.c.frame_id == member.c.frame_id)
        .join(outing, outing.c.id == burst.c.outing_id)
        .where(outing.c.sharp_for.is_not(None))
        .group_by(burst.c.id)
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return {row.id: BurstOutput((row.width_px, row.height_px), row.sharp_for) for row in rows}
