"""How finely a camera wrote the focus distance: the step of each tag that tells it."""

from collections.abc import Callable

from stillwing.frames.exif import ExifValues
from stillwing.frames.makernotes import focus_distance
from stillwing.optics.subject import Range

__all__ = ["LENS_SHARE", "focus_range", "written_range"]

LENS_SHARE = 0.02
"""How well a lens knows its own focus at best, as a share, however many digits are written; a choice, no source."""
STEPS_PER_DECADE = 40
"""Of the tags that hold one byte on a logarithmic scale (libexiv2 0.28's formula)."""
LARGEST_DENOMINATOR = 1000

BOUNDED_KEYS = ("CanonFi.FocusDistanceUpper", "CanonFi.FocusDistanceLower")
LOGARITHMIC_KEYS = ("NikonLd4.FocusDistance", "NikonLd3.FocusDistance", "NikonLd2.FocusDistance")
CENTIMETRE_KEYS = ("CanonSi.SubjectDistance",)
MILLIMETRE_KEYS = (
    "OlympusFi.FocusDistance",
    "Casio2.ObjectDistance",
    "Casio.ObjectDistance",
    "MinoltaCsNew.FocusDistance",
    "MinoltaCsOld.FocusDistance",
)
RATIONAL_KEYS = ("Photo.SubjectDistance", "Image.SubjectDistance", "Nikon3.FocusDistance", "Nikon1.FocusDistance")


def focus_range(exif: ExifValues) -> Range | None:
    """Return the focus distance with the step that it was written in, or ``None`` where the file tells none. [m]

    The distance is the one that `stillwing.frames.makernotes.focus_distance` reads; this finds the tag that it came
    from and how far the next value of that tag would be.
    """
    distance = focus_distance(exif)
    if distance is None:
        return None
    for step_of in STEPS:
        step = step_of(exif, distance)
        if step is not None:
            return written_range(distance, step)
    return written_range(distance, _decimals(distance))


def written_range(distance_m: float, step_m: float) -> Range:
    """Return a written distance with half a step to either side, and no less than a lens knows itself. [m]"""
    half = max(step_m / 2, LENS_SHARE * distance_m)
    return Range(max(distance_m - half, distance_m / 2), distance_m, distance_m + half)


def _rational_step(exif: ExifValues, distance: float) -> float | None:
    for key in RATIONAL_KEYS:
        told = exif.number(key, 0.0, 1e6)
        over = exif.numerator(key)
        if told and over and abs(told - distance) < 1e-6 * distance:
            return max(told / over, 1 / LARGEST_DENOMINATOR, _decimals(told))
    return None


def _bounded_step(exif: ExifValues, distance: float) -> float | None:
    upper, lower = (exif.number(key, 1, 65000) for key in BOUNDED_KEYS)
    if upper is None or lower is None or abs((upper + lower) / 200 - distance) > 1e-6 * distance:
        return None
    return max((upper - lower) / 100, 0.01)


def _logarithmic_step(exif: ExifValues, distance: float) -> float | None:
    for key in LOGARITHMIC_KEYS:
        told = exif.number(key, 1, 254)
        if told is not None and abs(0.01 * 10 ** (told / STEPS_PER_DECADE) - distance) < 1e-6 * distance:
            return float(distance * (10 ** (1 / STEPS_PER_DECADE) - 1))
    return None


def _even_step(exif: ExifValues, distance: float) -> float | None:
    for keys, step in ((CENTIMETRE_KEYS, 0.01), (MILLIMETRE_KEYS, 0.001)):
        if any(key in exif for key in keys):
            return step
    return None


STEPS: tuple[Callable[[ExifValues, float], float | None], ...] = (
    _rational_step,
    _bounded_step,
    _logarithmic_step,
    _even_step,
)


def _decimals(distance_m: float) -> float:
    """Return the place of the last decimal that is not 0, 1 m at most: 3.2 m was written in tenths."""
    for step in (1.0, 0.1, 0.01):
        if abs(distance_m / step - round(distance_m / step)) < 1e-6:
            return step
    return 0.001
