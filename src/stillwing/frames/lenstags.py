"""Focal range and widest apertures of a lens, by the tags of a picture taken through it."""

import math
import re

from stillwing.frames.exif import ExifValues
from stillwing.frames.told import Sure, Told

__all__ = ["focal_range_told", "widest_told"]

SPECIFICATION_KEYS = (
    ("Photo.LensSpecification", "LensSpecification"),
    ("Image.LensInfo", "LensInfo"),
    ("Nikon3.Lens", "maker's lens tag"),
)
"""Four numbers: shortest and longest focal length, widest f-number at each (Exif 2.32, tag 0xA432)."""

SHORTEST_MM, LONGEST_MM = 0.5, 5000.0
SMALLEST_F, LARGEST_F = 0.5, 64.0

NOT_WIDER_THAN_USED = 2 ** (1 / 12)
"""A widest aperture this much narrower than the one used is no widest aperture: a sixth of a stop is rounding."""

SAME_FOCAL_LENGTH = 0.02

_F_NUMBER = re.compile(r"F(\d+(?:\.\d+)?)")


def focal_range_told(exif: ExifValues, focal_length_mm: float | None) -> Told[tuple[float, float]] | None:
    """Return the lens's shortest and longest focal length, or the one that was used, twice. [mm]"""
    for key, tag in SPECIFICATION_KEYS:
        numbers = exif.numbers(key)
        if len(numbers) == 4 and _is_range(numbers[0], numbers[1]):
            return Told((numbers[0], numbers[1]), tag, Sure.EXACT)
    for shortest, longest in (_range_in_units(exif), _range_by_ends(exif)):
        if _is_range(shortest, longest):
            return Told((shortest, longest), "maker's lens tag", Sure.EXACT)
    if focal_length_mm is None or not _is_range(focal_length_mm, focal_length_mm):
        return None
    return Told((focal_length_mm, focal_length_mm), "FocalLength", Sure.ONE_SETTING)


def widest_told(
    exif: ExifValues,
    focal: Told[tuple[float, float]] | None,
    focal_length_mm: float | None,
    f_number: float | None,
) -> tuple[Told[tuple[float, float]] | None, tuple[str, ...]]:
    """Return the widest f-number at the shortest and at the longest focal length, and remarks.

    Parameters
    ----------
    exif : ExifValues
        The picture's tags.
    focal : Told, optional
        The lens's focal range, as `focal_range_told` gives it. [mm]
    focal_length_mm, f_number : float, optional
        What the picture was taken with.

    Returns
    -------
    told : Told, optional
        Both f-numbers. ``None`` where they are not told, or only somewhere along the zoom.
    remarks : tuple of str
        What is known of the widest aperture where the ends are not.
    """
    for key, tag in SPECIFICATION_KEYS:
        numbers = exif.numbers(key)
        # 0/0 stands for an aperture that is not known.
        if len(numbers) == 4 and all(SMALLEST_F <= number <= LARGEST_F for number in numbers[2:]):
            return Told((numbers[2], numbers[3]), tag, Sure.EXACT), ()
    widest = _widest_at_setting(exif)
    if widest is None or focal is None:
        return None, ()
    if f_number is not None and widest.value > f_number * NOT_WIDER_THAN_USED:
        return None, (
            f"{widest.tag} says that f/{widest.value:.2g} is the widest aperture, but f/{f_number:g} was used",
        )
    return _at_both_ends(widest, focal, focal_length_mm)


def _at_both_ends(
    widest: Told[float], focal: Told[tuple[float, float]], focal_length_mm: float | None
) -> tuple[Told[tuple[float, float]] | None, tuple[str, ...]]:
    value, (shortest, longest) = round(widest.value, 2), focal.value
    if longest / shortest - 1 <= SAME_FOCAL_LENGTH:
        sure = Sure.ONE_SETTING if focal.sure is Sure.ONE_SETTING else Sure.ROUNDED
        return Told((value, value), widest.tag, sure), ()
    where = "somewhere along the zoom" if focal_length_mm is None else f"at {focal_length_mm:g} mm"
    return None, (f"the widest aperture is f/{value:.2g} {where}; what it is at the ends is not told",)


def _widest_at_setting(exif: ExifValues) -> Told[float] | None:
    for group in ("Photo", "Image"):
        apex = exif.number(f"{group}.MaxApertureValue", 0.01, 12.0)
        if apex is not None:
            return Told(math.sqrt(2.0) ** apex, "MaxApertureValue", Sure.ROUNDED)
    match = _F_NUMBER.fullmatch(exif.printed("CanonCs.MaxAperture") or "")
    if match is None or not SMALLEST_F <= float(match[1]) <= LARGEST_F:
        return None
    return Told(float(match[1]), "maker's aperture tag", Sure.ROUNDED)


def _range_in_units(exif: ExifValues) -> tuple[float, float]:
    numbers = exif.numbers("CanonCs.Lens")
    if len(numbers) != 3 or not numbers[2] > 0:
        return math.nan, math.nan
    longest, shortest, units_per_mm = numbers
    return shortest / units_per_mm, longest / units_per_mm


def _range_by_ends(exif: ExifValues) -> tuple[float, float]:
    ends = [exif.number(f"OlympusEq.{end}FocalLength", SHORTEST_MM, LONGEST_MM) for end in ("Min", "Max")]
    shortest, longest = (math.nan if end is None else end for end in ends)
    return shortest, longest


def _is_range(shortest: float, longest: float) -> bool:
    return SHORTEST_MM <= shortest <= longest <= LONGEST_MM
