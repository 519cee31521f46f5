"""Numbers cut into the levels that people speak of: whole stops, distances, angles to the wind, hours.

A level is named by what was used within it: where all bursts of a whole stop were taken at 1/3200 s it says so, and
where there were several it says from which to which.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from stillwing.errors import InputError
from stillwing.optics.engraved import exposure_words, f_number_words, iso_words

__all__ = ["NUMBER_FACTORS", "Level", "levels_of"]

DISTANCES_M = (0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)
"""Steps that roughly double, as focus scales are engraved (common practice, no source). [m]"""
WIND_STEP_DEG = 30.0
N_PARTS = 3
"""A number without levels of its own is cut into so many parts with alike numbers of bursts (a choice, no source)."""
ALIKE = 1e-9
"""So that a value that stands on the border but for rounding falls where it belongs."""


@dataclass(frozen=True, slots=True)
class Level:
    """One level of a factor."""

    order: float
    """Levels of a number stand in this order; those in words by their words."""
    words: str


def levels_of(factor: str, values: Sequence[str | float | None]) -> tuple[Level | None, ...]:
    """Return the level of each burst in one factor; ``None`` where it is not known.

    Parameters
    ----------
    factor : str
        Name of the factor. Numbers of `NUMBER_FACTORS` have levels of their own; other numbers are cut into three
        parts that hold alike many bursts.
    values : sequence of str, float or None
        One per burst. Empty words and NaN are not known. Words that differ only in capitals or in spaces at their ends
        are one level.

    Raises
    ------
    InputError
        If some values are words and some are numbers, or a number cannot be what the factor says.

    Examples
    --------
    >>> [level.words for level in levels_of("exposure_s", [1 / 3200, 1 / 3225, 1 / 2000, 1 / 1600])]
    ['1/3200 s', '1/3200 s', '1/2000 to 1/1600 s', '1/2000 to 1/1600 s']
    >>> [level.words for level in levels_of("wind_angle_deg", [10, -29, 75])]
    ['0 to 30°', '0 to 30°', '60 to 90°']
    """
    words = [value for value in values if isinstance(value, str) and value.strip()]
    numbers = [value for value in values if not isinstance(value, str) and value is not None and not math.isnan(value)]
    if words and numbers:
        raise InputError(
            f"{factor} is {numbers[0]:g} in one burst and '{words[0]}' in another; it takes words or numbers"
        )
    if words:
        return _of_words(values)
    return _of_numbers(factor, [None if isinstance(value, str) else value for value in values])


def _of_words(values: Sequence[str | float | None]) -> tuple[Level | None, ...]:
    spelled: dict[str, str] = {}
    for value in values:
        if isinstance(value, str) and value.strip():
            spelled.setdefault(value.strip().casefold(), value.strip())
    return tuple(
        Level(0.0, spelled[value.strip().casefold()]) if isinstance(value, str) and value.strip() else None
        for value in values
    )


def _of_numbers(factor: str, values: Sequence[float | None]) -> tuple[Level | None, ...]:
    known = [float(value) for value in values if value is not None and not math.isnan(value)]
    if not known:
        return tuple(None for _ in values)
    step_of, name = NUMBER_FACTORS.get(factor) or (_parts(known), _range_name)
    found = [None if value is None or math.isnan(value) else step_of(float(value)) for value in values]
    inside: dict[float, list[float]] = {}
    for value, step in zip(values, found, strict=True):
        if value is not None and step is not None:
            inside.setdefault(step, []).append(float(value))
    named = {step: Level(step, name(step, within)) for step, within in inside.items()}
    return tuple(None if step is None else named[step] for step in found)


def _parts(known: Sequence[float]) -> Callable[[float], float]:
    borders = np.unique(np.quantile(known, [part / N_PARTS for part in range(1, N_PARTS)]))
    return lambda value: float(np.searchsorted(borders, value - ALIKE))


def _range_name(_: float, within: Sequence[float]) -> str:
    low, high = f"{min(within):.3g}", f"{max(within):.3g}"
    return low if low == high else f"{low} to {high}"


def _stop_of_exposure(value: float) -> float:
    return _nearest(math.log2(_above_zero("exposure_s", value, "s")))


def _stop_of_iso(value: float) -> float:
    return _nearest(math.log2(_above_zero("iso", value, "ISO") / 100.0))


def _third_of_f_number(value: float) -> float:
    # Engraved f-numbers are what one sets; f/5.6 and f/8 differ in depth enough to be told apart from f/6.3.
    return _nearest(6.0 * math.log2(_above_zero("f_number", value, "(f/N)")))


def _half_stop_of_focal_length(value: float) -> float:
    # From one to the next the animal's area in the picture doubles.
    return _nearest(2 * math.log2(_above_zero("focal_length_mm", value, "mm")))


def _distance_step(value: float) -> float:
    return float(np.searchsorted(DISTANCES_M, _above_zero("distance_m", value, "m"), side="right"))


def _wind_step(value: float) -> float:
    # Which side shows makes no difference to how hard it is; 0 looks at you, 180 away.
    folded = abs((value + 180.0) % 360.0 - 180.0)
    return min(math.floor(folded / WIND_STEP_DEG + ALIKE), 180.0 / WIND_STEP_DEG - 1.0)


def _hour_step(value: float) -> float:
    if not 0.0 <= value <= 24.0:
        raise InputError(f"hour is {value:g}; hours go from 0 to 24")
    return float(math.floor(value + ALIKE) % 24)


def _nearest(steps: float) -> float:
    return float(math.floor(steps + 0.5 + ALIKE))


def _above_zero(name: str, value: float, unit: str) -> float:
    if not 0.0 < value < math.inf:
        raise InputError(f"{name} is {value:g} {unit}; it must be more than 0")
    return value


def _span_name(name: Callable[[float], str]) -> Callable[[float, Sequence[float]], str]:
    """Return what names a level by the least and the greatest value within it, with the unit told once."""

    def named(_: float, within: Sequence[float]) -> str:
        low, high = name(min(within)), name(max(within))
        if low == high:
            return low
        for mark in ("ISO ", "f/"):
            high = high.removeprefix(mark)
        return f"{low.removesuffix(' s').removesuffix(' mm')} to {high}"

    return named


def _focal_length_name(value: float) -> str:
    return f"{value:.0f} mm"


def _distance_name(step: float, _: Sequence[float]) -> str:
    at = int(step)
    if at == 0:
        return f"under {DISTANCES_M[0]:g} m"
    if at == len(DISTANCES_M):
        return f"{DISTANCES_M[-1]:g} m and more"
    return f"{DISTANCES_M[at - 1]:g} to {DISTANCES_M[at]:g} m"


def _wind_name(step: float, _: Sequence[float]) -> str:
    return f"{step * WIND_STEP_DEG:.0f} to {(step + 1) * WIND_STEP_DEG:.0f}°"


def _hour_name(step: float, _: Sequence[float]) -> str:
    return f"{step:.0f} to {step + 1:.0f} h"


NUMBER_FACTORS: Mapping[str, tuple[Callable[[float], float], Callable[[float, Sequence[float]], str]]] = {
    "exposure_s": (_stop_of_exposure, _span_name(exposure_words)),
    "f_number": (_third_of_f_number, _span_name(f_number_words)),
    "iso": (_stop_of_iso, _span_name(iso_words)),
    "focal_length_mm": (_half_stop_of_focal_length, _span_name(_focal_length_name)),
    "distance_m": (_distance_step, _distance_name),
    "wind_angle_deg": (_wind_step, _wind_name),
    "hour": (_hour_step, _hour_name),
}
"""Numbers with levels of their own: exposure and ISO in whole stops, each engraved f-number, focal length in steps of
1.4 times, distance in steps that roughly double, the angle to the wind in 30 degrees with both sides together, the
hour of the day."""
