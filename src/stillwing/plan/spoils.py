"""What would spoil a window: a turn of the wind, more of it, cloud, cold, rain, the sun going behind the trees."""

import numpy as np

from stillwing.animals.thresholds import thresholds_of
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import shown
from stillwing.plan.day import DayPlan
from stillwing.plan.moments import IN_SHADE, IN_SUN
from stillwing.plan.reasons import CALM_BELOW_M_S, FLAT_FROM, clock_words
from stillwing.plan.worth import facing_worth, swing_deg

__all__ = ["spoils_of"]

TURNS_DEG = np.arange(5.0, 125.0, 5.0)
"""Turns of the wind that are tried."""
SPOILT = 0.5
"""Share of what it was worth, below which something is spoilt (a choice, no source); so in the next."""
STEADY_BELOW_DEG = 90.0
"""Animals that swing farther about the wind are not turned by it."""
SOON_MIN = 60.0


def spoils_of(plan: DayPlan, moment: int, last: int, stand: int) -> tuple[str, ...]:
    """Return what would spoil a stay, a phrase each, the likeliest to matter first.

    Parameters
    ----------
    plan : DayPlan
    moment : int
        The best of the stay.
    last : int
        The last of the stay.
    stand : int
    """
    told = (_turn(plan, moment, stand), _wind(plan, moment), _cloud(plan, moment, stand), _trees(plan, last, stand))
    # Birds have no thresholds of weather.
    rain = "rain: they shelter" if thresholds_of(plan.question.animal) else ""
    return tuple(phrase for phrase in (*told, rain) if phrase)


def _turn(plan: DayPlan, moment: int, stand: int) -> str:
    """Return the smallest turn of the wind that leaves half of what the side shown is worth, the stand kept."""
    question, weather = plan.question, plan.moments.weather
    turned, speed = float(plan.cells.turned_deg[moment, stand]), float(weather.wind_m_s[moment])
    if question.behaviour is Behaviour.PASS or np.isnan(turned):
        return ""
    swing = float(swing_deg(speed))
    if swing > STEADY_BELOW_DEG:
        return "" if speed < CALM_BELOW_M_S else "a wind so light turns all the time, and they with it"
    # A wind that veers, clockwise seen from above, turns their heads the same way.
    turns = np.stack([TURNS_DEG, -TURNS_DEG])
    worth = facing_worth((turned + turns + 180.0) % 360.0 - 180.0, swing, question.behaviour, question.wanted)
    now = float(facing_worth(turned, swing, question.behaviour, question.wanted))
    spoilt = (worth <= SPOILT * now).any(axis=0)
    if not spoilt.any():
        return ""
    at = int(spoilt.argmax())
    way = int(worth[:, at].argmin())
    by = float(turns[way, at])
    side = shown(float((turned + by + 180.0) % 360.0 - 180.0))
    return f"the wind {'veering' if by > 0 else 'backing'} {abs(by):.0f}° or more: you would see the {side}"


def _wind(plan: DayPlan, moment: int) -> str:
    limits = thresholds_of(plan.question.animal)
    if not limits or np.isnan(plan.moments.weather.wind_m_s[moment]):
        return ""
    full, none = limits["wind_full_m_s"].likely, limits["wind_none_m_s"].likely
    return f"wind above {full:g} m/s: fewer of them fly, and none above {none:g} m/s"


def _cloud(plan: DayPlan, moment: int, stand: int) -> str:
    if not plan.cells.sun_is_clear[moment, stand] or plan.moments.weather.cloud_share[moment] >= FLAT_FROM:
        return ""
    air = plan.moments.activity.chance.likely
    if air[IN_SHADE, moment] < SPOILT * air[IN_SUN, moment]:
        return "cloud before the sun: too cold then for most to fly"
    return "cloud before the sun: the light goes flat"


def _trees(plan: DayPlan, last: int, stand: int) -> str:
    """Return that the sun goes behind the trees within the hour after the stay."""
    cells, altitude = plan.cells, plan.moments.sun.apparent_altitude_deg
    if not cells.sun_is_clear[last, stand]:
        return ""
    for at in range(last + 1, len(plan.times)):
        # Between two times of one zone Python counts by the clock, which jumps twice a year.
        if plan.times[at].timestamp() - plan.times[last].timestamp() > 60 * SOON_MIN:
            return ""
        if altitude[at] > 0 and not cells.sun_is_clear[at, stand]:
            return f"staying on: the sun is behind trees or bank from {clock_words(plan.times[at])}"
    return ""
