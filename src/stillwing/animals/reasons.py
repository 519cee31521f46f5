"""Each factor of activity in words: what was met, and what the animal makes of it."""

import calendar
from collections.abc import Callable, Mapping
from types import MappingProxyType

import numpy as np

from stillwing.animals.activity import Activity
from stillwing.animals.factors import Factor, sunshine
from stillwing.animals.season import month_of
from stillwing.animals.thresholds import thresholds_of

__all__ = ["Place", "reason", "reasons"]

Place = int | tuple[int, ...]
"""Index of one moment in the conditions; () where they are of one moment only."""
NONE, ALL = 0.05, 0.95
"""Up to the first nothing flies, from the second on all that would: for words only."""

UNKNOWN: Mapping[str, str] = MappingProxyType(
    {
        "season": "date not known: season not counted",
        "hour": "hour not known: not counted",
        "warmth": "air temperature not known: not counted",
        "heat": "air temperature not known: heat not counted",
        "light": "neither light nor cloud known: not counted",
        "wind": "wind not known: not counted",
        "rain": "rain not known: not counted",
    }
)


def reasons(activity: Activity, at: Place = ()) -> tuple[str, ...]:
    """Return one phrase per factor for one moment, in the order of `animals.factors.FACTORS`.

    Parameters
    ----------
    activity : Activity
        From `animals.activity.activity`.
    at : int or tuple of int, default ()
        Which moment of the conditions.

    Examples
    --------
    >>> from stillwing.animals.activity import activity
    >>> from stillwing.animals.catalogue import animal_named, read_catalogue
    >>> from stillwing.animals.conditions import Conditions
    >>> hawker = animal_named(read_catalogue(), "hawker")
    >>> reasons(activity(hawker, Conditions(air_c=11.0, cloud_share=1.0, rain_mm_h=0.0)))[2]
    '11 °C: too cold for the hawker until the sun has warmed it'
    """
    return tuple(reason(activity, factor, at) for factor in activity.factors)


def reason(activity: Activity, factor: Factor, at: Place = ()) -> str:
    """Return what one factor of an activity says of one moment."""
    name = activity.animal.name
    if not factor.has_threshold:
        return f"{factor.name}: no threshold known for the {name}"
    if not factor.is_known[at]:
        return UNKNOWN[factor.name]
    return WORDS[factor.name](activity, factor, at)


def _season(activity: Activity, factor: Factor, at: Place) -> str:
    months = activity.animal.flight_months
    date = calendar.month_name[month_of(float(factor.felt[at]))]
    if len(months) == 12:
        return f"{date}: about all year"
    span = f"{calendar.month_name[months[0]]} to {calendar.month_name[months[-1]]}"
    return f"{date}: {_degree(factor, at, 'out of season', 'early or late in its season', 'in season')} ({span})"


def _hour(activity: Activity, factor: Factor, at: Place) -> str:
    minutes = round(float(factor.felt[at]) * 60)
    told = _degree(factor, at, "not its hours", "before or after its best hours", "its best hours")
    return f"{minutes // 60:02d}:{minutes % 60:02d} by the sun: {told}"


def _warmth(activity: Activity, factor: Factor, at: Place) -> str:
    air, felt = float(activity.conditions.array("air_c")[at]), float(factor.felt[at])
    name, sun = activity.animal.name, sunshine(activity.conditions)
    basks = f" and sun, as warm as {felt:.0f} °C" if felt - air >= 0.5 else ""
    told = f"{air:.0f} °C{basks}: "
    if factor.chance.likely[at] > NONE:
        return told + _degree(factor, at, "", f"cool for the {name}, not all fly", f"warm enough for the {name}")
    if sun.likely[at] < 0.5 and _basking_would_do(activity, air):
        return f"{told}too cold for the {name} until the sun has warmed it"
    return f"{told}too cold for the {name}"


def _basking_would_do(activity: Activity, air_c: float) -> bool:
    limits = thresholds_of(activity.animal)
    coldest = activity.animal.figure("warm_enough_c").likely - limits["cold_margin_c"].likely
    return air_c + limits["sun_warming_c"].likely > coldest


def _heat(activity: Activity, factor: Factor, at: Place) -> str:
    told = _degree(factor, at, "too hot, they rest in the shade", "hot, some rest in the shade", "not too hot")
    return f"{factor.felt[at]:.0f} °C: {told}"


def _light(activity: Activity, factor: Factor, at: Place) -> str:
    told = _degree(factor, at, "too dark", "dim, not all fly", "light enough")
    if np.isnan(activity.conditions.array("illuminance_lx")[at]):
        return f"{100 * factor.felt[at]:.0f} % cloud: {told}"
    return f"{factor.felt[at]:,.0f} lx: {told}"


def _wind(activity: Activity, factor: Factor, at: Place) -> str:
    told = _degree(factor, at, "too windy", "windy, not all fly", "calm enough")
    return f"wind {factor.felt[at]:.1f} m/s: {told}"


def _rain(activity: Activity, factor: Factor, at: Place) -> str:
    if factor.felt[at] == 0:
        return "dry"
    return f"rain {factor.felt[at]:.1f} mm/h: {_degree(factor, at, 'they shelter', 'most shelter', 'hardly felt')}"


def _degree(factor: Factor, at: Place, none: str, some: str, all_: str) -> str:
    likely = float(factor.chance.likely[at])
    return none if likely <= NONE else all_ if likely >= ALL else some


WORDS: Mapping[str, Callable[[Activity, Factor, Place], str]] = MappingProxyType(
    {
        "season": _season,
        "hour": _hour,
        "warmth": _warmth,
        "heat": _heat,
        "light": _light,
        "wind": _wind,
        "rain": _rain,
    }
)
