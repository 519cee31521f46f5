"""The plan once more with one thing changed: the wind, the cloud, the cold, or you on your knees."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.thresholds import thresholds_of
from stillwing.optics.subject import Behaviour
from stillwing.place.bearings import turn
from stillwing.plan.day import DayPlan, plan_day
from stillwing.plan.question import PlanQuestion
from stillwing.plan.reasons import clock_words, compass_point, keepers_words
from stillwing.plan.told import WhatIf, Window
from stillwing.sky.weather import QUANTITIES, RANGES, Conditions

__all__ = ["KNEELING_M", "Change", "changes_of", "what_if", "what_ifs_of"]

TURN_DEG, STRONGER_M_S, COLDER_C, CLOUDED = 30.0, 3.0, 3.0, 0.9
"""What is tried: how far forecasts are off on an ordinary day (a choice, no source)."""
KNEELING_M = 0.6
"""Height of the lens of someone who kneels or sits on the heels (common practice, no source)."""
KNEEL_GAINS = 1.1
"""Kneeling is told where it gives so many times the keepers."""
STAY_AT = 0.8
"""One stays with a stand or a window, where another would not give clearly more."""
HOPELESS = 0.2
"""Of the keepers before, below which the window is not worth it."""
TURN_TOLD_DEG = 15.0
MOST_STANDS = 60
"""About so many stands are asked in a changed plan."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that may come otherwise."""

    what: str
    """As "the wind backs 30°, to S"."""
    asked: PlanQuestion
    """The question with it."""


def changes_of(question: PlanQuestion, plan: DayPlan, windows: Sequence[Window]) -> tuple[Change, ...]:
    """Return the changes that can be reckoned with: of weather that is known, and that is known to matter.

    Notes
    -----
    A wind that backs turns anticlockwise, one that veers clockwise, seen from above (WMO, International Meteorological
    Vocabulary, from memory).
    """
    if question.weather is None or not windows:
        return ()
    # Of the day: a forecast that covers other days knows nothing here.
    known = [name for name in QUANTITIES if np.isfinite(getattr(plan.moments.weather, name)).any()]
    bearing = float(plan.moments.weather.wind_from_deg[windows[0].moment])
    has_thresholds, is_turned = bool(thresholds_of(question.animal)), question.behaviour is not Behaviour.PASS
    told: list[Change] = []
    if is_turned and "wind_from_deg" in known and "wind_m_s" in known:
        for by, word in ((-TURN_DEG, "backs"), (TURN_DEG, "veers")):
            to = "" if np.isnan(bearing) else f", to {compass_point(bearing + by)}"
            told.append(Change(f"the wind {word} {TURN_DEG:.0f}°{to}", _turned(question, by)))
    if (is_turned or has_thresholds) and "wind_m_s" in known:
        told.append(
            Change(f"the wind blows {STRONGER_M_S:.0f} m/s stronger", _raised(question, "wind_m_s", STRONGER_M_S))
        )
    if "cloud_share" in known:
        told.append(Change(f"cloud comes, {100 * CLOUDED:.0f} %", _with(question, "cloud_share", _clouded)))
    if has_thresholds and "temperature_c" in known:
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
    told = [what_if(plan, change, windows) for change in changes_of(question, plan, windows)]
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


def what_if(plan: DayPlan, change: Change, windows: Sequence[Window]) -> WhatIf:
    """Return what one change does to the windows of a plan.

    Notes
    -----
    Of many stands, every n-th is asked beside those of the windows, so that `MOST_STANDS` or a few more are.
    """
    kept = _asked_stands(len(plan.question.site.stands), windows)
    site = change.asked.site
    then = plan_day(replace(change.asked, site=replace(site, stands=tuple(site.stands[i] for i in kept))))
    at = [int(np.searchsorted(kept, window.stand)) for window in windows]
    return WhatIf(
        change.what,
        keepers=tuple(float(_keepers(then, window)[i]) for i, window in zip(at, windows, strict=True)),
        keepers_before=tuple(float(_keepers(plan, window)[window.stand]) for window in windows),
        advice=_other_time(then, windows) or _advice(plan, then, windows[0], at[0]),
    )


def _asked_stands(n_stands: int, windows: Sequence[Window]) -> NDArray[np.intp]:
    every = -(-n_stands // MOST_STANDS)
    return np.asarray(np.unique([*range(0, n_stands, every), *(window.stand for window in windows)]), np.intp)


def _keepers(plan: DayPlan, window: Window) -> NDArray[np.float64]:
    """Return the keepers of each stand in the hours of a window, (n_stands,)."""
    # By instants: two times of one zone are compared by the clock, which shows one hour twice in autumn.
    start, end = window.start.timestamp(), window.end.timestamp()
    rows = [i for i, when in enumerate(plan.times) if start <= when.timestamp() < end]
    return np.asarray(plan.cells.keepers_h[rows].sum(axis=0) * plan.step_h, np.float64)


def _other_time(then: DayPlan, windows: Sequence[Window]) -> str:
    """Return that another window is clearly better than the first one then; "" where none is."""
    best = [_keepers(then, window) for window in windows]
    most = [float(keepers.max()) for keepers in best]
    at = int(np.argmax(most))
    if most[0] >= STAY_AT * most[at]:
        return ""
    window, stand = windows[at], int(best[at].argmax())
    return (
        f"go from {clock_words(window.start)} to {clock_words(window.end)} instead, to "
        f"{then.question.site.stands[stand].name}: {keepers_words(most[at])} keepers, and {keepers_words(most[0])} "
        f"from {clock_words(windows[0].start)}"
    )


def _advice(plan: DayPlan, then: DayPlan, window: Window, at: int) -> str:
    """Return what to do in the best window, in one sentence; ``at`` is the place of its stand in the changed plan."""
    was, now = float(_keepers(plan, window)[window.stand]), _keepers(then, window)
    best, here = int(now.argmax()), float(now[at])
    name, elsewhere = (then.question.site.stands[i].name for i in (at, best))
    told = tuple(map(keepers_words, (was, here, float(now[best]))))
    if now[best] < HOPELESS * was:
        return f"do not go for it: {told[2]} keepers at the best stand instead of {told[0]}"
    if here < STAY_AT * now[best]:
        return f"move to {elsewhere} and face {_faced(then, window, best)}: {told[2]} keepers, and {told[1]} at {name}"
    bearing = float(then.cells.bearing_deg[window.moment, at])
    kept = float(plan.cells.bearing_deg[window.moment, window.stand])
    face = f" and face {_faced(then, window, at)}" if abs(turn(kept, bearing)) >= TURN_TOLD_DEG else ""
    if told[1] == told[0]:
        return f"stay at {name}{face}: {told[1]} keepers as before"
    return f"stay at {name}{face}: {told[1]} keepers instead of {told[0]}"


def _faced(plan: DayPlan, window: Window, stand: int) -> str:
    bearing = float(plan.cells.bearing_deg[window.moment, stand])
    return f"{compass_point(bearing)} ({bearing:.0f}°)"


def _kneeling(question: PlanQuestion, plan: DayPlan, windows: Sequence[Window]) -> tuple[WhatIf, ...]:
    if not windows or question.stance.lens_m <= KNEELING_M:
        return ()
    low = replace(question, stance=replace(question.stance, lens_m=KNEELING_M))
    told = what_if(plan, Change(f"you kneel, the lens {KNEELING_M:g} m above the ground", low), windows)
    if sum(told.keepers) < KNEEL_GAINS * sum(told.keepers_before):
        return ()
    name = question.site.stands[windows[0].stand].name
    now, was = keepers_words(told.keepers[0]), keepers_words(told.keepers_before[0])
    return (replace(told, advice=f"kneel at {name}: {now} keepers, and {was} standing"),)
