"""What a picture is wanted for, in the photographer's words, and how wide that is."""

import re
from dataclasses import dataclass

from stillwing.errors import InputError
from stillwing.optics.usable import blur_limit

__all__ = ["CM_PER_INCH", "DEFAULT_SHARP_FOR", "SharpFor", "parse_sharp_for", "print_width_cm"]

CM_PER_INCH = 2.54
DEFAULT_SHARP_FOR = "print 30 cm at 240 ppi"
"""What is asked of a keeper, and of settings, unless the photographer says otherwise."""

LARGEST_WIDTH_PX = 200_000
LARGEST_WIDTH_CM = 1000.0
LARGEST_PPI = 2400.0

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_PRINT = re.compile(rf"print\s+{_NUMBER}\s*cm\s+at\s+{_NUMBER}\s*ppi")
_SCREEN = re.compile(r"screen\s+(\d+)(?:\s*px)?")


@dataclass(frozen=True, slots=True)
class SharpFor:
    """The output that a keeper must be sharp for.

    ``text`` is its normal form, which `parse_sharp_for` reads back; ``width_px`` is the width asked for, ``None`` for
    the frame's own full size.
    """

    text: str
    width_px: float | None

    def needed_width(self, frame_width_px: float) -> float:
        """Return how wide the whole frame must stay sharp. [px]

        Never wider than the frame: a frame of fewer pixels than asked for is limited by those, not by its blur.
        """
        return frame_width_px if self.width_px is None else min(self.width_px, frame_width_px)

    def blur_limit(self, frame_width_px: float) -> float:
        """Return the largest blur in the original that this output hides. [px]"""
        return float(blur_limit(self.needed_width(frame_width_px), frame_width_px))


def parse_sharp_for(text: str) -> SharpFor:
    """Return the output that ``text`` names.

    Parameters
    ----------
    text : str
        ``full``, ``print 30 cm at 240 ppi`` or ``screen 2560``; widths are those of the whole frame as it stands.

    Raises
    ------
    InputError
        If the text is none of these, or a figure is out of range.

    Examples
    --------
    >>> parse_sharp_for("print 25.4 cm at 300 ppi").width_px
    3000.0
    >>> parse_sharp_for("screen 2560px").text
    'screen 2560'
    """
    words = " ".join(text.lower().split())
    if words == "full":
        return SharpFor("full", None)
    if match := _PRINT.fullmatch(words):
        width_cm, ppi = (float(figure.replace(",", ".")) for figure in match.groups())
        _check("print width", width_cm, 1.0, LARGEST_WIDTH_CM, "cm")
        _check("print resolution", ppi, 10.0, LARGEST_PPI, "ppi")
        return SharpFor(f"print {width_cm:g} cm at {ppi:g} ppi", width_cm / CM_PER_INCH * ppi)
    if match := _SCREEN.fullmatch(words):
        width_px = float(match.group(1))
        _check("screen width", width_px, 16, LARGEST_WIDTH_PX, "px")
        return SharpFor(f"screen {width_px:.0f}", width_px)
    raise InputError(
        f"sharp for {text!r} is not an output: write 'full', 'print 30 cm at 240 ppi' or 'screen 2560'",
    )


def print_width_cm(width_px: float, ppi: float) -> float:
    """Return the width on paper of ``width_px`` pixels at ``ppi``. [cm]"""
    return width_px / ppi * CM_PER_INCH


def _check(name: str, value: float, low: float, high: float, unit: str) -> None:
    if not low <= value <= high:
        raise InputError(f"{name} is {value:g} {unit}; it must lie between {low:g} and {high:g} {unit}")
