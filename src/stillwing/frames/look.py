"""Searching the frames of a burst, one after another, with their neighbours at hand."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import UnreadableFrame
from stillwing.frames.animal import room_round
from stillwing.frames.change import change
from stillwing.frames.coarse import Coarse, coarse_picture
from stillwing.frames.find import Candidate, candidates, certainty_of
from stillwing.frames.follow import look_alike
from stillwing.frames.frame import Frame
from stillwing.frames.measured import Box
from stillwing.frames.outline import Outline, draw_outline
from stillwing.frames.window import Window

__all__ = ["Looked", "look"]

STEPS = (2, 1)
"""Frames between those that are compared for what moved: first further apart, which shows a hovering animal."""
LOOK_AHEAD = max(STEPS)
N_OUTLINED = 3
"""So many candidates of a frame are looked at closely."""
CLEARLY_FIRST = 0.7
"""A candidate of this score leaves only its nearest rivals to be looked at."""
RIVAL = 0.3
SURE = 0.9
STILL_SURE = 0.75
OUTLINE_SURE = 0.97
"""An animal this sure in one frame, this sure after moving on, and with an outline this sure, needs no search."""


@dataclass(frozen=True, slots=True)
class Looked:
    """A frame that has been searched, reduced to what its measuring needs.

    Sizes and boxes are in pixels of the picture that was searched: the full one, or the preview.
    """

    frame: Frame
    coarse: Coarse
    width_px: int
    height_px: int
    found: tuple[Candidate, ...]
    outlines: tuple[Outline, ...]
    windows: tuple[Window, ...]
    is_searched: bool = True
    """False where the animal was taken over from the frame before."""


def decoded(
    frames: Sequence[Frame], decode: Callable[[Frame], NDArray[np.uint8]], failed: list[UnreadableFrame]
) -> Iterator[tuple[Frame, Window, Coarse]]:
    """Yield each frame's grey pixels and coarse picture; a frame that cannot be read goes to ``failed``."""
    for frame in frames:
        try:
            luma = decode(frame)
        except UnreadableFrame as error:
            failed.append(error)
            continue
        yield frame, Window.whole(luma), coarse_picture(luma)


def look(
    frames: Sequence[Frame],
    decode: Callable[[Frame], NDArray[np.uint8]],
    drawn: Mapping[Path, Box],
    failed: list[UnreadableFrame],
) -> Iterator[Looked]:
    """Yield each frame searched, with the pixels round its candidates.

    A frame is searched when the next ``LOOK_AHEAD`` frames are there to compare it with; then only the pixels round its
    candidates are kept, so that memory does not grow with the number of frames. One that ``decode`` cannot read goes to
    ``failed``.
    """
    near: list[tuple[Frame, Window, Coarse]] = []
    at = 0
    before: Looked | None = None
    for one in decoded(frames, decode, failed):
        near.append(one)
        if len(near) - 1 - at >= LOOK_AHEAD:
            before = looked_at(near, at, drawn, before)
            yield before
            at += 1
        if at > LOOK_AHEAD:
            del near[0]
            at -= 1
    for number in range(at, len(near)):
        before = looked_at(near, number, drawn, before)
        yield before


def looked_at(
    near: Sequence[tuple[Frame, Window, Coarse]], at: int, drawn: Mapping[Path, Box], before: Looked | None
) -> Looked:
    """Return frame ``at`` of ``near``, searched unless the one animal of the frame before is plainly still there."""
    if before is not None and near[at][0].path not in drawn:
        still = still_there(near[at], before)
        if still is not None:
            return still
    return searched(near, at, drawn)


def still_there(one: tuple[Frame, Window, Coarse], before: Looked) -> Looked | None:
    """Return the frame with the animal of the frame before moved on, or ``None`` where it must be searched.

    Every second frame at least is searched, so that a box cannot creep off its animal, nor a second animal be missed.
    """
    frame, window, coarse = one
    clear = [candidate for candidate in before.found if candidate.score > RIVAL]
    if not before.is_searched or len(clear) != 1 or clear[0].score < SURE:
        return None
    moved = look_alike(before.coarse, coarse, clear[0])
    if moved is None or moved.score < STILL_SURE:
        return None
    outline = draw_outline(window, moved.box)
    if outline.certainty < OUTLINE_SURE:
        return None
    sure = Candidate(outline.box, moved.score)
    near = window.round(sure.box, room_round(sure.box)).copied()
    width, height = window.frame_width_px, window.frame_height_px
    return Looked(frame, coarse, width, height, (sure,), (outline,), (near,), is_searched=False)


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
