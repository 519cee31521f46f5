"""The grid of a plan: bank stretches down, hours across, a glyph of sun and wind in each cell, shaded by keepers."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

import numpy as np

from stillwing.place.bearings import towards
from stillwing.plan.day import DayPlan
from stillwing.plan.reasons import (
    CALM_BELOW_M_S,
    HIDDEN_FROM,
    cell_reasons,
    clock_words,
    compass_point,
    keepers_words,
)
from stillwing.plan.told import DayTold, Stretch, Window
from stillwing.plan.windows import WORTH_GOING, is_worth_going, peak_rate
from stillwing.share.svgparts import FONT, PAGE, SVG, Tones, cut_short, label, tag, text_width, wrapped, xml_text

__all__ = ["SHARES", "Column", "Glyph", "columns_of", "glyph_of", "keepers_step", "plan_grid", "plan_key", "step_words"]

SHARES = (0.1, 0.3, 0.5, 0.7, 0.9)
"""Of the day's best rate, from which each stronger step begins (a choice, no source): below the first it is not worth
it, from the fourth on a window lasts."""
LONG_DAY_H = 10.0
"""Days longer than this have a column an hour, shorter ones two."""
CELL = 44.0
"""Side of a cell: a finger's width."""
SIZE, LEFT, GAP = 13.0, 6.0, 20.0
NAME_EVERY = 5
"""Columns after which the name of a row stands again, so that a phone shows it wherever the grid is scrolled to."""
NARROW = 330.0
"""Width of the key on a page: all of it can be read on a phone without moving sideways."""
RING, DISC, WEDGE = 15.0, 4.5, 9.5
"""Of the sun round the middle of its cell; half the length of the wedge."""
GALE_M_S, THIN, WIDE = 10.0, 1.5, 5.5
"""Wind at which the wedge is widest; half its blunt end in a breath and in that wind."""
CORNER = CELL / 2 - 5
HATCH = 6.0


@dataclass(frozen=True, slots=True)
class Column:
    """Moments that share one column: from the first to before the last."""

    first: int
    stop: int
    words: str
    """Of the clock at its left edge."""


@dataclass(frozen=True, slots=True)
class Glyph:
    """What the glyph of a cell shows, seen from above, you looking up the page."""

    sun_deg: float | None
    """Where the sun's disc stands, from ahead clockwise; ``None`` while it is down."""
    is_filled: bool
    """The sun is known to shine on the animal, at least between clouds."""
    wind_deg: float | None
    """Where the wind comes from, from ahead clockwise; ``None`` where it is not known, or calm."""
    wind_m_s: float
    is_unknown: bool
    """Warmth, wind or cloud is not known."""
    is_dangerous: bool
    own_shadow: bool


def columns_of(plan: DayPlan) -> tuple[Column, ...]:
    """Return the columns of a day: whole or half hours of the clock."""
    length_min = 60 if len(plan.times) * plan.step_h > LONG_DAY_H else 30
    columns = []
    first = 0
    for _, run in groupby(plan.times, lambda when: (when.utcoffset(), when.hour, when.minute // length_min)):
        stop = first + len(list(run))
        when = plan.times[first]
        columns.append(Column(first, stop, f"{when:%H}:{when.minute // length_min * length_min:02}"))
        first = stop
    return tuple(columns)


def best_moment(plan: DayPlan, stretch: Stretch, column: Column) -> int:
    """Return the best moment of a stretch in a column; where nothing flies, the one with the best view."""
    cells, moments = plan.cells, np.arange(column.first, column.stop)
    at = (moments, stretch.best[moments])
    rate = cells.keepers_h[at]
    view = (cells.facing * cells.lit * cells.sharp * cells.clean)[at]
    return int(moments[rate.argmax() if rate.max() > 0 else view.argmax()])


def keepers_step(plan: DayPlan, keepers_h: float) -> int:
    """Return the step of the shades that a rate has, 0 to 5; 0 where nothing is to be expected. [keepers an hour]"""
    if keepers_h < WORTH_GOING * plan.question.encounters_an_hour:
        return 0
    return int(np.searchsorted(np.array(SHARES) * peak_rate(plan), keepers_h, side="right"))


def step_words(plan: DayPlan) -> tuple[str, ...]:
    """Return the steps as keepers an hour, as "0.12 to 0.24"."""
    if not is_worth_going(plan).any():
        return ("nothing to expect",)
    bounds = [keepers_words(share * peak_rate(plan)) for share in SHARES]
    between = [f"{low} to {high}" for low, high in pairwise(bounds)]
    return (f"below {bounds[0]}", *between, f"{bounds[-1]} and more")


def glyph_of(plan: DayPlan, moment: int, stand: int) -> Glyph:
    """Return the glyph of a stand at a moment."""
    cells, weather, sun = plan.cells, plan.moments.weather, plan.moments.sun
    facing = float(cells.bearing_deg[moment, stand])
    cloud, speed = float(weather.cloud_share[moment]), float(weather.wind_m_s[moment])
    wind = (float(weather.wind_from_deg[moment]) - facing) % 360.0
    is_up = sun.apparent_altitude_deg[moment] > 0
    return Glyph(
        sun_deg=(float(sun.azimuth_deg[moment]) - facing) % 360.0 if is_up else None,
        is_filled=bool(cells.sun_is_clear[moment, stand] and cloud < HIDDEN_FROM),
        wind_deg=wind if speed >= CALM_BELOW_M_S and not np.isnan(wind) else None,
        wind_m_s=speed,
        is_unknown=bool(np.isnan([cloud, speed, weather.temperature_c[moment]]).any()),
        is_dangerous=bool(cells.is_dangerous[moment, stand]),
        own_shadow=bool(cells.own_shadow[moment, stand] and cells.sun_is_clear[moment, stand]),
    )


def cell_words(told: DayTold, moment: int, stand: int) -> str:
    """Return a cell in words: when, where, which way, how many, why."""
    plan = told.plan
    bearing = float(plan.cells.bearing_deg[moment, stand])
    return (
        f"{clock_words(plan.times[moment])} at {plan.question.site.stands[stand].name}, facing "
        f"{compass_point(bearing)} ({bearing:.0f}°): {keepers_words(float(plan.cells.keepers_h[moment, stand]))} "
        f"keepers an hour; {'; '.join(cell_reasons(plan, moment, stand))}"
    )


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where rows and columns lie."""

    columns: tuple[Column, ...]
    left: float
    top: float
    pitch: float
    """From one row to the next."""
    above: float
    """Room for the name over the cells of a row; 0 where names stand beside them."""

    @property
    def right(self) -> float:
        return self.left + CELL * len(self.columns)

    def row_top(self, row: int) -> float:
        return self.top + self.pitch * row + self.above

    def x_at(self, moment: int) -> float:
        """Return where a moment begins."""
        number = next((i for i, one in enumerate(self.columns) if moment < one.stop), None)
        if number is None:
            return self.right
        column = self.columns[number]
        return self.left + CELL * (number + (moment - column.first) / (column.stop - column.first))


def plan_grid(told: DayTold, tones: Tones = PAGE) -> str:
    """Return the grid as one <svg>.

    Parameters
    ----------
    told : DayTold
    tones : Tones, default PAGE
        `PAPER` draws it for print: names beside the rows, nothing to be found by moving over it.

    Returns
    -------
    str
        Each cell is a group with ``data-moment``, the best of its moments, ``data-from``, the first of them,
        ``data-stretch`` and a title in words.

    Notes
    -----
    A cell is seen from above, you looking up the page. A disc stands where the sun does: below, it is at your back;
    hollow, trees or cloud are before it, or the cloud is not known. The wedge has its blunt end to windward, wider in
    more wind. Hatching tells that part of the weather is not known. What is proposed is outlined in dashes, as
    docs/look.md has it.
    """
    columns = columns_of(told.plan)
    is_paper = tones is not PAGE
    beside = max(text_width(stretch.name, SIZE) for stretch in told.stretches) + 8 if is_paper else 0.0
    above = 0.0 if is_paper else SIZE + 6
    frame = _Frame(columns, LEFT + min(beside, 190.0), GAP + 4, CELL + above + (0 if is_paper else 3), above)
    bottom = frame.top + frame.pitch * len(told.stretches)
    width = frame.right + LEFT
    # On the page the key stands by itself: the grid is moved sideways on a phone, and would take the key along.
    key = tuple(_legend(told.plan, tones, width, bottom + GAP + 10)) if is_paper else ()
    height = bottom + GAP + 10 + (key[-1][1] if key else 0.0)
    return tag(
        "svg",
        tag("title", xml_text(f"Keepers to expect at {told.plan.question.site.name}, by stretch of bank and hour")),
        *_hours(frame, tones, frame.top - 6),
        *_hours(frame, tones, bottom + SIZE + 2),
        *(part for row, stretch in enumerate(told.stretches) for part in _row(told, stretch, row, frame, tones)),
        *(_outline(told, frame, window, i, tones) for i, window in enumerate(told.windows, 1)),
        *(part for part, _ in key),
        xmlns=SVG,
        viewBox=f"0 0 {width:g} {height:g}",
        width=width,
        height=height,
        role="img",
        font_family=FONT,
        fill=tones.ink,
        class_="plan-grid",
    )


def plan_key(told: DayTold) -> str:
    """Return what the marks of `plan_grid` mean on the page, as one <svg> as narrow as a phone."""
    key = tuple(_legend(told.plan, PAGE, NARROW, 0.0))
    return tag(
        "svg",
        tag("title", "What the marks mean"),
        *(part for part, _ in key),
        xmlns=SVG,
        viewBox=f"0 0 {NARROW:g} {key[-1][1]:g}",
        width=NARROW,
        height=key[-1][1],
        role="img",
        font_family=FONT,
        fill=PAGE.ink,
        class_="plan-key",
    )


def _hours(frame: _Frame, tones: Tones, y: float) -> Iterator[str]:
    for number, column in enumerate(frame.columns):
        # The first column may begin within its hour; its words would name a time before dawn.
        yield label(column.words, frame.left + CELL * number, y, SIZE, fill=tones.soft)


def _row(told: DayTold, stretch: Stretch, row: int, frame: _Frame, tones: Tones) -> Iterator[str]:
    top = frame.row_top(row)
    if frame.above:
        name = cut_short(stretch.name, NAME_EVERY * CELL - 10, SIZE)
        for number in range(0, len(frame.columns), NAME_EVERY):
            if number == 0 or len(frame.columns) - number > NAME_EVERY / 2:
                yield label(name, frame.left + CELL * number, top - 5, SIZE)
    else:
        yield label(cut_short(stretch.name, frame.left - LEFT - 6, SIZE), LEFT, top + CELL / 2 + 4.5, SIZE)
    for number, column in enumerate(frame.columns):
        moment = best_moment(told.plan, stretch, column)
        stand = int(stretch.best[moment])
        yield tag(
            "g",
            tag("title", xml_text(cell_words(told, moment, stand))),
            *_cell(told.plan, moment, stand, tones),
            transform=f"translate({frame.left + CELL * (number + 0.5):g} {top + CELL / 2:g})",
            data_moment=str(moment),
            data_from=str(column.first),
            data_stretch=str(row),
        )


def _cell(plan: DayPlan, moment: int, stand: int, tones: Tones) -> Iterator[str]:
    """Yield a cell round its middle."""
    half = CELL / 2
    step = keepers_step(plan, float(plan.cells.keepers_h[moment, stand]))
    yield tag(
        "rect", x=-half, y=-half, width=CELL, height=CELL, fill=tones.steps[step], stroke=tones.grid, class_="room"
    )
    yield from glyph_parts(glyph_of(plan, moment, stand), tones.on_steps[step], tones.steps[step])


def glyph_parts(glyph: Glyph, ink: str, ground: str) -> Iterator[str]:
    """Yield the parts of a glyph round its middle, in one ink."""
    half = CELL / 2
    if glyph.is_unknown:
        strokes = " ".join(f"M{x:g} {half}l{HATCH:g} {-HATCH:g}" for x in np.arange(-half, half - HATCH + 0.1, 4))
        yield tag("path", d=strokes, stroke=ink, stroke_width=0.8, class_="unknown")
    if glyph.wind_deg is not None:
        yield wedge(glyph.wind_deg, glyph.wind_m_s, fill=ink)
    if glyph.sun_deg is not None:
        x, ahead = RING * towards(glyph.sun_deg)
        fill = ink if glyph.is_filled else ground
        yield tag("circle", cx=x, cy=-ahead, r=DISC, fill=fill, stroke=ink, stroke_width=1.4, class_="sun")
    if glyph.is_dangerous:
        yield label("!", CORNER, -CORNER + 9, 14, fill=ink, font_weight="bold", text_anchor="middle", class_="danger")
    if glyph.own_shadow:
        yield tag(
            "path", d=f"M{-CORNER - 2:g} {CORNER + 2:g}h7l-2 -9h-3z", fill=ink, stroke="none", class_="own-shadow"
        )


def wedge(from_deg: float, wind_m_s: float, **attributes: str | float | None) -> str:
    """Return the wedge of a wind round 0, 0, its blunt end to windward; ``from_deg`` from up, clockwise."""
    wide = THIN + (WIDE - THIN) * min(1.0, wind_m_s / GALE_M_S)
    d = f"M{-wide:g} {-WEDGE:g}H{wide:g}L0 {WEDGE:g}z"
    return tag("path", d=d, transform=f"rotate({from_deg:g})", class_="wind", **attributes)


def _outline(told: DayTold, frame: _Frame, window: Window, number: int, tones: Tones) -> str:
    plan = told.plan
    row = next(i for i, stretch in enumerate(told.stretches) if window.stand in stretch.stands)
    seconds = np.array([when.timestamp() for when in plan.times])
    first, stop = (int(np.searchsorted(seconds, when.timestamp() - 1)) for when in (window.start, window.end))
    x, y = frame.x_at(first), frame.row_top(row)
    width = frame.x_at(stop) - x
    box = tag(
        "rect",
        x=x,
        y=y,
        width=width,
        height=CELL,
        fill="none",
        stroke=tones.accent,
        stroke_width=3,
        stroke_dasharray="7 3",
        class_="window",
    )
    flag = tag("rect", x=x, y=y, width=13, height=14, fill=tones.accent)
    told_number = label(str(number), x + 6.5, y + 11.5, 12, fill=tones.ground, text_anchor="middle", font_weight="bold")
    under = tag("rect", x=x, y=y, width=width, height=CELL, fill="none", stroke=tones.ground, stroke_width=5)
    return tag("g", under, box, flag, told_number, pointer_events="none")


def _legend(plan: DayPlan, tones: Tones, width: float, top: float) -> Iterator[tuple[str, float]]:
    """Yield each part of the key with how far down the key reaches then."""
    calm = Glyph(None, False, None, 0.0, False, False, False)
    marks: list[tuple[str, str]] = [
        (tag("rect", x=-9, y=-9, width=18, height=18, fill=shade, stroke=tones.rule), words)
        for shade, words in zip(tones.steps, step_words(plan), strict=False)
    ]
    if len(marks) > 1:
        marks[0] = (marks[0][0], f"keepers an hour: {marks[0][1]}")
    shown: Sequence[tuple[Glyph, str]] = (
        (replace(calm, sun_deg=180.0, is_filled=True), "sun, here at your back: you look up the page"),
        (replace(calm, sun_deg=180.0), "sun behind trees or cloud, or cloud not known"),
        (replace(calm, wind_deg=270.0, wind_m_s=6.0), "wind, here from your left; wider is stronger"),
        (replace(calm, is_dangerous=True), "sun near where you look: never through the lens"),
        (replace(calm, own_shadow=True), "your shadow on the animal"),
        (replace(calm, is_unknown=True), "weather not fully known"),
    )
    marks += [(_small("".join(glyph_parts(glyph, tones.ink, tones.ground)), glyph), words) for glyph, words in shown]
    dashes = tag(
        "rect",
        x=-9,
        y=-8,
        width=18,
        height=16,
        fill="none",
        stroke=tones.accent,
        stroke_width=2.5,
        stroke_dasharray="5 2",
    )
    marks.append((dashes, "window, the best is 1"))
    x, y = LEFT, top + 14
    for mark, words in marks:
        lines = wrapped(words, width - LEFT - 34, SIZE)
        needed = 28 + max(text_width(line, SIZE) for line in lines) + 18
        if x > LEFT and x + needed > width:
            x, y = LEFT, y + 26
        told = "".join(label(line, 28, 4.5 + 16 * i, SIZE) for i, line in enumerate(lines))
        sample = tag("g", mark, transform="translate(12 0)")
        y_last = y + 16 * (len(lines) - 1)
        yield tag("g", sample, told, transform=f"translate({x:g} {y:g})"), y_last - top + 20
        x, y = x + needed, y_last


def _small(parts: str, glyph: Glyph) -> str:
    """Return a sample, its mark moved to the middle."""
    if glyph.is_unknown:
        return tag("g", parts, transform="translate(0 -10) scale(0.6)")
    x, y = 0.0, 0.0
    if glyph.sun_deg is not None:
        y = -RING
    elif glyph.is_dangerous:
        x, y = -CORNER, CORNER - 4
    elif glyph.own_shadow:
        x, y = CORNER - 1.5, -CORNER + 2
    return tag("g", parts, transform=f"translate({x:g} {y:g})")
