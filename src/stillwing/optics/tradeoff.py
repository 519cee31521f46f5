"""What is drawn over the plane of settings: lines of equal ISO, where sharpness and quiet end, and any one point."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.optics.answer import Answer, Setting, settings_at
from stillwing.optics.engraved import exposure_words, f_number_words
from stillwing.optics.expected import Expected, expected_frames
from stillwing.optics.exposure import exposure_for
from stillwing.optics.noise import iso_of_snr
from stillwing.optics.plane import Plane, plane
from stillwing.optics.prediction import animal_variances, camera_variance, diffraction_variance
from stillwing.optics.question import Question, pose

__all__ = ["Line", "LineKind", "Point", "TradeOff", "camera_iso", "point_at", "trade_off"]

Reals = NDArray[np.float64]
SAMPLES = 73
"""Along a line, from the widest to the narrowest aperture."""
BEYOND = 8.0
"""A line that leaves the plane goes on to this many times its longest or this part of its shortest exposure."""
NAMES_STEP = 0.6
"""What is typed means the nearest step of the plane, if it lies this near, in steps: engraved names are rounded."""


class LineKind(StrEnum):
    """What a line of the plane marks."""

    ISO = "iso"
    BODY_SHARP = "body sharp"
    PART_SHARP = "part sharp"
    NOISE_SEEN = "noise seen"


@dataclass(frozen=True, slots=True)
class Line:
    """A line over the plane, from the widest aperture to the narrowest; parts of it may lie beyond the plane."""

    kind: LineKind
    iso: float | None
    """Where one ISO holds along it."""
    f_numbers: tuple[float, ...]
    exposures_s: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class TradeOff:
    """The plane of an answer, and the lines over it."""

    plane: Plane
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Point:
    """One setting of the plane, and what it would give."""

    setting: Setting
    is_possible: bool
    """Whether the kit has the ISO that the light asks for there."""
    expected: Expected


def trade_off(answer: Answer) -> TradeOff:
    """Return the plane of an answer with its lines.

    A line is left out where it does not cross the plane, and where nothing on it can be sharp.
    """
    question = pose(answer.kit, answer.subject, answer.wish, answer.distance_m)
    shown = plane(question)
    lines = (*_iso_lines(question, shown), *_sharp_lines(question, shown), *_noise_line(question, shown))
    return TradeOff(shown, lines)


def point_at(answer: Answer, f_number: float, exposure_s: float) -> Point:
    """Return the setting of an answer's plane that is meant by an f-number and an exposure.

    Parameters
    ----------
    answer : Answer
        To the question.
    f_number, exposure_s : float
        As engraved or exact. [-, s]

    Raises
    ------
    InputError
        If the plane has no such f-number or exposure.
    """
    question = pose(answer.kit, answer.subject, answer.wish, answer.distance_m)
    shown = plane(question)
    along = _step("the f-number", f_number, shown.f_numbers, 1 / 6, f_number_words)
    up = _step("the exposure", exposure_s, shown.exposures_s, 1 / 3, exposure_words)
    at = along * len(shown.exposures_s) + up
    exact = shown.settings[at]
    iso = camera_iso(exact.iso)
    columns = (np.array([one]) for one in (exact.f_number, exact.exposure_s, iso))
    (setting,) = settings_at(question, *columns)
    rate = answer.kit.camera.frames_per_s
    expected = expected_frames(question, answer.subject, rate, exact.f_number, exact.exposure_s)
    return Point(setting, shown.is_possible[at], expected)


def camera_iso(iso: float) -> float:
    """Return the third of a stop that a camera would set for ``iso``; one that the kit lacks is rounded alike."""
    return float(100 * 2 ** (round(3 * math.log2(iso / 100)) / 3))


def _step(what: str, value: float, steps: tuple[float, ...], step: float, words: Callable[[float], str]) -> int:
    away = np.abs(np.log2(np.asarray(steps) / value)) / step
    nearest = int(away.argmin())
    if not away[nearest] <= NAMES_STEP:
        raise InputError(f"{what} is {words(value)}; here it lies between {words(steps[0])} and {words(steps[-1])}")
    return nearest


def _iso_lines(question: Question, shown: Plane) -> tuple[Line, ...]:
    """Return the lines of whole stops of ISO, counted from ISO 100, that the kit has and that cross the plane."""
    q = question
    low, high = (math.log2(end / 100) for end in (float(q.lowest_iso[0]), float(q.highest_iso[0])))
    stops = range(math.ceil(low - 0.1), math.floor(high + 0.1) + 1)
    lines = (_iso_line(LineKind.ISO, question, shown, 100.0 * 2.0**stop) for stop in stops)
    return tuple(line for line in lines if line is not None)


def _noise_line(question: Question, shown: Plane) -> tuple[Line, ...]:
    """Return the line above which noise is seen in the picture as shown."""
    q = question
    wanted_per_pixel = q.snr_wanted / np.maximum(q.frame_width_px / q.shown_width_px, 1.0)
    iso = float(iso_of_snr(wanted_per_pixel, q.electrons_at_white, q.lowest_iso, q.read_noise_e)[0])
    line = _iso_line(LineKind.NOISE_SEEN, question, shown, iso)
    return () if line is None else (line,)


def _iso_line(kind: LineKind, question: Question, shown: Plane, iso: float) -> Line | None:
    f_numbers = _f_numbers(shown)
    exposures = exposure_for(question.ev100[0], f_numbers * question.bellows[0], iso)
    if not _crosses(exposures, shown):
        return None
    return Line(kind, iso, tuple(map(float, f_numbers)), tuple(map(float, exposures)))


def _sharp_lines(question: Question, shown: Plane) -> tuple[Line, ...]:
    """Return the longest exposures at which the whole body, and its sharpest part, still look sharp."""
    q = question
    f_numbers = _f_numbers(shown)
    still = camera_variance(q)[:, None] + diffraction_variance(q, f_numbers[None, :])
    kinds = (LineKind.BODY_SHARP, LineKind.PART_SHARP)
    lines = []
    for kind, depth in zip(kinds, animal_variances(q, f_numbers[None, :]), strict=True):
        left = q.blur_limit_px[0] ** 2 - (still + depth)[0]
        exposures = _longest_within(q, shown, left)
        if _crosses(exposures, shown):
            inside = _with_ends(exposures > 0)
            away = np.maximum(exposures[inside], shown.exposures_s[0] / BEYOND)
            lines.append(Line(kind, None, tuple(map(float, f_numbers[inside])), tuple(map(float, away))))
    return tuple(lines)


def _longest_within(question: Question, shown: Plane, left: Reals) -> Reals:
    """Return the exposure whose motion takes up the variance that is left; 0 where nothing is. [s]"""
    q = question
    speed = float((q.moving_mm_s / q.pitch_mm)[0])
    longest = shown.exposures_s[-1] * BEYOND
    if speed == 0:
        return np.where(left > 0, longest, 0.0)
    return np.asarray(np.minimum(np.sqrt(24 * np.maximum(left, 0.0)) / speed, longest), np.float64)


def _with_ends(inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return a run of true entries with its neighbours, so that a line ends outside the plane and not in the air."""
    wider = inside.copy()
    wider[1:] |= inside[:-1]
    wider[:-1] |= inside[1:]
    return wider


def _f_numbers(shown: Plane) -> Reals:
    # The cells of the first and last step reach half a third of a stop further.
    return np.geomspace(shown.f_numbers[0] / 2 ** (1 / 12), shown.f_numbers[-1] * 2 ** (1 / 12), SAMPLES)


def _crosses(exposures: Reals, shown: Plane) -> bool:
    return bool(((exposures > shown.exposures_s[0]) & (exposures < shown.exposures_s[-1])).any())
