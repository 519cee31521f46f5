"""When the day is over, and what ends it."""

import math

import numpy as np

from stillwing.animals.factors import FACTORS as ACTIVITY_FACTORS
from stillwing.plan.day import DayPlan
from stillwing.plan.reasons import wind_words
from stillwing.plan.told import Ending
from stillwing.plan.windows import WORTH_GOING, peak_rate

__all__ = ["ending_of"]

OF_PEAK = 1.0 / 3.0
"""The day is over when the rate stays below this share of its peak (a choice, no source)."""
LOOK_BACK_MIN = 60.0
"""What fell most is sought over so long (a choice, no source)."""
NONE_FLIES = 0.05
LEAST = 1e-6
"""A factor of nothing still has a logarithm."""


def ending_of(plan: DayPlan) -> Ending | None:
    """Return the moment from which the likely rate at the best stand stays low, and the factor that fell most then.

    ``None`` where nothing is to be expected at all, or the rate is still high when the light ends.
    """
    rate = plan.cells.keepers_h.max(axis=1)
    peak = peak_rate(plan)
    if peak < WORTH_GOING * plan.question.encounters_an_hour:
        return None
    last = int(np.flatnonzero(rate >= OF_PEAK * peak)[-1])
    if last + 1 >= len(rate):
        return None
    over = last + 1
    seconds = np.array([when.timestamp() for when in plan.times])
    before = int(np.searchsorted(seconds, seconds[over] - 60 * LOOK_BACK_MIN))
    return Ending(plan.times[over], _why(plan, min(before, last), over))


def _factors(plan: DayPlan, moment: int, stand: int) -> dict[str, float]:
    """Return the chain of one cell, activity in its own factors."""
    state = int(plan.cells.sun_is_clear[moment, stand])
    told = plan.moments.activity
    flies = {name: float(told.factor(name).chance.likely[state, moment]) for name in ACTIVITY_FACTORS}
    chain = plan.cells.chain(moment, stand)
    # The light that animals need and the light on them are two things of one name.
    return {f"their {name}": value for name, value in flies.items()} | {
        name: value for name, value in chain._asdict().items() if name != "active"
    }


def _why(plan: DayPlan, before: int, over: int) -> str:
    keepers = plan.cells.keepers_h
    stand = int(keepers[before].argmax())
    here, there = _factors(plan, over, stand), _factors(plan, before, stand)
    fell = min(here, key=lambda name: math.log(max(here[name], LEAST) / max(there[name], LEAST)))
    lost_sun = plan.cells.sun_is_clear[before, stand] and not plan.cells.sun_is_clear[over, stand]
    if lost_sun and plan.moments.sun.apparent_altitude_deg[over] > 0 and fell in ("lit", "their warmth", "sharp"):
        return f"the sun is behind trees or bank at {plan.question.site.stands[stand].name}"
    return _words(plan, over, stand, fell, here[fell])


def _words(plan: DayPlan, over: int, stand: int, fell: str, left: float) -> str:
    name = plan.question.animal.name
    weather, at = plan.moments.weather, (over, stand)
    they = f"the {name} flies in" if left <= NONE_FLIES else f"most of the {name} fly in"
    match fell:
        case "their wind":
            return f"too windy: {weather.wind_m_s[over]:.0f} m/s is more than {they}"
        case "their heat":
            return f"too hot: {weather.temperature_c[over]:.0f} °C is more than {they}"
        case "their warmth":
            return f"too cold: {weather.temperature_c[over]:.0f} °C is less than {they}"
        case "their rain":
            return f"rain: {weather.rain_mm[over]:.1f} mm an hour is more than {they}"
        case "their hour":
            return f"late in the day for the {name}"
        case "their light":
            return f"too dark for the {name}: {plan.moments.light.ground_lx[over]:,.0f} lx on the ground"
        case "sharp":
            return f"the light no longer pays for a sharp picture: EV {plan.cells.ev[at]:.1f}"
        case "facing":
            return f"they turn away from you: {wind_words(plan, over)}"
        case "lit":
            return f"the light comes from the wrong side: {plan.cells.light_angle_deg[at]:.0f}° off the front"
        case _:
            return "the background gets worse: glint or a near bank"
