"""A plan on one A4 page: head, grid, the water at the best hour, and the plan in words."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from xml.etree import ElementTree

import vl_convert

from stillwing.plan.sentences import (
    ending_sentence,
    heading_words,
    move_sentence,
    what_if_sentence,
    window_sentence,
)
from stillwing.plan.told import DayTold
from stillwing.share.plangrid import plan_grid
from stillwing.share.svgparts import FONT, PAPER, SVG, cut_short, label, tag, wrapped, xml_text
from stillwing.share.watermap import water_map

__all__ = ["plan_sheet_pdf", "plan_sheet_svg"]

WIDTH, HEIGHT, EDGE = 210.0, 297.0, 10.0
"""ISO 216, A4. [mm]"""
INNER, GUTTER = WIDTH - 2 * EDGE, 6.0
COLUMN = (INNER - GUTTER) / 2
TITLE, TEXT, LEADING = 5.0, 2.6, 3.4
GRID_HIGH, WATER_HIGH = 136.0, 84.0
FOOT = HEIGHT - EDGE
POINTS_PER_MM = 72 / 25.4


@dataclass(frozen=True, slots=True)
class _Item:
    """A sentence, or the head over some."""

    lines: tuple[str, ...]
    rank: int
    """How much it matters: 0 most. What matters least is left out first."""
    is_head: bool = False


def plan_sheet_svg(told: DayTold) -> str:
    """Return the page as one <svg>, 210 by 297 mm; what does not fit is left out, the least important first."""
    return _sheet(told, f"{WIDTH:g}mm", f"{HEIGHT:g}mm")


def plan_sheet_pdf(told: DayTold) -> bytes:
    """Return the page of `plan_sheet_svg` as PDF."""
    # The converter takes a pixel of the picture for a point of the page.
    sheet = _sheet(told, f"{WIDTH * POINTS_PER_MM:.3f}", f"{HEIGHT * POINTS_PER_MM:.3f}")
    return bytes(vl_convert.svg_to_pdf(sheet))


def _sheet(told: DayTold, width: str, height: str) -> str:
    head, below = _head(told)
    grid, grid_size = _scaled(plan_grid(told, PAPER), (INNER, GRID_HIGH), (EDGE, below))
    top = below + grid_size[1] + 5
    left = EDGE + COLUMN + GUTTER
    water, water_size = _scaled(water_map(told, _moment(told), PAPER), (COLUMN, WATER_HIGH), (left, top))
    under = top + water_size[1] + 5
    return tag(
        "svg",
        tag("title", xml_text(heading_words(told))),
        tag("rect", width=WIDTH, height=HEIGHT, fill=PAPER.ground),
        *head,
        grid,
        water,
        *_flow(_items(told), ((EDGE, top), (left, under))),
        xmlns=SVG,
        viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}",
        width=width,
        height=height,
        role="img",
        font_family=FONT,
        fill=PAPER.ink,
    )


def _head(told: DayTold) -> tuple[list[str], float]:
    """Return the head of the page and where it ends."""
    y = EDGE + TITLE
    parts = [label(cut_short(heading_words(told), INNER, TITLE), EDGE, y, TITLE)]
    question, weather = told.plan.question, told.weather
    source = weather.source if weather.weather is not None else "not known"
    credit = f". {weather.credit}" if weather.credit else ""
    focal = question.wish.focal_length_mm or question.kit.lens.longest_mm
    for words in (
        f"{question.kit.name} kit at {focal:g} mm; times of {question.zone}",
        f"Weather: {source}{credit}",
        f"Sharpness: {told.own}",
    ):
        for line in wrapped(words, INNER, TEXT)[:2]:
            y += LEADING + 0.4
            parts.append(label(line, EDGE, y, TEXT, fill=PAPER.soft))
    y += 2.5
    parts.append(tag("path", d=f"M{EDGE:g} {y:g}h{INNER:g}", stroke=PAPER.accent, stroke_width=0.3))
    return parts, y + 2


def _moment(told: DayTold) -> int:
    """Return the moment that the water is drawn at: the best of the best window, or of the day."""
    if told.windows:
        return told.windows[0].moment
    return int(told.plan.cells.keepers_h.max(axis=1).argmax())


def _scaled(svg: str, room: tuple[float, float], at: tuple[float, float]) -> tuple[str, tuple[float, float]]:
    """Return a picture as large as the room allows, at a place, with the size it has there. [mm]"""
    root = ElementTree.fromstring(svg)
    wide, high = float(root.attrib["width"]), float(root.attrib["height"])
    scale = min(room[0] / wide, room[1] / high)
    x = at[0] + (room[0] - scale * wide) / 2
    placed = tag("g", svg, transform=f"translate({x:.4f} {at[1]:.4f}) scale({scale:.6f})")
    return placed, (scale * wide, scale * high)


def _items(told: DayTold) -> list[_Item]:
    return [_wrap(words, rank, is_head=is_head) for words, rank, is_head in _sentences(told) if words]


def _sentences(told: DayTold) -> Iterator[tuple[str, int, bool]]:
    """Yield the plan in the order of reading, each sentence with its rank and whether it is a head."""
    if not told.windows:
        yield "Nothing is to be expected on this day", 0, True
    for number, window in enumerate(told.windows, 1):
        yield f"{number}. {window_sentence(told, window)}", 0, True
        yield f"Why: {'; '.join(window.reasons)}", 2 if number == 1 else 5, False
        yield f"Would spoil it: {'; '.join(window.spoils)}" if window.spoils else "", 4 if number == 1 else 8, False
    yield from _section("Mind", told.cautions, 1)
    yield from _section("Through the day", [move_sentence(told, move) for move in told.moves], 3)
    yield ending_sentence(told.ending) if told.ending else "", 3, False
    yield from _section("Not known, or assumed", told.doubts, 6)
    yield from _section("What if", [what_if_sentence(case) for case in told.what_ifs], 7)


def _section(head: str, sentences: tuple[str, ...] | list[str], rank: int) -> Iterator[tuple[str, int, bool]]:
    if sentences:
        yield head, rank, True
        yield from ((sentence[:1].upper() + sentence[1:], rank, False) for sentence in sentences)


def _wrap(words: str, rank: int, *, is_head: bool) -> _Item:
    return _Item(tuple(wrapped(words, COLUMN, TEXT, is_strong=is_head)), rank, is_head)


def _flow(items: list[_Item], columns: tuple[tuple[float, float], ...]) -> Iterator[str]:
    """Yield the items as lines, down one column and on in the next."""
    rooms = [int((FOOT - top) / LEADING) for _, top in columns]
    kept = items
    lines = _lines(kept)
    while not _fits(lines, rooms):
        kept = _less(kept)
        lines = _lines(kept)
    rest = lines
    for (x, top), room in zip(columns, rooms, strict=True):
        here, rest = _first(rest, room)
        for i, (line, is_head) in enumerate(here, 1):
            yield label(line, x, top + LEADING * i, TEXT, font_weight="bold" if is_head else None)
    if len(kept) < len(items):
        words = "Shortened to fit one page"
        yield label(words, WIDTH - EDGE, FOOT + 4, TEXT, fill=PAPER.soft, text_anchor="end")


Line = tuple[str, bool]
"""Words, and whether they are of a head."""


def _lines(items: list[_Item]) -> list[Line]:
    return [(line, item.is_head) for item in items for line in item.lines]


def _first(lines: list[Line], room: int) -> tuple[list[Line], list[Line]]:
    """Return the lines of one column and the rest; no head stands alone at the foot of a column."""
    cut = min(room, len(lines))
    while 0 < cut < len(lines) and lines[cut - 1][1]:
        cut -= 1
    return lines[:cut], lines[cut:]


def _fits(lines: list[Line], rooms: list[int]) -> bool:
    rest = lines
    for room in rooms:
        _, rest = _first(rest, room)
    return not rest


def _less(items: list[_Item]) -> list[_Item]:
    """Return the items a little shorter: the last sentence of the least important ones by a line."""
    worst = max(item.rank for item in items)
    at = max(i for i, item in enumerate(items) if item.rank == worst and (not item.is_head or worst == 0))
    item = items[at]
    if len(item.lines) > 1:
        last = cut_short(f"{item.lines[-2]} ...", COLUMN, TEXT, is_strong=item.is_head)
        return [*items[:at], replace(item, lines=(*item.lines[:-2], last)), *items[at + 1 :]]
    # A head without sentences goes with the last of them.
    start = at - 1 if at and items[at - 1].is_head and items[at - 1].rank == worst else at
    follows = at + 1 < len(items) and not items[at + 1].is_head and items[at + 1].rank == worst
    return [*items[: at if follows else start], *items[at + 1 :]]
