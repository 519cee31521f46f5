"""Invented outings for tests of the review: no files, and figures that nobody measured, drawn with a seed."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import store_proposals
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import Outing, open_outing
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, MeasuredFrame, Origin, Slip
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.usable import usable_width

WIDTH_PX, HEIGHT_PX = 6000, 4000
SHARP_FOR = "screen 2000"
START = datetime(2026, 6, 1, 10, 0, tzinfo=UTC)
FRAME_S = 0.05
KIT = Kit(
    "my own",
    CameraBody(24.0, 16.0, WIDTH_PX, HEIGHT_PX, frames_per_s=20.0),
    Lens(300.0, 300.0, 4.0, 4.0, narrowest=22.0, closest_focus_m=1.3, largest_magnification=0.25),
)
TAGS = {"exposure_s": 1 / 2500, "f_number": 8.0, "focal_length_mm": 300.0, "focus_distance_m": 3.0}
"""How a burst may be taken, for those that are held against the optics."""


@dataclass(frozen=True)
class Taken:
    """One burst: how many frames, which of them hold the animal, are kept, are sharp; how the camera was set."""

    n_frames: int = 12
    keeps: Sequence[int] = ()
    lacks: Sequence[int] = ()
    soft: Sequence[int] = ()
    offset_px: tuple[float, float] = (0.0, 0.0)
    slips: Sequence[tuple[float, float] | None] = ()
    minutes: float = 0.0
    tags: dict[str, Any] = field(default_factory=dict)


def invent_outing(book: FieldBook, name: str, bursts: Sequence[Taken], *, day: int = 0) -> Outing:
    """Store an outing as a run would."""
    folder = Path("/pictures") / name
    outing = open_outing(book, name, folder)
    found = [
        [_measured(folder, at, number, one, day) for number in range(one.n_frames)] for at, one in enumerate(bursts)
    ]
    listed = [Burst(frames[0].path.stem, tuple(each.frame for each in frames)) for frames in found]
    store_listing(book, outing.id, folder, listed)
    proposals = []
    for one, frames in zip(bursts, found, strict=True):
        store_chunk(book, outing.id, frames, code_version="invented")
        proposals += [_proposal(one, number, each) for number, each in enumerate(frames)]
    store_proposals(book, outing.id, proposals, sharp_for=SHARP_FOR)
    return outing


def invent_season(book: FieldBook, n_outings: int = 8, n_bursts: int = 6) -> None:
    """Store outings whose practice grows better, with two exposures of which the shorter keeps more."""
    rng = np.random.default_rng(4)
    for at in range(n_outings):
        bursts = []
        for number in range(n_bursts):
            is_short = number % 2 == 0
            rate = rng.beta(2.0, 5.0 if is_short else 12.0)
            n_late = max(0, int(rng.integers(4, 9)) - at)
            even = float(rng.uniform(11.0, 17.0)) - at
            bursts.append(
                Taken(
                    keeps=np.flatnonzero(rng.random(14) < rate).tolist(),
                    n_frames=14,
                    lacks=range(n_late),
                    offset_px=(float(rng.uniform(700.0, 1100.0)) - 50 * at, 100.0),
                    slips=[None, *((even * (-1) ** n + 30, 0.0) for n in range(13))],
                    minutes=9.0 * number,
                    tags={"exposure_s": 1 / 3200 if is_short else 1 / 800, "iso": 1600 if is_short else 400},
                )
            )
        invent_outing(book, f"June {at + 1}", bursts, day=at)


def animal(offset_px: tuple[float, float], blur_px: float) -> Animal:
    """Return an animal so far right and down of the middle of the frame."""
    box = Box(WIDTH_PX / 2 + offset_px[0] - 300, HEIGHT_PX / 2 + offset_px[1] - 200, 600.0, 400.0)
    return Animal(
        box=box,
        certainty=0.9,
        origin=Origin.FOUND,
        blur=Blur(blur_px, blur_px * 0.9, blur_px * 1.1, blur_px, blur_px, None, BlurKind.SHARP),
        outline_px=(),
        size_in_frame=0.1,
        edge_clipped=False,
        edge_distance_px=(1.0, 1.0, 1.0, 1.0),
        highlights_clipped=0.0,
        shadows_clipped=0.0,
        background_busyness=0.5,
        focus_map=None,
    )


def _measured(folder: Path, burst: int, number: int, one: Taken, day: int) -> MeasuredFrame:
    taken_at = START + timedelta(days=day, minutes=one.minutes or 7.0 * burst, seconds=FRAME_S * number)
    usual = {"taken_at": taken_at, "has_subseconds": True, "width_px": WIDTH_PX, "height_px": HEIGHT_PX}
    frame = Frame((folder / f"B{burst:02}{number:03}.jpg",), Tags(**(usual | one.tags)))
    shown = () if number in one.lacks else (animal(one.offset_px, 8.0 if number in one.soft else 1.0),)
    shift = one.slips[number] if number < len(one.slips) else None
    slip = None if shift is None else Slip(*shift, 0.1)
    return MeasuredFrame(frame, WIDTH_PX, HEIGHT_PX, shown, slip=slip)


def _proposal(one: Taken, number: int, measured: MeasuredFrame) -> Proposal:
    if not measured.animals:
        return Proposal(measured.path, Choice.LEAVE, "no animal found")
    blur = measured.animals[0].blur
    assert blur is not None
    choice = Choice.KEEP if number in one.keeps else Choice.LEAVE
    return Proposal(measured.path, choice, "invented", float(usable_width(blur.blur_px, WIDTH_PX)))
