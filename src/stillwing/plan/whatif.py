"""The plan once more with one thing changed: the wind, the cloud, the cold, or you on your knees."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.plan.day import DayPlan, plan_day
from stillwing.plan.question import PlanQuestion
from stillwing.plan.reasons import compass_point
from stillwing.plan.told import WhatIf, Window
from stillwing.sky.weather import RANGES, Conditions

__all__ = ["KNEELING_M", "Change", "changes_of", "what_ifs_of"]

TURN_DEG, STRONGER_M_S, COLDER_C, CLOUDED = 30.0, 3.0, 3.0, 0.9
"""What is tried: how far forecasts are off on an ordinary day (a choice, no source)."""
KNEELING_M = 0.6
"""Height of the lens of someone who kneels or sits on the heels (common practice, no source)."""
KNEEL_GAINS = 1.1
"""Kneeling is told where it gives so many times the keepers."""
STAY_AT = 0.9
"""One stays where another stand would not give clearly more."""
HOPELESS = 0.2
"""Of the keepers before, below which the window is not worth it."""
TURN_TOLD_DEG = 15.0


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that may come otherwise."""

    what: str
    """As "the wind backs 30°, to S"."""
    asked: PlanQuestion
    """The question with it."""


def changes_of(question: PlanQuestion, plan: DayPlan, windows: Sequence[Window]) -> tuple[Change, ...]:
    """Return the changes of the weather that can be reckoned with: those of what is known.

    Notes
    -----
    A wind that backs turns anticlockwise, one that veers clockwise, seen from above (WMO, International Meteorological
    Vocabulary, from memory).
    """
    if question.weather is None or not windows:
        return ()
    known, bearing = question.weather.known, float(plan.moments.weather.wind_from_deg[windows[0].moment])
    told: list[Change] = []
    if "wind_from_deg" in known and "wind_m_s" in known:
        for by, word in ((-TURN_DEG, "backs"), (TURN_DEG, "veers")):
            to = "" if np.isnan(bearing) else f", to {compass_point(bearing + by)}"
            told.append(Change(f"the wind {word} {TURN_DEG:.0f}°{to}", _turned(question, by)))
    if "wind_m_s" in known:
        told.append(
            Change(f"the wind blows {STRONGER_M_S:.0f} m/s stronger", _raised(question, "wind_m_s", STRONGER_M_S))
        )
    if "cloud_share" in known:
        told.append(Change(f"cloud comes, {100 * CLOUDED:.0f} %", _with(question, "cloud_share", _clouded)))
    if "temperature_c" in known:
        told.append(Change(f"it is {COLDER_C:.0f} °C colder", _raised(question, "temperature_c", -COLDER_C)))
    return tuple(told)


def what_ifs_of(question: PlanQuestion, plan: DayPlan, windows: Sequence[Window]) -> tuple[WhatIf, ...]:
    """Return what each change does to the windows; kneeling last, if it is worth it.

    Parameters
    ----------
    question : PlanQuestion
        That the plan answers.
    plan : DayPlan
    windows : sequence of Window
        Of the plan; without any there is nothing to lose.
    """
    told = [_what_if(plan, change, windows) for change in changes_of(question, plan, windows)]
    return (*told, *_kneeling(question, plan, windows))


def _with(
    question: PlanQuestion, quantity: str, change: Callable[[NDArray[np.float64]], NDArray[np.float64]]
) -> PlanQuestion:
    if question.weather is None:
        return question
    given: Conditions = question.weather.conditions
    changed = replace(given, **{quantity: change(getattr(given, quantity))})
    return replace(question, weather=replace(question.weather, conditions=changed))


def _turned(question: PlanQuestion, by_deg: float) -> PlanQuestion:
    return _with(question, "wind_from_deg", lambda bearing: np.asarray((bearing + by_deg) % 360.0, np.float64))


def _raised(question: PlanQuestion, quantity: str, by: float) -> PlanQuestion:
    low, high, _ = RANGES[quantity]
    return _with(question, quantity, lambda values: np.asarray(np.clip(values + by, low, high), np.float64))


def _clouded(cloud: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.where(np.isnan(cloud), np.nan, np.maximum(cloud, CLOUDED))


def _what_if(plan: DayPlan, change: Change, windows: Sequence[Window]) -> WhatIf:
    then = plan_day(change.asked)
    keepers = tuple(float(_keepers(then, window)[window.stand]) for window in windows)
    before = tuple(float(_keepers(plan, window)[window.stand]) for window in windows)
    return WhatIf(change.what, keepers, before, _advice(plan, then, windows[0]))


def _rows(plan: DayPlan, window: Window) -> NDArray[np.intp]:
    return np.array([i for i, when in enumerate(plan.times) if window.start <= when < window.end], np.intp)


def _keepers(plan: DayPlan, window: Window) -> NDArray[np.float64]:
    """Return the keepers of each stand in the hours of a window, (n_stands,)."""
    return np.asarray(plan.cells.keepers_h[_rows(plan, window)].sum(axis=0) * plan.step_h, np.float64)


def _advice(plan: DayPlan, then: DayPlan, window: Window) -> str:
    """Return what to do in the best window, in one sentence."""
    stands, was, now = plan.question.site.stands, _keepers(plan, window)[window.stand], _keepers(then, window)
    best, here = int(now.argmax()), float(now[window.stand])
    name = stands[window.stand].name
    if now[best] < HOPELESS * was:
        return f"Do not go for it: {now[best]:.1f} keepers at the best stand instead of {was:.1f}."
    if here >= STAY_AT * now[best]:
        bearing = float(then.cells.bearing_deg[window.moment, window.stand])
        kept = float(plan.cells.bearing_deg[window.moment, window.stand])
        turned = abs((bearing - kept + 180) % 360 - 180) >= TURN_TOLD_DEG
        face = f" and face {compass_point(bearing)} ({bearing:.0f}°)" if turned else ""
        return f"Stay at {name}{face}: {here:.1f} keepers instead of {was:.1f}."
    bearing = float(then.cells.bearing_deg[window.moment, best])
    return (
        f"Move to {stands[best].name} and face {compass_point(bearing)} ({bearing:.0f}°): {now[best]:.1f} keepers "
        f"instead of {here:.1f} at {name}."
    )


def _kneeling(question: PlanQuestion, plan: DayPlan, windows: Sequence[Window]) -> tuple[WhatIf, ...]:
    if not windows or question.stance.lens_m <= KNEELING_M:
        return ()
    low = replace(question, stance=replace(question.stance, lens_m=KNEELING_M))
    then = plan_day(low)
    keepers = tuple(float(_keepers(then, window)[window.stand]) for window in windows)
    before = tuple(float(_keepers(plan, window)[window.stand]) for window in windows)
    if sum(keepers) < KNEEL_GAINS * sum(before):
        return ()
    name = question.site.stands[windows[0].stand].name
    advice = f"Kneel at {name}: {keepers[0]:.1f} keepers instead of {before[0]:.1f} standing."
    return (WhatIf(f"you kneel, the lens {KNEELING_M:g} m above the ground", keepers, before, advice),)
