"""Flight seasons and the light of a year as tables and as JSON."""

from collections.abc import Iterator, Sequence
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.plan.lightyear import LightDay, LightMonth, LightYear
from stillwing.plan.onthewing import MONTH_NAMES, OnTheWing, WingRow, month_words, wing_doubts, year_words

__all__ = ["light_json", "light_months_table", "light_table", "month_table", "season_json", "season_table"]

SURELY, LIKELY, PERHAPS, NOT = "█", "▓", "░", "·"
SHADED_FROM = 0.5
"""A chance from which a half month is shaded (a choice, no source)."""


def season_table(wing: OnTheWing) -> Table:
    """Return a row per kind and a column per month, each half of it shaded; above each group how many are about."""
    title = f"Kinds on the wing, by half months: {SURELY} surely, {LIKELY} likely, {PERHAPS} in an early or late year"
    table = _table(title)
    table.add_column(Text("month"), no_wrap=True)
    for month in range(1, 13):
        table.add_column(Text(str(month)), justify="right", no_wrap=True, min_width=2)
    for group, about in wing.n_about.items():
        table.add_row(Text(f"{group}: kinds about"), *(Text(str(n)) for n in about))
        for row in _kinds(wing.rows_of(group)):
            table.add_row(Text(row.animal.name), *map(Text, _shades(row)))
        table.add_section()
    return table


def month_table(wing: OnTheWing, month: int) -> Table:
    """Return the kinds about in one month, 1 to 12, with the chance of either half, and their best months."""
    table = _table(f"Chance to be about in {MONTH_NAMES[month - 1]}, in percent: likely (lowest to highest)")
    for heading in ("animal", "scientific name", "1st to 15th", "16th on", "best months"):
        table.add_column(Text(heading), no_wrap=True)
    for row in _kinds(_about(wing, month)):
        halves = (_chance_words(row, 2 * (month - 1) + half) for half in (0, 1))
        best = " to ".join(dict.fromkeys(MONTH_NAMES[one - 1] for one in row.best_months[:1] + row.best_months[-1:]))
        table.add_row(*map(Text, (row.animal.name, row.animal.scientific_name or "", *halves, best)))
    return table


def season_json(wing: OnTheWing, month: int | None = None) -> str:
    """Return all animals, or those about in one month, as one JSON object."""
    rows = wing.rows if month is None else _about(wing, month)
    told = year_words(wing) if month is None else (month_words(wing, month),)
    return json_text(
        {
            "year": wing.year,
            "month": month,
            "words": told,
            "kinds_about": {str(group): about for group, about in wing.n_about.items()},
            "columns": [half._asdict() for half in wing.halves],
            "animals": [_row_json(row) for row in rows],
            "doubts": wing_doubts(wing),
        }
    )


def light_table(title: str, days: Sequence[LightDay]) -> Table:
    """Return a row per day: hours of good light, the stand, from when to when, and how much of it a low sun gives."""
    table = _table(title)
    for heading in ("day", "hours", "stand", "from", "to", "low sun [%]"):
        is_figure = heading in {"hours", "low sun [%]"}
        table.add_column(Text(heading), justify="right" if is_figure else "left", no_wrap=True)
    for one in days:
        clock = (f"{one.span.start:%H:%M}", f"{one.span.end:%H:%M}") if one.span else ("", "")
        cells = (one.day.isoformat(), f"{one.light_h:.1f}", one.stand.name, *clock, f"{100 * one.low_sun_share:.0f}")
        table.add_row(*map(Text, cells))
    return table


def light_months_table(months: Sequence[LightMonth]) -> Table:
    """Return a row per month: the stand that has most light in it, and how much of it a day."""
    table = _table("Through the year")
    table.add_column(Text("month"), no_wrap=True)
    table.add_column(Text("hours a day"), justify="right", no_wrap=True)
    table.add_column(Text("best stand"), no_wrap=True)
    for one in months:
        table.add_row(*map(Text, (MONTH_NAMES[one.month - 1], f"{one.light_h:.1f}", one.stand.name)))
    return table


def light_json(site: str, light: LightYear, best: Sequence[LightDay], months: Sequence[LightMonth]) -> str:
    """Return the year as one JSON object: best days, the best stand of the months, and every day at every stand."""
    return json_text(
        {
            "site": site,
            "zone": light.zone,
            "year": light.year,
            "best_days": [_day_json(one) for one in best],
            "months": [
                {"month": one.month, "light_h": round(one.light_h, 3), "stand": one.stand.name} for one in months
            ],
            "days": [day.isoformat() for day in light.days],
            "light_h": light.light_h.round(3),
            "best_stand": [light.stands[row].name if row >= 0 else None for row in light.best_stand],
            "stands": [
                # Three digits are 4 s: a year of 200 stands stays a readable file.
                {"name": stand.name, "light_h": [round(hours, 3) for hours in light.worth_h[:, row].tolist()]}
                for row, stand in enumerate(light.stands)
            ],
        }
    )


def _table(title: str) -> Table:
    # A title longer than the table is wide stays on one line.
    told = Text(title, no_wrap=True, overflow="ignore")
    return Table(box=SIMPLE_HEAD, title=told, title_justify="left", pad_edge=False)


def _kinds(rows: Sequence[WingRow]) -> Iterator[WingRow]:
    return (row for row in rows if row.counts)


def _about(wing: OnTheWing, month: int) -> tuple[WingRow, ...]:
    return tuple(row for row in wing.rows if month in row.animal.flight_months)


def _shades(row: WingRow) -> Iterator[str]:
    shades = [_shade(*case) for case in zip(*(case.tolist() for case in row.chance), strict=True)]
    return (f"{first}{second}" for first, second in zip(shades[::2], shades[1::2], strict=True))


def _shade(low: float, likely: float, high: float) -> str:
    for chance, shade in ((low, SURELY), (likely, LIKELY), (high, PERHAPS)):
        if chance >= SHADED_FROM:
            return shade
    return NOT


def _chance_words(row: WingRow, half: int) -> str:
    low, likely, high = (round(100 * float(case[half])) for case in row.chance)
    return f"{likely} ({low} to {high})" if low != high else str(likely)


def _row_json(row: WingRow) -> dict[str, Any]:
    animal = row.animal
    return {
        "key": animal.key,
        "name": animal.name,
        "scientific_name": animal.scientific_name,
        "group": animal.group,
        "is_class": animal.is_class,
        "is_counted": row.counts,
        "flight_months": animal.flight_months,
        "best_months": row.best_months,
        "months_mark": animal.months_mark,
        "months_source": animal.months_source,
        "chance": {name: values.round(3) for name, values in row.chance._asdict().items()},
    }


def _day_json(day: LightDay) -> dict[str, Any]:
    return {
        "day": day.day.isoformat(),
        "light_h": round(day.light_h, 3),
        "stand": day.stand.name,
        "from": day.span.start.isoformat() if day.span else None,
        "to": day.span.end.isoformat() if day.span else None,
        "low_sun_share": round(day.low_sun_share, 3),
    }
