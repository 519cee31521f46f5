"""The lessons of all bursts of an outing, read from the field book."""

import statistics
from collections.abc import Callable
from pathlib import Path

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.frames import measured_burst
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.traces import BurstTrace, burst_summaries, trace
from stillwing.frames.sharpfor import SharpFor, parse_sharp_for
from stillwing.review.burstflight import burst_flight
from stillwing.review.burstlesson import BurstLesson, burst_lesson
from stillwing.review.flownonce import flight_cause
from stillwing.review.lessonshelf import LessonShelf
from stillwing.review.outinglesson import OutingLesson, outing_lesson

__all__ = ["read_outing_lesson"]


def read_outing_lesson(
    book: FieldBook, outing: Outing, shelf: LessonShelf, on_burst: Callable[[int, int], None] | None = None
) -> OutingLesson:
    """Return what the bursts of an outing teach together.

    Parameters
    ----------
    book : FieldBook
        The field book.
    outing : Outing
        One of its outings.
    shelf : LessonShelf
        Lessons that need not be made out again.
    on_burst : callable, optional
        Told before the first and after each burst how many are done, and of how many.

    Raises
    ------
    InputError
        If nobody said what the outing's pictures are for.

    Notes
    -----
    A burst takes some second where its flight has to be made out, and some milliseconds where the shelf has it.
    """
    if outing.sharp_for is None:
        raise InputError(
            f"what the pictures of {outing.name} are for was not said, so no frame counts as sharp or soft; sift again"
        )
    sharp_for = parse_sharp_for(outing.sharp_for)
    summaries = burst_summaries(book, outing.id, limit=-1)
    lessons: list[BurstLesson] = []
    for summary in summaries:
        _tell(on_burst, len(lessons), len(summaries))
        lessons.append(_lesson(book, trace(book, summary.id), sharp_for, shelf))
    _tell(on_burst, len(lessons), len(summaries))
    return outing_lesson(lessons)


def _tell(on_burst: Callable[[int, int], None] | None, n_done: int, n_bursts: int) -> None:
    if on_burst is not None:
        on_burst(n_done, n_bursts)


def _lesson(book: FieldBook, burst: BurstTrace, sharp_for: SharpFor, shelf: LessonShelf) -> BurstLesson:
    width_px = next((frame.width_px for frame in burst.frames if frame.width_px), None)
    if width_px is None:
        return BurstLesson(burst.id, len(burst.frames), "none of its frames was measured")
    limit_px = sharp_for.blur_limit(width_px)

    def make() -> BurstLesson:
        return burst_lesson(burst_flight(book, burst), burst, limit_px, _iso(book, burst.id))

    cause = flight_cause(book, burst), limit_px, [_state(frame.path) for frame in burst.frames]
    return shelf.lesson((book.path, burst.id), cause, make)


def _iso(book: FieldBook, burst_id: int) -> float | None:
    tags = (frame.frame.tags.iso for frame in measured_burst(book, burst_id, with_shapes=False).frames)
    isos = [iso for iso in tags if iso is not None]
    return statistics.median(isos) if isos else None


def _state(path: Path) -> tuple[int, int] | None:
    """Return size and time of change of a picture, whose tags a flight reads; ``None`` where it is gone."""
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns
