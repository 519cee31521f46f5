"""Traces made up for the tests, without files or a field book."""

import math
from pathlib import Path

from stillwing.fieldbook.traces import BurstTrace, TraceAnimal, TraceFrame
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur, BlurKind, Box, Origin


def frame(
    number: int, *blurs_px: float | None, choice: Choice | None = Choice.LEAVE, width_px: int | None = 6000
) -> TraceFrame:
    animals = tuple(
        TraceAnimal(i, i, Box(10, 20, 300, 200), 0.9, Origin.FOUND, blur and blurred(blur), 0.05, False)
        for i, blur in enumerate(blurs_px)
    )
    return TraceFrame(
        number,
        number,
        Path(f"/p/{number}.jpg"),
        None,
        True,
        False,
        width_px,
        4000,
        animals,
        choice,
        "",
        math.nan,
        None,
        None,
    )


def blurred(blur_px: float) -> Blur:
    return Blur(blur_px, 0.9 * blur_px, 1.1 * blur_px, blur_px, blur_px, None, BlurKind.SHARP)


def burst(*frames: TraceFrame) -> BurstTrace:
    return BurstTrace(1, "P1", 1, None, frames)
