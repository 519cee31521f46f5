"""Safety and care: what of this day can hurt you or disturb animals, one sentence each."""

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import Group
from stillwing.plan.day import DayPlan
from stillwing.plan.reasons import clock_words
from stillwing.plan.stretches import stretches_of
from stillwing.plan.windows import moment_end

__all__ = ["cautions_of"]

WARM_C, HOT_C = 28.0, 32.0
"""Air from which to drink and rest in the shade, and to stay short (common practice, no source)."""
GUSTY_M_S = 14.0
"""Gusts from which branches come down: twigs break from the gale of Beaufort's scale on, 17 m/s, and dead wood before
(common practice, no source)."""
TICKS, BREEDING = range(3, 11), range(3, 8)
"""Months of the northern half of the earth: of ticks, and of most nests (common practice, no source)."""
NAMED = 2
"""Stretches that are named where the sun is near the line of sight."""

BANK = (
    "Banks are soft and water is deep: test the ground before you trust it, go with someone or tell someone where you "
    "are and when you will be back."
)


def cautions_of(plan: DayPlan) -> tuple[str, ...]:
    """Return what to mind on this day, that which hurts most first; where there is nothing special, the bank alone."""
    told = (_sun(plan), _thunder(plan), _heat(plan), _gusts(plan), BANK, _ticks(plan), _nests(plan))
    return tuple(sentence for sentence in told if sentence)


def _sun(plan: DayPlan) -> str:
    danger = plan.cells.is_dangerous
    if not danger.any():
        return ""
    where = [(stretch.name, danger[:, list(stretch.stands)].any(axis=1)) for stretch in stretches_of(plan)]
    told = [f"{name} ({_hours(plan, np.asarray(when))})" for name, when in where if when.any()]
    more = f" and {len(told) - NAMED} more" if len(told) > NAMED else ""
    return (
        f"The sun is near every line of sight from {', '.join(told[:NAMED])}{more}: never look at it through an "
        "optical finder or a long lens, and keep the lens turned away."
    )


def _hours(plan: DayPlan, when: NDArray[np.bool_]) -> str:
    """Return the spans of the clock in which something holds, (n_moments,), as "05:10 to 06:00"."""
    edges = np.diff(np.concatenate([[0], when.astype(np.intp), [0]]))
    spans = zip(np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1, strict=True)
    return ", ".join(
        f"{clock_words(plan.times[first])} to {clock_words(moment_end(plan, int(last)))}" for first, last in spans
    )


def _thunder(plan: DayPlan) -> str:
    share = plan.moments.weather.thunder_share
    if not (share > 0).any():
        return ""
    return (
        "Thunder is in the forecast: leave open water and single trees at the first rumble, and follow the weather "
        "service's warnings."
    )


def _heat(plan: DayPlan) -> str:
    air = plan.moments.weather.temperature_c
    if not (air >= WARM_C).any():
        return ""
    top = float(np.nanmax(air))
    if top >= HOT_C:
        return (
            f"It gets {top:.0f} °C: keep it short, stay in the shade around noon, drink before you are thirsty, and "
            "follow your country's heat warnings."
        )
    return f"It gets {top:.0f} °C: take water, a hat and rests in the shade, and mind your country's heat warnings."


def _gusts(plan: DayPlan) -> str:
    gust = plan.moments.weather.gust_m_s
    if not (gust > GUSTY_M_S).any():
        return ""
    return f"Gusts of up to {np.nanmax(gust):.0f} m/s: branches come down, so do not stand under trees."


def _month(plan: DayPlan) -> int:
    """Return the month as the northern half of the earth would have it, by season."""
    month = plan.question.day.month
    return month if plan.question.observer.latitude_deg >= 0 else (month + 5) % 12 + 1


def _ticks(plan: DayPlan) -> str:
    if _month(plan) not in TICKS:
        return ""
    return "Ticks sit in long grass: wear long trousers and look yourself over afterwards."


def _nests(plan: DayPlan) -> str:
    if _month(plan) not in BREEDING:
        return ""
    if plan.question.animal.group is Group.BIRD:
        return (
            "It is breeding season: keep the distance that licences and local codes ask for, and leave if a bird calls "
            "alarm or stays off its nest."
        )
    return "Birds breed at the water now: stay out of reeds, and keep the distance that local codes ask for."
