"""The figures of a kit as a person types them, such as 17.4x13.0 and 4.8-6.7."""

import re
from collections.abc import Callable, Mapping
from typing import Any

from stillwing.errors import InputError
from stillwing.optics.kitparts import KitParts

__all__ = ["parts_asked"]

# Not more digits than a number of the trade has: Python refuses to read thousands of them.
_FIGURE = r"(?:\d{1,9}(?:\.\d{0,20})?|\.\d{1,20})"
_ONE = re.compile(rf"({_FIGURE})")
_SHARE = re.compile(rf"({_FIGURE})(?:/({_FIGURE}))?")
_RANGE = re.compile(rf"({_FIGURE})(?:-({_FIGURE}))?")
_BOTH = re.compile(rf"({_FIGURE})-({_FIGURE})")
_SIZE = re.compile(rf"({_FIGURE})[x×]({_FIGURE})")
_WHOLE_SIZE = re.compile(r"(\d{1,7})[x×](\d{1,7})")

_Reader = Callable[[str, str], dict[str, float]]
"""From an option and what was typed after it to the fields of a kit."""


def parts_asked(words: Mapping[str, Any]) -> KitParts:
    """Return what the options say of a kit.

    Parameters
    ----------
    words : mapping
        What was typed after each option, by the name of the command's parameter, such as ``look_back``; ``None`` where
        the option was not given. Other parameters are passed over.

    Returns
    -------
    KitParts
        Without a value for each option not given.

    Raises
    ------
    InputError
        If a figure cannot be read; the sentence says what came and what would be right.
    """
    known: dict[str, Any] = {}
    for option, read in _READERS.items():
        typed = words.get(option)
        if typed is not None:
            known |= read(f"--{option.replace('_', '-')}", typed)
    return KitParts(**known)


def _number(field: str, example: str) -> _Reader:
    def read(option: str, typed: str) -> dict[str, float]:
        return {field: float(_matched(_ONE, option, typed, f"one number, such as {example}")[1])}

    return read


def _seconds(field: str, example: str) -> _Reader:
    def read(option: str, typed: str) -> dict[str, float]:
        match = _matched(_SHARE, option, typed, f"seconds, such as {example} or 0.02")
        under = float(match[2] or 1)
        if not under:
            raise InputError(f"{option} is {typed!r}, a share of nothing; write seconds, such as {example} or 0.02")
        return {field: float(match[1]) / under}

    return read


def _range(low: str, high: str, example: str) -> _Reader:
    def read(option: str, typed: str) -> dict[str, float]:
        match = _matched(_RANGE, option, typed, f"one number or two with a dash between, such as {example}")
        return {low: float(match[1]), high: float(match[2] or match[1])}

    return read


def _iso(option: str, typed: str) -> dict[str, float]:
    match = _matched(_BOTH, option, typed, "the lowest and the highest with a dash between, such as 200-25600")
    return {"lowest_iso": float(match[1]), "highest_iso": float(match[2])}


def _sensor(option: str, typed: str) -> dict[str, float]:
    match = _matched(_SIZE, option, typed, "width and height in mm with an x between, such as 17.4x13.0")
    return {"sensor_width_mm": float(match[1]), "sensor_height_mm": float(match[2])}


def _pixels(option: str, typed: str) -> dict[str, float]:
    match = _matched(_WHOLE_SIZE, option, typed, "width and height with an x between, such as 5184x3888")
    return {"width_px": int(match[1]), "height_px": int(match[2])}


def _matched(pattern: re.Pattern[str], option: str, typed: str, right: str) -> re.Match[str]:
    match = pattern.fullmatch(typed.strip().replace(" ", ""))
    if match is None:
        raise InputError(f"{option} is {typed!r}; write {right}")
    return match


_READERS: dict[str, _Reader] = {
    "sensor": _sensor,
    "pixels": _pixels,
    "focal": _range("shortest_mm", "longest_mm", "75-300"),
    "aperture": _range("widest_at_shortest", "widest_at_longest", "4.8-6.7"),
    "narrowest": _number("narrowest", "22"),
    "closest": _number("closest_focus_m", "1.3"),
    "magnification": _number("largest_magnification", "0.25"),
    "rate": _number("frames_per_s", "18"),
    "look_back": _number("look_back_s", "0.5"),
    "readout": _seconds("readout_s", "1/60"),
    "iso": _iso,
    "shortest": _seconds("shortest_s", "1/8000"),
    "converter": _number("teleconverter", "1.4"),
}
