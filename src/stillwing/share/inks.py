"""The look on paper and in files that stand alone: colours and words of figures, as docs/look.md sets them."""

import math
from dataclasses import dataclass

from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur
from stillwing.frames.sharpfor import print_width_cm

__all__ = [
    "DARK",
    "GRID_PX",
    "LIGHT",
    "PRINT_PPI",
    "Inks",
    "blur_words",
    "choice_words",
    "height_in_trace",
    "mark_radius",
    "usable_words",
]

PRINT_PPI = 240.0
"""Resolution at which a usable width is also told as a width in print."""

FLOOR_PX, CEILING_PX = 8.0, 0.5
"""Ends of the blur axis: soft at the bottom, sharp at the top; what lies beyond stands at the end."""


GRID_PX = (1.0, 2.0, 4.0)
"""Blurs at which a trace has a line."""


@dataclass(frozen=True, slots=True)
class Inks:
    """The colours of docs/look.md that a sheet uses; ``tests/share/test_inks.py`` holds them to that page."""

    paper: str
    raised: str
    ink: str
    ink_soft: str
    rule: str
    grid: str
    accent: str


LIGHT = Inks("#fbfcfa", "#ffffff", "#12171c", "#434d55", "#87929a", "#e3e8e4", "#0a4a9e")
DARK = Inks("#0f1419", "#171e25", "#f1f4f5", "#b9c4cb", "#67747e", "#252e36", "#8cc1ff")


def blur_words(blur: Blur | None) -> str:
    """Return a blur with its 90 % interval and unit, in the digits that the interval allows."""
    if blur is None:
        return "blur not measured"
    digits = 2 if blur.blur_high_px - blur.blur_low_px < 1 else 1
    low, high = f"{blur.blur_low_px:.{digits - 1}f}", f"{blur.blur_high_px:.{digits - 1}f}"
    return f"blur {blur.blur_px:.{digits}f} px ({low} to {high})"


def choice_words(choice: Choice, *, is_by_hand: bool) -> str:
    """Return a choice and whose it is."""
    return f"{choice}, {'decided' if is_by_hand else 'proposed'}"


def usable_words(usable_width_px: float) -> str:
    """Return the usable width in pixels and in print; empty where it is not known."""
    if math.isnan(usable_width_px):
        return ""
    width_cm = print_width_cm(usable_width_px, PRINT_PPI)
    return f"usable to {usable_width_px:.0f} px wide, {width_cm:.0f} cm at {PRINT_PPI:.0f} ppi"


def height_in_trace(blur_px: float) -> float:
    """Return how high a blur stands in a trace, 0 (soft) to 1 (sharp), on a logarithmic scale."""
    share = math.log(FLOOR_PX / blur_px) / math.log(FLOOR_PX / CEILING_PX)
    return min(1.0, max(0.0, share))


def mark_radius(choice: Choice) -> float:
    """Return the radius of the ring round a frame's point, as docs/look.md draws the marks."""
    return {Choice.KEEP: 5.0, Choice.SPARE: 3.4, Choice.LEAVE: 0.0}[choice]
