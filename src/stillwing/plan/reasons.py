"""Why a stand is good or bad at a moment, in phrases: sun, side shown, background, light, whether they fly."""

from datetime import datetime

import numpy as np

from stillwing.animals import reasons as animal_reasons
from stillwing.optics.engraved import exposure_words, f_number_words, iso_words
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown, share_shown, shown
from stillwing.plan.day import FACTORS, DayPlan
from stillwing.plan.views import BEARING_STEP_DEG, BEARINGS_DEG
from stillwing.plan.worth import VIEWS, clean_worth, swing_deg
from stillwing.sky.wind import BEAUFORT_FROM_M_S, COMPASS

__all__ = [
    "FACTOR_WORDS",
    "activity_reason",
    "background_reason",
    "cell_reasons",
    "clock_words",
    "compass_point",
    "keepers_words",
    "light_reason",
    "setting_reason",
    "side_at",
    "side_reason",
    "sun_reason",
    "weakest_reason",
    "wind_words",
]

FACTOR_WORDS = {
    "active": "animals on the wing",
    "facing": "the side they show",
    "lit": "where the light comes from",
    "sharp": "sharpness",
    "clean": "the background",
}
"""What the factors of the chain are called in sentences."""
CALM_BELOW_M_S = BEAUFORT_FROM_M_S[1]
STRAIGHT_DEG = 5.0
"""So near straight behind you the sun stands over neither shoulder (a choice, no source); so in the next two."""
BEHIND_BELOW_DEG, BEFORE_ABOVE_DEG = 75.0, 105.0
FLAT_FROM, HIDDEN_FROM = 0.7, 0.95
"""From so much cloud on the light is told as flat, and the sun as hidden."""
BUSY_BELOW, CLEAN_FROM = 0.6, 0.95
"""Worth of a background that is told as busy, and as clean."""
GLARED_BELOW = 0.9
"""Share of that worth that glint leaves, where glint is told."""
ALL_FLY = 0.95
RIGHT_BEHIND_M = 0.1


def clock_words(when: datetime) -> str:
    """Return the time on the clock, as "14:20"."""
    return f"{when:%H:%M}"


def compass_point(bearing_deg: float) -> str:
    """Return the nearest of sixteen points, as "SW".

    Examples
    --------
    >>> compass_point(224), compass_point(355)
    ('SW', 'N')
    """
    return COMPASS[int(np.floor((bearing_deg % 360.0) / 22.5 + 0.5)) % 16]


def keepers_words(keepers: float) -> str:
    """Return a number of keepers, with one decimal from 1 on, with two digits below.

    Examples
    --------
    >>> keepers_words(12.34), keepers_words(0.042), keepers_words(0.0)
    ('12.3', '0.042', '0')
    """
    return f"{keepers:.1f}" if keepers >= 0.995 else f"{keepers:.2g}"


def cell_reasons(plan: DayPlan, moment: int, stand: int) -> tuple[str, ...]:
    """Return what makes a stand good or bad at a moment, a phrase each.

    Parameters
    ----------
    plan : DayPlan
    moment, stand : int
        Places in the plan's times and in the site's stands.

    Returns
    -------
    tuple of str
        Sun, side shown, background, light, activity, and the weakest factor, in this order.
    """
    told = (sun_reason, side_reason, background_reason, light_reason, activity_reason, weakest_reason)
    return tuple(phrase(plan, moment, stand) for phrase in told)


def setting_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return the setting of a cell, to a stop of the light: "about f/8, 1/2500 s, ISO 800"."""
    cells, at = plan.cells, (moment, stand)
    f_number = float(cells.f_number[at])
    if np.isnan(f_number):
        return "no setting of this kit exposes right"
    words = (f_number_words(f_number), exposure_words(float(cells.exposure_s[at])), iso_words(float(cells.iso[at])))
    return f"about {', '.join(words)}"


def sun_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return where the sun stands to where you look."""
    cells, at = plan.cells, (moment, stand)
    altitude = float(plan.moments.sun.apparent_altitude_deg[moment])
    if altitude <= 0:
        return "the sun is below the horizon"
    where = _sun_side(float(cells.off_shoulder_deg[at]), bool(cells.sun_is_right[at]), altitude)
    if not cells.sun_is_clear[at]:
        return f"the sun is behind trees or bank; it would be {where.removeprefix('sun ')}"
    if plan.moments.weather.cloud_share[moment] >= HIDDEN_FROM:
        return f"the sun is behind cloud; it would be {where.removeprefix('sun ')}"
    if cells.is_dangerous[at]:
        near = 180.0 - float(cells.light_angle_deg[at])
        return f"sun {near:.0f}° from where you look: never look at it through the lens"
    if cells.own_shadow[at]:
        return f"{where}; your shadow falls on the animal"
    return where


def _sun_side(off_deg: float, is_right: bool, altitude_deg: float) -> str:
    hand, high = "right" if is_right else "left", f"{altitude_deg:.0f}° high"
    if off_deg < STRAIGHT_DEG:
        return f"sun straight behind you, {high}"
    if off_deg < BEHIND_BELOW_DEG:
        return f"sun over your {hand} shoulder, {off_deg:.0f}° off, {high}"
    if off_deg <= BEFORE_ABOVE_DEG:
        return f"sun from your {hand}, {high}"
    return f"sun before you to the {hand}, {180 - off_deg:.0f}° from where you face, {high}"


def side_at(plan: DayPlan, moment: int, stand: int) -> Shown:
    """Return the side that shows on average; where any may show, the one that is worth most."""
    question = plan.question
    if question.wanted is not None:
        return question.wanted
    turned = float(plan.cells.turned_deg[moment, stand])
    if np.isnan(turned):
        return max(VIEWS[question.behaviour], key=lambda side: VIEWS[question.behaviour][side])
    return shown(turned)


def side_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return which side of itself the animal shows, and why; that any may show where nothing turns it."""
    wind = wind_words(plan, moment)
    if plan.question.behaviour is Behaviour.PASS:
        return "they pass from any side, whatever the wind"
    turned = float(plan.cells.turned_deg[moment, stand])
    speed = float(plan.moments.weather.wind_m_s[moment])
    if np.isnan(turned) or not speed >= CALM_BELOW_M_S:
        return f"{wind}: any side may show"
    side = plan.question.wanted or shown(turned)
    tenths = round(10 * float(share_shown(turned, swing_deg(speed), side)))
    often = f"some {10 * tenths} % of the time" if tenths else "hardly ever"
    hand = "" if side in (Shown.FACE, Shown.TAIL) else "left " if turned > 0 else "right "
    return f"{hand}{side} towards you {often}: {wind}"


def wind_words(plan: DayPlan, moment: int) -> str:
    """Return the wind as "wind SW 3 m/s"; what is not known of it is told as not known."""
    weather = plan.moments.weather
    speed, bearing = float(weather.wind_m_s[moment]), float(weather.wind_from_deg[moment])
    if np.isnan(speed):
        return "wind not known"
    if speed < CALM_BELOW_M_S:
        return "calm"
    if np.isnan(bearing):
        return f"wind {speed:.0f} m/s, its direction not known"
    return f"wind {compass_point(bearing)} {speed:.0f} m/s"


def background_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return what lies behind the animal, and how far it melts away."""
    cells, at = plan.cells, (moment, stand)
    lengths, clean = float(cells.background_lengths[at]), float(cells.clean[at])
    behind = _behind(plan, moment, stand)
    if np.isnan(lengths):
        return behind
    worth = float(clean_worth(lengths))
    told = "busy" if worth < BUSY_BELOW else "clean" if worth >= CLEAN_FROM else "soft"
    glint = ", with glint on the water" if clean < GLARED_BELOW * worth else ""
    return f"{behind}, blurred over {lengths:.2g} of its length: {told}{glint}"


def _behind(plan: DayPlan, moment: int, stand: int) -> str:
    """Return what the line of sight ends on."""
    at = stand, round(float(plan.cells.bearing_deg[moment, stand]) / BEARING_STEP_DEG) % len(BEARINGS_DEG)
    if plan.behind.is_sky[at]:
        return "sky behind"
    away = float(plan.behind.away_m[at])
    if np.isinf(away):
        return "open land behind"
    return f"{'water' if plan.behind.is_water[at] else 'far bank'} {_metres(away - plan.distance_m)} behind"


def _metres(metres: float) -> str:
    if metres < RIGHT_BEHIND_M:
        return "right"
    return f"{metres:.0f} m" if metres >= 10 else f"{metres:.1f} m"


def light_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return the light on the side of the animal that faces you; with "if", where the cloud is not known."""
    cloud = float(plan.moments.weather.cloud_share[moment])
    sky = " if no cloud comes" if np.isnan(cloud) else ", flat under cloud" if cloud >= FLAT_FROM else ""
    return f"light EV {plan.cells.ev[moment, stand]:.1f}{sky}"


def activity_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return what keeps most animals from flying; where nothing known does, that it is warm enough, or not known."""
    told = plan.moments.activity
    at = (int(plan.cells.sun_is_clear[moment, stand]), moment)
    if plan.cells.active[moment, stand] < ALL_FLY:
        return animal_reasons.reason(told, told.factors[int(told.weakest[at])], at)
    warmth = told.factor("warmth")
    if not warmth.has_threshold:
        return f"what weather the {told.animal.name} needs is not known"
    if not warmth.is_known[at]:
        return "air temperature not known: taken as warm enough"
    return animal_reasons.reason(told, warmth, at)


def weakest_reason(plan: DayPlan, moment: int, stand: int) -> str:
    """Return the smallest factor of the chain, as "weakest: sharpness, 0.48 of 1"."""
    chain = plan.cells.chain(moment, stand)
    weakest = min(FACTORS, key=lambda name: float(getattr(chain, name)))
    return f"weakest: {FACTOR_WORDS[weakest]}, {getattr(chain, weakest):.2f} of 1"
