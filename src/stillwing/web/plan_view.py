"""A plan as the page shows it: windows in words, the grid, the water of an hour, a cell as bars, and small tables."""

import calendar
from dataclasses import dataclass

import numpy as np

from stillwing.optics.subject import Range
from stillwing.plan.day import FACTORS, DayPlan
from stillwing.plan.reasons import FACTOR_WORDS, cell_reasons, clock_words, compass_point, keepers_words
from stillwing.plan.told import DayTold, Move, WhatIf, Window
from stillwing.share.plangrid import plan_grid, plan_key
from stillwing.share.watermap import water_map
from stillwing.web import words

__all__ = ["Bar", "CellView", "HourView", "MoveRow", "PlanView", "WhatIfRow", "WindowView", "hour_view", "plan_view"]


@dataclass(frozen=True, slots=True)
class WindowView:
    """One window in words."""

    times: str
    where: str
    faces: str
    keepers: str
    settings: str
    reasons: tuple[str, ...]
    spoils: tuple[str, ...]
    moment: int
    stretch: int


@dataclass(frozen=True, slots=True)
class Bar:
    """One factor of the chain."""

    words: str
    share: float
    figure: str
    percent: float
    """Length of its bar, of all the room."""
    is_weakest: bool


@dataclass(frozen=True, slots=True)
class CellView:
    """One stand at one moment."""

    title: str
    faces: str
    keepers: str
    bars: tuple[Bar, ...]
    together: Bar
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HourView:
    """The water at one moment, and the stand that is looked at."""

    moment: int
    stretch: int
    stand: int
    """The best of the stretch then, as the SVG numbers them."""
    stand_name: str
    clock: str
    water: str
    """An SVG."""
    cell: CellView


@dataclass(frozen=True, slots=True)
class MoveRow:
    """One stay of the walk round the water."""

    times: str
    where: str
    faces: str
    walk: str
    keepers: str
    why: str


@dataclass(frozen=True, slots=True)
class WhatIfRow:
    """One changed day."""

    what: str
    before: str
    then: str
    advice: str


@dataclass(frozen=True, slots=True)
class PlanView:
    """The whole plan of a day."""

    heading: str
    asked: str
    windows: tuple[WindowView, ...]
    grid: str
    """An SVG; its cells carry their place in the day's steps and among the stretches."""
    key: str
    """An SVG: what its marks mean."""
    hour: HourView
    clocks: tuple[str, ...]
    """Of all moments, for the slider."""
    slider_step: int
    """Moments to a step of the slider: as near 10 minutes as the plan's own steps allow."""
    stretches: tuple[str, ...]
    moves: tuple[MoveRow, ...]
    ending: str
    what_ifs: tuple[WhatIfRow, ...]
    cautions: tuple[str, ...]
    are_cautions_first: bool
    """The sun near the line of sight or thunder: to be read before anything else."""
    doubts: tuple[str, ...]
    weather: str
    """Its source and its age, and whose it is."""
    sharpness: str
    """Whose it is, and how many bursts tell it."""


def plan_view(told: DayTold, moment: int | None = None, stretch: int | None = None) -> PlanView:
    """Return the plan as the page shows it, looked at in one cell; in the best window's, where none is named."""
    plan = told.plan
    names = [stand.name for stand in plan.question.site.stands]
    thunder = plan.moments.weather.thunder_share
    return PlanView(
        _heading(plan),
        _asked(plan),
        tuple(_window(told, window) for window in told.windows),
        plan_grid(told),
        plan_key(told),
        hour_view(told, moment, stretch),
        tuple(clock_words(when) for when in plan.times),
        max(1, round(10 / plan.question.step_min)),
        tuple(one.name for one in told.stretches),
        tuple(_move(names, move) for move in told.moves),
        f"{clock_words(told.ending.when)}: {told.ending.why}" if told.ending else "",
        tuple(_what_if(what_if) for what_if in told.what_ifs),
        told.cautions,
        bool(plan.cells.is_dangerous.any() or np.any(np.nan_to_num(thunder) > 0)),
        told.doubts,
        _weather(told),
        f"Sharpness: {told.own}",
    )


def hour_view(told: DayTold, moment: int | None = None, stretch: int | None = None) -> HourView:
    """Return one moment and the best stand of one stretch then."""
    best_moment, best_stretch = best_cell(told)
    moment = best_moment if moment is None else moment
    stretch = best_stretch if stretch is None else stretch
    stand = int(told.stretches[stretch].best[moment])
    plan = told.plan
    return HourView(
        moment,
        stretch,
        stand,
        plan.question.site.stands[stand].name,
        clock_words(plan.times[moment]),
        water_map(told, moment),
        _cell(plan, moment, stand),
    )


def best_cell(told: DayTold) -> tuple[int, int]:
    """Return moment and stretch of the best window; of the highest rate where there is no window."""
    if told.windows:
        window = told.windows[0]
        return window.moment, _stretch_of(told, window.stand)
    moment, stand = np.unravel_index(int(np.argmax(told.plan.cells.keepers_h)), told.plan.cells.keepers_h.shape)
    return int(moment), _stretch_of(told, int(stand))


def _stretch_of(told: DayTold, stand: int) -> int:
    return next((i for i, stretch in enumerate(told.stretches) if stand in stretch.stands), 0)


def _heading(plan: DayPlan) -> str:
    day = plan.question.day
    return f"{plan.question.site.name}, {calendar.day_name[day.weekday()]} {words.day(plan.times[0])}"


def _asked(plan: DayPlan) -> str:
    question = plan.question
    focal = question.wish.focal_length_mm or question.kit.lens.longest_mm
    distance = f"{plan.distance_m:.1f} m" if plan.distance_m < 20 else f"{plan.distance_m:.0f} m"
    side = f", {question.wanted} only" if question.wanted else ""
    return (
        f"{words.capitalize_first(question.animal.name)}, {question.behaviour}{side}, {distance} away; "
        f"{question.kit.name} kit at {focal:g} mm; times of {question.zone}"
    )


def _weather(told: DayTold) -> str:
    source = told.weather.source if told.weather.weather is not None else "not known"
    return ". ".join(part for part in (f"Weather: {source}", told.weather.credit) if part).rstrip(".")


def _window(told: DayTold, window: Window) -> WindowView:
    start, end = window.bearing_from_deg, window.bearing_to_deg
    faces = f"face {_bearing(start)}" + (f", turning to {_bearing(end)}" if round(start) != round(end) else "")
    return WindowView(
        f"{clock_words(window.start)} to {clock_words(window.end)}",
        told.plan.question.site.stands[window.stand].name,
        faces,
        f"{_keepers(window.keepers)} to expect",
        window.settings,
        window.reasons,
        window.spoils,
        window.moment,
        _stretch_of(told, window.stand),
    )


def _bearing(bearing_deg: float) -> str:
    return f"{compass_point(bearing_deg)} ({bearing_deg % 360:.0f}°)"


def _keepers(keepers: Range) -> str:
    low, likely, high = (keepers_words(value) for value in (keepers.low, keepers.likely, keepers.high))
    told = f"{likely} {'keeper' if likely == '1.0' else 'keepers'}"
    return told if low == high else f"{told} ({low} to {high})"


def _cell(plan: DayPlan, moment: int, stand: int) -> CellView:
    cells, at = plan.cells, (moment, stand)
    chain = plan.cells.chain(moment, stand)
    weakest = min(FACTORS, key=lambda name: float(getattr(chain, name)))
    bars = tuple(_bar(FACTOR_WORDS[name], float(getattr(chain, name)), name == weakest) for name in FACTORS)
    rate = Range(float(cells.keepers_low_h[at]), float(cells.keepers_h[at]), float(cells.keepers_high_h[at]))
    return CellView(
        f"{clock_words(plan.times[moment])} at {plan.question.site.stands[stand].name}",
        f"face {_bearing(float(cells.bearing_deg[at]))}",
        f"{_keepers(rate)} an hour",
        bars,
        _bar("all together (they multiply)", float(np.prod(chain)), is_weakest=False),
        cell_reasons(plan, moment, stand),
    )


def _bar(told: str, share: float, is_weakest: bool) -> Bar:
    return Bar(told, share, words.percent(share), round(100 * share, 1), is_weakest)


def _move(names: list[str], move: Move) -> MoveRow:
    return MoveRow(
        f"{clock_words(move.start)} to {clock_words(move.end)}",
        names[move.stand],
        _bearing(move.bearing_deg),
        f"{move.walk_m:.0f} m" if move.walk_m else "",
        keepers_words(move.keepers),
        move.why,
    )


def _what_if(what_if: WhatIf) -> WhatIfRow:
    before, then = (", ".join(map(keepers_words, told)) for told in (what_if.keepers_before, what_if.keepers))
    return WhatIfRow(what_if.what, before, then, what_if.advice)
