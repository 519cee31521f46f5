"""The two small drawings of a contact sheet as plain geometry, so that paper and page draw the same."""

import math
from dataclasses import dataclass

from stillwing.frames.chosen import Choice
from stillwing.share.inks import GRID_PX, height_in_trace
from stillwing.share.plates import Plate, Specimen

__all__ = [
    "GridLine",
    "PlaceFigure",
    "ScaleBar",
    "TraceFigure",
    "TracePoint",
    "place_figure",
    "scale_bar",
    "trace_figure",
]

TRACE_WIDTH, TRACE_HEIGHT = 216.0, 84.0
TRACE_LEFT, TRACE_AIR = 34.0, 8.0

PLACE_SIDE = 36.0
"""Longer side of the rectangle that stands for the frame."""

LEAST_MARK = 2.0

LONGEST_BAR = 96.0


@dataclass(frozen=True, slots=True)
class TracePoint:
    """A frame that the sheet shows, on the trace."""

    x: float
    y: float
    choice: Choice
    is_by_hand: bool


@dataclass(frozen=True, slots=True)
class GridLine:
    """A line of the blur axis."""

    y: float
    words: str


@dataclass(frozen=True, slots=True)
class TraceFigure:
    """A burst's blur over frame number; y runs down, in units of 1/96 inch."""

    width: float
    height: float
    left: float
    runs: tuple[tuple[tuple[float, float], ...], ...]
    """The curve, broken where no blur was measured."""
    points: tuple[TracePoint, ...]
    lines: tuple[GridLine, ...]
    words: str
    """The same for reading aloud."""

    @property
    def path(self) -> str:
        """The curve as SVG path data; a lone frame is a stroke of no length, which a pen leaves as a dot."""
        return " ".join("M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in run) + "z" * (len(run) == 1) for run in self.runs)


@dataclass(frozen=True, slots=True)
class PlaceFigure:
    """The frame as a small rectangle, with the animal's box in it; y runs down, in units of 1/96 inch."""

    width: float
    height: float
    box: tuple[float, float, float, float] | None
    """Left, top, width, height."""


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A bar that stands for a round number of pixels of the original."""

    length: float
    words: str


def scale_bar(plate: Plate) -> ScaleBar | None:
    """Return the scale of a plate's cut-outs; ``None`` where no animal was found on any of its frames."""
    if not any(one.box for one in plate.specimens):
        return None
    longest_px = LONGEST_BAR / plate.scale
    decade = 10.0 ** math.floor(math.log10(longest_px))
    length_px = max(step * decade for step in (1, 2, 5) if step * decade <= longest_px)
    return ScaleBar(round(length_px * plate.scale, 1), f"{length_px:.0f} px of the original")


def trace_figure(plate: Plate) -> TraceFigure:
    """Return the trace of a plate's burst."""
    n_frames = len(plate.blurs_px)
    room = TRACE_WIDTH - TRACE_LEFT - 2 * TRACE_AIR

    def x_of(number: int) -> float:
        return round(TRACE_LEFT + TRACE_AIR + (room * number / (n_frames - 1) if n_frames > 1 else room / 2), 1)

    runs: list[list[tuple[float, float]]] = [[]]
    for number, blur_px in enumerate(plate.blurs_px):
        if not math.isnan(blur_px):
            runs[-1].append((x_of(number), _y_of(blur_px)))
        elif runs[-1]:
            runs.append([])
    points = tuple(
        TracePoint(x_of(one.number), _y_of(one.blur.blur_px), one.choice, one.is_by_hand)
        for one in plate.specimens
        if one.blur is not None
    )
    measured = [blur_px for blur_px in plate.blurs_px if not math.isnan(blur_px)]
    span = f", {min(measured):.1f} to {max(measured):.1f} px" if measured else ""
    return TraceFigure(
        TRACE_WIDTH,
        TRACE_HEIGHT,
        TRACE_LEFT,
        tuple(tuple(run) for run in runs if run),
        points,
        tuple(GridLine(_y_of(blur_px), f"{blur_px:.0f} px") for blur_px in GRID_PX),
        f"Blur over {n_frames} frames{span}",
    )


def place_figure(specimen: Specimen) -> PlaceFigure | None:
    """Return where the animal stands in its frame; ``None`` where the size of the frame is not known."""
    if not specimen.frame_width_px or not specimen.frame_height_px:
        return None
    scale = PLACE_SIDE / max(specimen.frame_width_px, specimen.frame_height_px)
    width, height = round(specimen.frame_width_px * scale, 1), round(specimen.frame_height_px * scale, 1)
    box = specimen.box
    if box is None:
        return PlaceFigure(width, height, None)
    wide, high = max(LEAST_MARK, box.width_px * scale), max(LEAST_MARK, box.height_px * scale)
    return PlaceFigure(
        width, height, (round(box.x_px * scale, 1), round(box.y_px * scale, 1), round(wide, 1), round(high, 1))
    )


def _y_of(blur_px: float) -> float:
    return round(TRACE_AIR + (TRACE_HEIGHT - 2 * TRACE_AIR) * (1 - height_in_trace(blur_px)), 1)
