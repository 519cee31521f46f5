"""Invented outings: files of a few bytes, and figures that nobody measured, for tests of what the book keeps."""

import math
from datetime import UTC, datetime, timedelta
from pathlib import Path

from sqlalchemy import Select
from sqlalchemy.dialects import sqlite

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import Outing, open_outing
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, Cutout, FocusMap, MeasuredFrame, Origin, Slip

SLIP = Slip(-12.25, 0.5, 0.125)
START = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)

CUTOUT = Cutout(4.5, 104.25, 832.0, b"as JPEG")


def burst_of(folder: Path, n_frames: int, *, first: int = 0, minutes: float = 0.0) -> Burst:
    """Write ``n_frames`` small files, and return them as one burst."""
    folder.mkdir(parents=True, exist_ok=True)
    frames = []
    for i in range(n_frames):
        path = folder / f"P{first + i:05}.jpg"
        path.write_bytes(b"frame %d" % (first + i))
        taken_at = START + timedelta(minutes=minutes, milliseconds=50 * i)
        tags = Tags(taken_at=taken_at, has_subseconds=True, exposure_s=1 / 3200, iso=800, width_px=5184, height_px=3888)
        frames.append(Frame((path,), tags))
    return Burst(f"P{first:05}", tuple(frames))


def animal(
    blur_px: float | None = 1.25, *, x_px: float = 100.0, track: int = 0, cutout: Cutout | None = CUTOUT
) -> Animal:
    """Return an animal whose figures a 16-bit grid and 32-bit outline hold exactly."""
    blur = None
    if blur_px is not None:
        blur = Blur(blur_px, blur_px * 0.9, blur_px * 1.1, blur_px * 0.8, blur_px * 1.2, 35.0, BlurKind.MOTION)
    box = Box(x_px, 200.0, 640.0, 320.0)
    return Animal(
        box=box,
        certainty=0.875,
        origin=Origin.FOUND,
        blur=blur,
        outline_px=((x_px, 200.5), (x_px + 640, 360.25), (x_px + 320, 520.0)),
        size_in_frame=640 / 5184,
        edge_clipped=False,
        edge_distance_px=(x_px, 200.0, 5184 - 640 - x_px, 3888 - 520.0),
        highlights_clipped=0.01,
        shadows_clipped=0.02,
        background_busyness=0.5,
        focus_map=FocusMap(box, 2, 3, (1.25, 1.5, 2.0, 2.5, 4.0, 8.0)),
        track=track,
        cutout=cutout,
    )


def measured(frame: Frame, *animals: Animal) -> MeasuredFrame:
    """Return ``frame`` as measured, 20 MP."""
    return MeasuredFrame(frame, 5184, 3888, animals, slip=SLIP)


def listed_outing(book: FieldBook, folder: Path, *bursts: Burst, name: str = "first") -> Outing:
    """Store an outing that has been listed and not measured."""
    outing = open_outing(book, name, folder)
    store_listing(book, outing.id, folder, bursts)
    return outing


def measured_outing(book: FieldBook, folder: Path, *bursts: Burst, name: str = "first") -> Outing:
    """Store an outing in which each frame holds one animal; its blur grows through the burst from 1 px."""
    outing = listed_outing(book, folder, *bursts, name=name)
    for burst in bursts:
        chunk = [measured(frame, animal(1.0 + i / 4)) for i, frame in enumerate(burst.frames)]
        store_chunk(book, outing.id, chunk, code_version="1")
    return outing


def plan(book: FieldBook, query: Select[tuple[object, ...]]) -> list[str]:
    """Return how SQLite would go about ``query``, one step per line."""
    written = query.compile(dialect=sqlite.dialect(), compile_kwargs={"literal_binds": True})
    with book.reading() as connection:
        return [row.detail for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {written}")]


def same(one: object, other: object) -> bool:
    """Tell whether two floats are equal, NaN equal to NaN."""
    both_nan = isinstance(one, float) and isinstance(other, float) and math.isnan(one) and math.isnan(other)
    return both_nan or one == other
