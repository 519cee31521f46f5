"""The plane of settings as its plot takes it: cells, lines, and words at the lines."""

import math
from dataclasses import dataclass
from itertools import pairwise

from stillwing.optics.answer import Answer, Setting
from stillwing.optics.engraved import exposure_words, f_number_words, iso_words
from stillwing.optics.plane import Plane
from stillwing.optics.tradeoff import Line, LineKind, TradeOff, camera_iso
from stillwing.web import words
from stillwing.web.note import blur_step
from stillwing.web.settings_view import noise_words, usable_words, verdict

__all__ = ["Cells", "LineColumns", "LineWords", "PlaneView", "plane_view"]

LIMITS = {
    LineKind.BODY_SHARP: "whole body sharp above",
    LineKind.PART_SHARP: "a part sharp above",
    LineKind.NOISE_SEEN: "noise unseen below",
}
NEAR_END = 0.3
"""In this share of the plane's width from either end, words stand to the inner side of their point."""
AT_EDGE, NO_ROOM = 0.04, 0.72
"""A line that begins nearer to the left edge comes in there; one that begins beyond leaves no room for its words."""
PLACES = (0.5, 0.25, 0.75)
"""Shares of the plane's width at which words may stand along a line."""
ROOM_STOPS = 0.45
"""Words above or below a point need that much of the plane there. [stops]"""
ALONE = 2 ** (1 / 12)
"""Half the width of a cell without neighbours, as a ratio of f-numbers."""
FEWEST_CELLS = 6
"""A hatched corner smaller than this has no room for words."""


@dataclass(frozen=True, slots=True)
class Cells:
    """One entry for each setting of the plane, f-number by f-number from the widest, the shortest exposure first."""

    left_f: tuple[float, ...]
    right_f: tuple[float, ...]
    top_s: tuple[float, ...]
    bottom_s: tuple[float, ...]
    step: tuple[int, ...]
    """Of the blur scale, over the whole body."""
    is_possible: tuple[bool, ...]
    iso: tuple[str, ...]
    blur: tuple[str, ...]
    sharpest: tuple[str, ...]
    usable: tuple[str, ...]
    noise: tuple[str, ...]
    verdict: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LineColumns:
    """The points of all lines."""

    name: tuple[str, ...]
    kind: tuple[str, ...]
    f_number: tuple[float, ...]
    exposure_s: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LineWords:
    """Words beside a point of the plane."""

    words: str
    """The same words may be offered at several places; the first that is free is theirs."""
    f_number: float
    exposure_s: float
    side: str
    """How they stand to the point; a key of `stillwing.web.settingsplot.SIDES`."""


@dataclass(frozen=True, slots=True)
class PlaneView:
    """The plane of an answer."""

    f_numbers: tuple[float, ...]
    f_words: tuple[str, ...]
    exposures_s: tuple[float, ...]
    exposure_words: tuple[str, ...]
    f_low: float
    """Edge of the first cells, as the three below."""
    f_high: float
    s_short: float
    s_long: float
    cells: Cells
    lines: LineColumns
    words: tuple[LineWords, ...]
    """The most important first; the page leaves out those that would stand on others."""
    best: tuple[int, int]
    """Step of f-number and of exposure, from 0."""
    chosen: tuple[int, int]


def plane_view(answer: Answer, made: TradeOff, chosen: Setting) -> PlaneView:
    """Return the plane with the solver's and the chosen setting."""
    shown = made.plane
    across, up = _edges(shown.f_numbers), _edges(shown.exposures_s)
    return PlaneView(
        shown.f_numbers,
        tuple(map(f_number_words, shown.f_numbers)),
        shown.exposures_s,
        tuple(map(exposure_words, shown.exposures_s)),
        across[0],
        across[-1],
        up[0],
        up[-1],
        _cells(answer, shown, across, up),
        _line_columns(made.lines),
        _line_words(made.lines, across, up, _corner_words(answer, shown, across, up)),
        _steps(shown, answer.best),
        _steps(shown, chosen),
    )


def _edges(steps: tuple[float, ...]) -> tuple[float, ...]:
    """Return where cells meet, half-way in stops; the outer ones as wide as their inner halves."""
    if len(steps) == 1:  # a lens that has one aperture
        return steps[0] / ALONE, steps[0] * ALONE
    between = [math.sqrt(one * other) for one, other in pairwise(steps)]
    return (steps[0] ** 2 / between[0], *between, steps[-1] ** 2 / between[-1])


def _steps(shown: Plane, at: Setting) -> tuple[int, int]:
    def nearest(steps: tuple[float, ...], value: float) -> int:
        return min(range(len(steps)), key=lambda i: abs(math.log(steps[i] / value)))

    return nearest(shown.f_numbers, at.f_number), nearest(shown.exposures_s, at.exposure_s)


def _cells(answer: Answer, shown: Plane, across: tuple[float, ...], up: tuple[float, ...]) -> Cells:
    places = [
        (_short(across[i]), _short(across[i + 1]), _short(up[j]), _short(up[j + 1]))
        for i in range(len(shown.f_numbers))
        for j in range(len(shown.exposures_s))
    ]
    told = [
        (
            blur_step(at.blur_px),
            is_possible,
            iso_words(camera_iso(at.iso)),
            words.pixels(at.blur_px),
            words.pixels(at.sharpest_px),
            usable_words(at),
            noise_words(answer, at),
            verdict(answer, at, is_possible=is_possible),
        )
        for at, is_possible in zip(shown.settings, shown.is_possible, strict=True)
    ]
    return Cells(*zip(*places, strict=True), *zip(*told, strict=True))


def _line_columns(lines: tuple[Line, ...]) -> LineColumns:
    points = [
        (f"{line.kind} {line.iso or 0:.0f}", line.kind.value, _short(f_number), _short(exposure_s))
        for line in lines
        for f_number, exposure_s in zip(line.f_numbers, line.exposures_s, strict=True)
    ]
    return LineColumns(*zip(*points, strict=True)) if points else LineColumns((), (), (), ())


def _short(value: float) -> float:
    # A thousandth of a stop is far below a pixel, and the page is half as long.
    return float(f"{value:.5g}")


def _line_words(
    lines: tuple[Line, ...], across: tuple[float, ...], up: tuple[float, ...], corners: tuple[LineWords, ...]
) -> tuple[LineWords, ...]:
    inside = [(line, points) for line in lines if (points := _inside(line, across, up))]
    seen = {line.kind: points for line, points in inside}
    told: list[LineWords] = []
    if LineKind.NOISE_SEEN in seen:
        points = seen[LineKind.NOISE_SEEN]
        told.append(LineWords(LIMITS[LineKind.NOISE_SEEN], *_end(points, up), "end below"))
        told += [LineWords(LIMITS[LineKind.NOISE_SEEN], *_at(points, share, across), "end below") for share in PLACES]
    for kind in (LineKind.BODY_SHARP, LineKind.PART_SHARP):
        if kind in seen:
            told += _sharp_words(kind, seen[kind], across, up)
            break  # the part's line is named alone, where the body has none
    told += corners
    told += [_iso_words(line.iso or 0.0, points, across, up) for line, points in inside if line.kind is LineKind.ISO]
    return tuple(told)


def _end(inside: list[tuple[float, float]], up: tuple[float, ...]) -> tuple[float, float]:
    """Return where a line leaves the plane, or a little before where it leaves at the bottom."""
    roomy = [point for point in inside if math.log2(up[-1] / point[1]) > ROOM_STOPS]
    return (roomy or inside)[-1]


def _iso_words(
    iso: float, inside: list[tuple[float, float]], across: tuple[float, ...], up: tuple[float, ...]
) -> LineWords:
    """Return the words of one ISO: where its line comes in, or where it leaves if that is too near the right edge."""
    begins = _share(inside[0][0], across)
    if begins > NO_ROOM:
        return LineWords(iso_words(iso), *_end(inside, up), "end below")
    from_top = begins > AT_EDGE or math.log2(inside[0][1] / up[0]) < ROOM_STOPS
    return LineWords(iso_words(iso), *inside[0], "top" if from_top else "start above")


def _share(f_number: float, across: tuple[float, ...]) -> float:
    """Return how far across the plane an f-number lies, from 0 to 1."""
    return math.log(f_number / across[0]) / math.log(across[-1] / across[0])


def _sharp_words(
    kind: LineKind, inside: list[tuple[float, float]], across: tuple[float, ...], up: tuple[float, ...]
) -> list[LineWords]:
    """Return the words of a line of sharpness: at its longest exposure, or elsewhere along it."""
    points = [max(inside, key=lambda point: point[1])] + [_at(inside, share, across) for share in PLACES]
    told = []
    for f_number, exposure_s in points:
        share = _share(f_number, across)
        end = "start" if share < NEAR_END else "end" if share > 1 - NEAR_END else "middle"
        if math.log2(exposure_s / up[0]) > ROOM_STOPS:
            told.append(LineWords(LIMITS[kind], f_number, exposure_s, f"{end} above"))
        if math.log2(up[-1] / exposure_s) > ROOM_STOPS:
            told.append(LineWords(LIMITS[kind], f_number, exposure_s, f"{end} below"))
    return told


def _at(inside: list[tuple[float, float]], share: float, across: tuple[float, ...]) -> tuple[float, float]:
    return min(inside, key=lambda point: abs(_share(point[0], across) - share))


def _inside(line: Line, across: tuple[float, ...], up: tuple[float, ...]) -> list[tuple[float, float]]:
    """Return the points of a line that are on the plane."""
    return [
        (f_number, exposure_s)
        for f_number, exposure_s in zip(line.f_numbers, line.exposures_s, strict=True)
        if across[0] <= f_number <= across[-1] and up[0] < exposure_s < up[-1]
    ]


def _corner_words(
    answer: Answer, shown: Plane, across: tuple[float, ...], up: tuple[float, ...]
) -> tuple[LineWords, ...]:
    """Return what the hatched corners lack: ISO at the top right, darkness at the bottom left."""
    camera = answer.kit.camera
    lacking = [at.iso for at, is_possible in zip(shown.settings, shown.is_possible, strict=True) if not is_possible]
    told = []
    if sum(iso > camera.highest_iso for iso in lacking) >= FEWEST_CELLS:
        told.append(LineWords(f"beyond {iso_words(camera.highest_iso)}", across[-1], up[0], "end below"))
    if sum(iso < camera.lowest_iso for iso in lacking) >= FEWEST_CELLS:
        told.append(LineWords(f"too bright at {iso_words(camera.lowest_iso)}", across[0], up[-1], "start above"))
    return tuple(told)
