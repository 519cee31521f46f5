"""Where one burst was taken, as well as anything tells: its own tags, a track, or the water that was logged."""

from collections import Counter
from dataclasses import dataclass
from statistics import median

import numpy as np
from sqlalchemy import Connection, select

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.moments import moments_of_outing
from stillwing.fieldbook.names import name_key
from stillwing.fieldbook.sites import KeptSite, sites
from stillwing.place.position import Position

__all__ = ["BurstPlace", "burst_place", "site_of_outing"]

OWN_M = 30.0
"""How far a position in a picture's tags may be off where they do not tell it: a receiver under trees, and the way to
the animal (a choice, no source). [m]"""


@dataclass(frozen=True, slots=True)
class BurstPlace:
    """A place, how far it may be off, and what told it."""

    position: Position
    uncertainty_m: float
    told_by: str
    """In words, such as "the pictures' own tags"."""
    site: str
    """Name of the water, where it is known; else empty."""


def burst_place(book: FieldBook, outing_id: int, burst_id: int) -> BurstPlace | None:
    """Return where a burst was taken; ``None`` where nothing tells.

    The pictures' own position counts first, then that of a track, then the middle of the water that the field log of
    the outing names, which may be off by as far as the water reaches.
    """
    site = site_of_outing(book, outing_id)
    name = "" if site is None else site.site.name
    with book.reading() as connection:
        own, placed = _own(connection, burst_id), _placed(connection, burst_id)
    if own is not None:
        return BurstPlace(own, OWN_M, "the pictures' own tags", name)
    if placed is not None:
        position, uncertainty_m, track = placed
        return BurstPlace(position, uncertainty_m, f"the track {track}", name)
    if site is None:
        return None
    plane = site.site.plane
    reach_m = float(np.hypot(*plane.to_metres(site.site.outline.positions).T).max())
    return BurstPlace(plane.middle, reach_m, f"the middle of {name}, which the field log names", name)


def site_of_outing(book: FieldBook, outing_id: int) -> KeptSite | None:
    """Return the water that most moments of an outing were logged at; ``None`` where none is known by that name."""
    named = Counter(name_key(moment.site) for moment in moments_of_outing(book, outing_id) if moment.site)
    if not named:
        return None
    (most, _), *_ = named.most_common(1)
    return next((kept for kept in sites(book) if name_key(kept.site.name) == most), None)


def _own(connection: Connection, burst_id: int) -> Position | None:
    member, frame = schema.burst_frame, schema.frame
    rows = connection.execute(
        select(frame.c.longitude_deg, frame.c.latitude_deg)
        .join(member, member.c.frame_id == frame.c.id)
        .where(member.c.burst_id == burst_id, frame.c.latitude_deg.is_not(None), frame.c.longitude_deg.is_not(None))
    ).all()
    if not rows:
        return None
    longitudes, latitudes = zip(*rows, strict=True)
    return Position(median(longitudes), median(latitudes))


def _placed(connection: Connection, burst_id: int) -> tuple[Position, float, str] | None:
    table = schema.burst_position
    row = connection.execute(select(table).where(table.c.burst_id == burst_id)).one_or_none()
    if row is None:
        return None
    return Position(row.longitude_deg, row.latitude_deg), row.uncertainty_m, row.track
