"""One chunk of a burst: decode each frame once, find the animal, follow it, measure it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import UnreadableFrame
from stillwing.frames.animal import measure_animal, room_round
from stillwing.frames.change import change
from stillwing.frames.coarse import Coarse, coarse_picture
from stillwing.frames.find import Candidate, candidates, certainty_of
from stillwing.frames.follow import Sighting, follow
from stillwing.frames.frame import Burst, Frame
from stillwing.frames.measured import Box, MeasuredFrame, Origin
from stillwing.frames.outline import Outline, draw_outline
from stillwing.frames.pixels import decode_luma
from stillwing.frames.window import Window

__all__ = ["MEASURED_BY", "MeasuredChunk", "measure_chunk"]

MEASURED_BY = "2"
"""Changes whenever the same pixels would be measured differently, so that stored figures are made again."""
STEPS = (2, 1)
"""Frames between those that are compared for what moved: first further apart, which shows a hovering animal."""
LOOK_AHEAD = max(STEPS)
N_OUTLINED = 3
"""So many candidates of a frame are looked at closely."""
CLEARLY_FIRST = 0.7
"""A candidate of this score leaves only its nearest rivals to be looked at."""
RIVAL = 0.3


@dataclass(frozen=True, slots=True)
class MeasuredChunk:
    """What a chunk of one burst gave: figures, and the frames that gave none."""

    burst_name: str
    frames: tuple[MeasuredFrame, ...]
    failed: tuple[UnreadableFrame, ...]


@dataclass(frozen=True, slots=True)
class Looked:
    """A frame that has been searched, reduced to what its measuring needs."""

    frame: Frame
    coarse: Coarse
    width_px: int
    height_px: int
    found: tuple[Candidate, ...]
    outlines: tuple[Outline, ...]
    windows: tuple[Window, ...]


def measure_chunk(
    burst: Burst, *, drawn: Mapping[Path, Box] = MappingProxyType({}), use_previews: bool = True
) -> MeasuredChunk:
    """Return the measured frames of one burst, or of a part of a long one.

    Parameters
    ----------
    burst : Burst
        The frames, in order of time.
    drawn : mapping of Path to Box
        Boxes that a person drew; the other frames follow them.
    use_previews : bool, default True
        Leave out the full decode where the embedded preview rules the frame out.

    Notes
    -----
    Each file is decoded once. A frame is searched when the next ``LOOK_AHEAD`` frames are there to compare with; then
    only the pixels round its candidates are kept, so that memory does not grow with the number of frames.
    """
    failed: list[UnreadableFrame] = []
    looked = list(look(decoded(burst.frames, failed), drawn))
    boxes = {number: drawn[one.frame.path] for number, one in enumerate(looked) if one.frame.path in drawn}
    seen = follow([one.found for one in looked], [one.coarse for one in looked], boxes)
    measured = [measure_frame(one, sightings) for one, sightings in zip(looked, seen, strict=True)]
    return MeasuredChunk(burst.name, tuple(measured), tuple(failed))


def decoded(frames: Sequence[Frame], failed: list[UnreadableFrame]) -> Iterator[tuple[Frame, Window, Coarse]]:
    """Yield each frame's full-size grey pixels and coarse picture; a frame that cannot be read goes to ``failed``."""
    for frame in frames:
        try:
            luma = decode_luma(frame)
        except UnreadableFrame as error:
            failed.append(error)
            continue
        yield frame, Window.whole(luma), coarse_picture(luma)


def look(frames: Iterator[tuple[Frame, Window, Coarse]], drawn: Mapping[Path, Box]) -> Iterator[Looked]:
    """Yield each frame searched, with the pixels round its candidates."""
    near: list[tuple[Frame, Window, Coarse]] = []
    at = 0
    for one in frames:
        near.append(one)
        if len(near) - 1 - at >= LOOK_AHEAD:
            yield searched(near, at, drawn)
            at += 1
        if at > LOOK_AHEAD:
            del near[0]
            at -= 1
    for number in range(at, len(near)):
        yield searched(near, number, drawn)


def searched(near: Sequence[tuple[Frame, Window, Coarse]], at: int, drawn: Mapping[Path, Box]) -> Looked:
    """Return frame ``at`` of ``near`` searched, with its neighbours at hand."""
    frame, window, coarse = near[at]
    if frame.path in drawn:
        found: tuple[Candidate, ...] = (Candidate(drawn[frame.path], 1.0),)
    else:
        found = candidates(coarse, (view(near, at, step) for step in STEPS))
    best = found[0].score if found else 0.0
    near_best = [c for c in found[:N_OUTLINED] if best < CLEARLY_FIRST or c.score > RIVAL]
    outlines = tuple(draw_outline(window, candidate.box) for candidate in near_best)
    sure = tuple(
        candidate if frame.path in drawn else Candidate(outline.box, certainty_of(candidate.score, outline.certainty))
        for candidate, outline in zip(near_best, outlines, strict=True)
    )
    windows = tuple(window.round(c.box, room_round(c.box)).copied() for c in sure)
    return Looked(frame, coarse, window.frame_width_px, window.frame_height_px, sure, outlines, windows)


def view(near: Sequence[tuple[Frame, Window, Coarse]], at: int, step: int) -> NDArray[np.float32]:
    """Return what moved in frame ``at`` against those ``step`` frames before and after."""
    sides = [near[i][2].grey for i in (at - step, at + step) if 0 <= i < len(near)]
    return change(near[at][2].grey, sides)


def measure_frame(looked: Looked, sightings: Sequence[Sighting]) -> MeasuredFrame:
    """Return the frame with each of its animals measured, decoding it again only where an animal was followed."""
    whole: Window | None = None
    animals = []
    for sighting in sightings:
        at = next((k for k, c in enumerate(looked.found) if c.box == sighting.box), None)
        if at is not None:
            animals.append(measure_animal(looked.windows[at], sighting, looked.outlines[at]))
            continue
        whole = whole or Window.whole(decode_luma(looked.frame))
        animals.append(measure_animal(whole, settled(whole, sighting)))
    return MeasuredFrame(looked.frame, looked.width_px, looked.height_px, tuple(animals))


def settled(whole: Window, sighting: Sighting) -> Sighting:
    """Return a followed animal with its box drawn to its outline."""
    if sighting.origin is Origin.DRAWN:
        return sighting
    return replace(sighting, box=draw_outline(whole, sighting.box).box)
