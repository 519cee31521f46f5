"""A told plan as lines, as a table of hours and stretches of bank, and as JSON."""

from collections.abc import Iterator
from dataclasses import asdict
from itertools import groupby
from typing import Any

from numpy.typing import NDArray
from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.plan.day import FACTORS
from stillwing.plan.sentences import (
    ending_sentence,
    heading_words,
    move_sentence,
    what_if_sentence,
    window_sentence,
)
from stillwing.plan.told import DayTold, Stretch, Window

__all__ = ["plan_json", "plan_lines", "plan_table"]


def plan_lines(told: DayTold) -> Iterator[str]:
    """Yield the plan in words: windows with reasons, moves, ending, what would change it."""
    yield heading_words(told)
    yield f"Weather: {told.weather.source}"
    yield f"Sharpness: {told.own}"
    if not told.windows:
        yield "Nothing is to be expected on this day"
    for number, window in enumerate(told.windows, 1):
        yield f"{number}. {window_sentence(told, window)}"
        yield f"   why: {'; '.join(window.reasons)}"
        if window.spoils:
            yield f"   would spoil it: {'; '.join(window.spoils)}"
    if len(told.moves) > 1:
        yield "Through the day:"
        yield from (f"   {move_sentence(told, move)}" for move in told.moves)
    if told.ending:
        yield ending_sentence(told.ending)
    yield from map(what_if_sentence, told.what_ifs)


def plan_table(told: DayTold) -> Table:
    """Return keepers to expect an hour, bank stretches down and hours of the clock across, the best of each hour."""
    title = "Keepers to expect an hour, at the best stand of each stretch"
    table = Table(box=SIMPLE_HEAD, title=Text(title), title_justify="left", pad_edge=False)
    hours = _hours(told)
    table.add_column(Text("bank"), no_wrap=True)
    for hour, _ in hours:
        table.add_column(Text(hour), justify="right", no_wrap=True)
    for stretch in told.stretches:
        table.add_row(Text(stretch.name), *(Text(_cell(told, stretch, rows)) for _, rows in hours))
    return table


def plan_json(told: DayTold) -> str:
    """Return the plan as one JSON object: windows, moves, and every stand at every moment; unknown figures are null."""
    plan, question = told.plan, told.plan.question
    stands = question.site.stands
    return json_text(
            {
                "site": question.site.name,
                "day": question.day.isoformat(),
                "zone": question.zone,
                "animal": question.animal.name,
                "doing": question.behaviour.value,
                "distance_m": plan.distance_m,
                "weather": told.weather.source,
                "credit": told.weather.credit,
                "own_share": None if question.own is None else asdict(question.own),
                "windows": [_window(told, window) for window in told.windows],
                "moves": [
                    {
                        "start": move.start.isoformat(), "end": move.end.isoformat(),
                        "stand": stands[move.stand].name, "bearing_deg": move.bearing_deg,
                        "keepers": move.keepers, "walk_m": move.walk_m, "why": move.why,
                    }
                    for move in told.moves
                ],
                "ending": told.ending and {"when": told.ending.when.isoformat(), "why": told.ending.why},
                "what_ifs": [
                    {
                        "what": case.what, "keepers": case.keepers,
                        "keepers_before": case.keepers_before, "advice": case.advice,
                    }
                    for case in told.what_ifs
                ],
                "stretches": [
                    {"name": stretch.name, "stands": [stands[one].name for one in stretch.stands]}
                    for stretch in told.stretches
                ],
                "times": [moment.isoformat() for moment in plan.times],
                "stands": [
                    {
                        "name": stand.name, "longitude_deg": stand.position.longitude_deg,
                        "latitude_deg": stand.position.latitude_deg, **_cells(told, number),
                    }
                    for number, stand in enumerate(stands)
                ],
                "cautions": told.cautions,
                "doubts": told.doubts,
            }
    )  # fmt: skip


def _hours(told: DayTold) -> list[tuple[str, list[int]]]:
    moments = enumerate(told.plan.times)
    # By hour and offset: when the clocks go back, the hour that comes twice is two columns.
    grouped = groupby(moments, key=lambda one: (one[1].date(), one[1].hour, one[1].utcoffset()))
    return [(f"{hour:02d}", [row for row, _ in rows]) for (_, hour, _), rows in grouped]


def _cell(told: DayTold, stretch: Stretch, rows: list[int]) -> str:
    best = max(float(told.plan.cells.keepers_h[row, stretch.best[row]]) for row in rows)
    return f"{best:.1f}" if best >= 0.05 else "·"


def _window(told: DayTold, window: Window) -> dict[str, Any]:
    return {
        "start": window.start.isoformat(),
        "end": window.end.isoformat(),
        "stand": told.plan.question.site.stands[window.stand].name,
        "bearing_from_deg": window.bearing_from_deg,
        "bearing_to_deg": window.bearing_to_deg,
        "keepers": window.keepers._asdict(),
        "settings": window.settings,
        "reasons": window.reasons,
        "spoils": window.spoils,
        "chain": told.plan.cells.chain(window.moment, window.stand)._asdict(),
    }


def _cells(told: DayTold, stand: int) -> dict[str, NDArray[Any]]:
    cells = told.plan.cells
    names = ("keepers_h", "keepers_low_h", "keepers_high_h", "bearing_deg", *FACTORS, "sun_is_clear", "is_dangerous")
    more = ("own_shadow", "off_shoulder_deg", "light_angle_deg", "turned_deg", "background_lengths", "ev")
    return {name: getattr(cells, name)[:, stand] for name in (*names, *more)}
