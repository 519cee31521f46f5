"""A field book with one burst that shows a flight with known truth, as a run would have stored it."""

import shutil
from pathlib import Path

from review.flownbursts import stored
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.choices import store_proposals
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.traces import TraceFrame
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.chunk import MEASURED_BY
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Animal, MeasuredFrame

from .drawn import SHARP_FOR, Drawn

KEPT = 12
"""The frame that is proposed to keep, from 0."""
GONE = 20
"""The frame without the animal."""


def flown_outing(place: Path, sharp_for: str | None = SHARP_FOR) -> Drawn:
    """Store a pass at 1 m/s, 20 degrees off the focal plane."""
    folder = place / "pictures"
    folder.mkdir(parents=True)
    trace, tags = stored(folder)
    first = trace.frames[0].path
    for frame in trace.frames[1:]:
        shutil.copy(first, frame.path)
    measured = [_measured(frame, tags[frame.path], is_gone=frame.number == GONE) for frame in trace.frames]
    burst = Burst("000", tuple(one.frame for one in measured))
    book_path = place / "book.sqlite"
    with open_book(book_path) as book:
        outing = open_outing(book, "Reed pond", folder)
        store_listing(book, outing.id, folder, [burst])
        store_chunk(book, outing.id, measured, code_version=MEASURED_BY)
        choices = [Choice.KEEP if number == KEPT else Choice.LEAVE for number in range(len(measured))]
        proposals = [Proposal(one.path, choice, "drawn") for one, choice in zip(measured, choices, strict=True)]
        if sharp_for is not None:
            store_proposals(book, outing.id, proposals, sharp_for=sharp_for)
        return Drawn(folder, book_path, outing.id, (burst,))


def _measured(frame: TraceFrame, tags: Tags, *, is_gone: bool) -> MeasuredFrame:
    width_px, height_px = frame.width_px or 0, frame.height_px or 0
    seen = [
        Animal(
            animal.box, animal.certainty, animal.origin, animal.blur, (), animal.size_in_frame, False,
            (9.0, 9.0, 9.0, 9.0), 0.0, 0.0, 0.5, None,
        )
        for animal in frame.animals
    ]  # fmt: skip
    return MeasuredFrame(
        Frame((frame.path,), tags), width_px, height_px, () if is_gone else tuple(seen), slip=frame.slip
    )
