"""Figures in words, each with its unit, in as many digits as they carry."""

import math
import re
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from stillwing.fieldbook.toldwords import count, number
from stillwing.frames.frame import Tags
from stillwing.frames.measured import BlurKind, Origin

__all__ = [
    "FILTERS",
    "file_name",
    "interval",
    "kind_words",
    "origin_words",
    "percent",
    "pixels",
    "settings",
]

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

NOT_MEASURED = "not measured"


def pixels(value_px: float | None) -> str:
    """Return a blur or length in pixels: two decimals below 1, one below 10, none above.

    Examples
    --------
    >>> pixels(0.834), pixels(3.14159), pixels(5184.0)
    ('0.83 px', '3.1 px', '5184 px')
    """
    if value_px is None or math.isnan(value_px):
        return NOT_MEASURED
    return f"{_figure(value_px)} px"


def interval(low_px: float, value_px: float, high_px: float) -> str:
    """Return the ends of the interval round a value, in the value's digits.

    Examples
    --------
    >>> interval(0.669, 1.13, 1.887)
    '0.7 to 1.9 px'
    """
    digits = _digits(value_px)
    return f"{low_px:.{digits}f} to {high_px:.{digits}f} px"


def percent(share: float | None) -> str:
    """Return a share from 0 to 1 in percent."""
    if share is None or math.isnan(share):
        return NOT_MEASURED
    value = share * 100
    return f"{value:.1f} %" if 0.05 <= value < 1 else f"{value:.0f} %"


def seconds(value_s: float) -> str:
    """Return a duration: in milliseconds below a tenth of a second."""
    if value_s < 0.1:
        return f"{value_s * 1000:.0f} ms"
    return f"{value_s:.2f} s" if value_s < 10 else f"{value_s:.0f} s"


def exposure(value_s: float) -> str:
    """Return an exposure time as cameras show it.

    Examples
    --------
    >>> exposure(1 / 2000), exposure(0.5)
    ('1/2000 s', '0.5 s')
    """
    return f"1/{1 / value_s:.0f} s" if value_s < 0.3 else f"{value_s:g} s"


def settings(tags: Tags) -> str:
    """Return what the camera was set to, as far as the file tells; empty where it tells nothing."""
    told = [
        None if tags.exposure_s is None or tags.exposure_s <= 0 else exposure(tags.exposure_s),
        None if tags.f_number is None else f"f/{tags.f_number:g}",
        None if tags.iso is None else f"ISO {tags.iso}",
        None if tags.focal_length_mm is None else f"{tags.focal_length_mm:g} mm",
        None if tags.focus_distance_m is None else f"focused at {tags.focus_distance_m:.3g} m",
    ]
    return " · ".join(one for one in told if one)


def clock(when: datetime | None) -> str:
    """Return the camera's time of day."""
    return "no clock" if when is None else f"{when:%H:%M:%S}"


def day(when: datetime) -> str:
    """Return a date in words, the same in every language setting of the machine."""
    return f"{when.day} {MONTHS[when.month - 1]} {when.year}"


def file_name(path: Path) -> str:
    """Return the name of a file; odd bytes in it are shown as question marks."""
    return path.name.encode("utf-8", "replace").decode()


def kind_words(kind: BlurKind) -> str:
    """Return what the blur looks like, in words."""
    return {
        BlurKind.SHARP: "sharp",
        BlurKind.DEFOCUS: "out of focus",
        BlurKind.MOTION: "moved",
        BlurKind.MIXED: "out of focus and moved",
    }[kind]


def origin_words(origin: Origin) -> str:
    """Return how the box came about, in words."""
    return {
        Origin.FOUND: "found in this frame",
        Origin.FOLLOWED: "followed from its neighbours",
        Origin.DRAWN: "drawn by hand",
    }[origin]


def capitalize_first(text: str) -> str:
    """Return ``text`` with its first letter large, the rest as it is; an f-number keeps its small f.

    Examples
    --------
    >>> capitalize_first("two frames"), capitalize_first("f/9 would do")
    ('Two frames', 'f/9 would do')
    """
    return text if text.startswith("f/") else text[:1].upper() + text[1:]


def held_together(text: str) -> str:
    r"""Return ``text`` with each figure held to its unit, so that no line breaks between them.

    Examples
    --------
    >>> held_together("gone 40 s: 9 % chance")
    'gone 40\xa0s: 9\xa0% chance'
    """
    return re.sub(r"(?<=\d) (?=(?:s|min|h|%|ms|m|mm|px)\b|%)", "\N{NO-BREAK SPACE}", text)


FILTERS: dict[str, Callable[..., str]] = {
    "capitalize_first": capitalize_first,
    "clock": clock,
    "count": count,
    "day": day,
    "exposure": exposure,
    "file_name": file_name,
    "held_together": held_together,
    "interval": interval,
    "number": number,
    "percent": percent,
    "pixels": pixels,
    "seconds": seconds,
}


def _figure(value: float) -> str:
    return f"{value:.{_digits(value)}f}"


def _digits(value: float) -> int:
    return 2 if abs(value) < 1 else 1 if abs(value) < 10 else 0
