"""Whether a count of dragonflies would be allowed: the weather rules of survey protocols, each with its source."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.conditions import Conditions, Numbers
from stillwing.errors import OutsideModel

__all__ = ["COUNT_RULES", "CountCheck", "CountRule", "RuleMet", "count_check"]


@dataclass(frozen=True, slots=True)
class CountRule:
    """The weather in which a protocol lets dragonflies be counted."""

    name: str
    source: str
    cloud_below: float
    """Share of the sky. [1]"""
    wind_below_m_s: float
    """First speed of the first force on the Beaufort scale that is too strong. [m/s]"""
    air_from_c: float
    air_to_c: float | None = None
    """Highest temperature; None where the protocol has none. [°C]"""
    sunny_calm_from_c: float | None = None
    """Lowest temperature on sunny, calm days; None where it is the same. [°C]"""
    hours: tuple[float, float] | None = None
    """By the clock; None where the protocol gives none. [h]"""
    hot_hours: tuple[float, float] | None = None
    """By the clock, on hot days. [h]"""
    hot_above_c: float | None = None
    no_rain: bool = False


GUIDE = CountRule(
    name="recording guide",
    source="Odonata recording reference guide (Water for Wildlife)",
    cloud_below=0.6,
    wind_below_m_s=8.0,  # not stronger than Force 4, which ends at 7.9 m/s (WMO Beaufort scale)
    air_from_c=17.0,
    air_to_c=30.0,
    sunny_calm_from_c=15.0,
    hours=(10.0, 16.0),
    hot_hours=(9.5, 16.5),
    hot_above_c=22.0,
    no_rain=True,
)
MONITORING = CountRule(
    name="monitoring protocol",
    source="British Dragonfly Society protocol as given by a county group",
    cloud_below=0.6,
    wind_below_m_s=5.5,  # no more than Force 3, which ends at 5.4 m/s (WMO Beaufort scale)
    air_from_c=15.0,
)
COUNT_RULES = (GUIDE, MONITORING)

SUNNY_CLOUD = 0.4
"""A day is called sunny up to this share of cloud: "more than 60 % sun" in a county group's list protocol."""
CALM_M_S = 3.4
"""A day is called calm below this, the end of Force 2 (our reading; the guide does not say)."""


@dataclass(frozen=True, slots=True, eq=False)
class RuleMet:
    """Whether one part of a rule is met, of the shape of the conditions."""

    name: str
    words: str
    """What the protocol asks for."""
    is_met: NDArray[np.bool_]
    is_known: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class CountCheck:
    """What a protocol says of some conditions."""

    rule: CountRule
    parts: tuple[RuleMet, ...]

    @property
    def is_allowed(self) -> NDArray[np.bool_]:
        """Whether all parts are known and met."""
        return np.asarray(np.all([part.is_met & part.is_known for part in self.parts], axis=0))

    @property
    def is_refused(self) -> NDArray[np.bool_]:
        """Whether a part is known and not met; where neither allowed nor refused, something is not known."""
        return np.asarray(np.any([~part.is_met & part.is_known for part in self.parts], axis=0))

    def failing(self, at: int | tuple[int, ...] = ()) -> tuple[str, ...]:
        """Return what the protocol asks for and one moment does not give, in words; empty where all is met."""
        return tuple(part.words for part in self.parts if part.is_known[at] and not part.is_met[at])

    def unknown(self, at: int | tuple[int, ...] = ()) -> tuple[str, ...]:
        """Return the names of the parts that cannot be judged at one moment."""
        return tuple(part.name for part in self.parts if not part.is_known[at])


def count_check(rule: CountRule, conditions: Conditions, clock_hour: Numbers = np.nan) -> CountCheck:
    """Return whether a protocol lets dragonflies be counted, and what it objects to.

    Parameters
    ----------
    rule : CountRule
        One of `COUNT_RULES`.
    conditions : Conditions
        Air, wind, cloud and rain are used.
    clock_hour : float or ndarray, shape (...)
        Local clock time, summer time and all, for protocols name hours of the clock; NaN is not known. [h]

    Raises
    ------
    OutsideModel
        If an hour is not 0 to 24.
    """
    air, wind, cloud, rain = (conditions.array(name) for name in ("air_c", "wind_m_s", "cloud_share", "rain_mm_h"))
    parts = [
        _part("cloud", f"less than {100 * rule.cloud_below:.0f} % cloud", cloud < rule.cloud_below, cloud),
        _part("wind", f"wind below {rule.wind_below_m_s:g} m/s", wind < rule.wind_below_m_s, wind),
        _warm_enough(rule, conditions),
    ]
    if rule.air_to_c is not None:
        parts.append(_part("heat", f"at most {rule.air_to_c:g} °C", air <= rule.air_to_c, air))
    if rule.no_rain:
        parts.append(_part("rain", "no rain", rain == 0, rain))
    if rule.hours is not None:
        parts.append(_in_hours(rule, rule.hours, air, _hours(clock_hour, conditions)))
    return CountCheck(rule, tuple(parts))


def _part(name: str, words: str, is_met: NDArray[np.bool_], *needed: NDArray[np.float64]) -> RuleMet:
    return RuleMet(name, words, is_met, np.all([~np.isnan(one) for one in needed], axis=0))


def _warm_enough(rule: CountRule, conditions: Conditions) -> RuleMet:
    air = conditions.array("air_c")
    if rule.sunny_calm_from_c is None:
        return _part("warmth", f"at least {rule.air_from_c:g} °C", air >= rule.air_from_c, air)
    # Cloud or wind that is not known compares as False: the day is then not taken for sunny and calm.
    fine = (conditions.array("cloud_share") <= SUNNY_CLOUD) & (conditions.array("wind_m_s") < CALM_M_S)
    words = f"at least {rule.air_from_c:g} °C, {rule.sunny_calm_from_c:g} °C on sunny, calm days"
    return _part("warmth", words, air >= np.where(fine, rule.sunny_calm_from_c, rule.air_from_c), air)


def _in_hours(
    rule: CountRule, hours: tuple[float, float], air: NDArray[np.float64], clock: NDArray[np.float64]
) -> RuleMet:
    is_met = (clock >= hours[0]) & (clock <= hours[1])
    words = f"between {_clock(hours[0])} and {_clock(hours[1])}"
    if rule.hot_hours is not None and rule.hot_above_c is not None:
        early, late = rule.hot_hours
        is_met |= (air > rule.hot_above_c) & (clock >= early) & (clock <= late)
        words += f", {_clock(early)} to {_clock(late)} above {rule.hot_above_c:g} °C"
    return _part("hours", words, is_met, clock)


def _hours(clock_hour: Numbers, conditions: Conditions) -> NDArray[np.float64]:
    clock = np.broadcast_to(np.asarray(clock_hour, np.float64), conditions.shape)
    outside = clock[(clock < 0) | (clock > 24)]
    if outside.size:
        raise OutsideModel("clock_hour", float(outside.flat[0]), 0.0, 24.0, "h")
    return clock


def _clock(hour: float) -> str:
    return f"{int(hour):02d}:{round(hour % 1 * 60):02d}"
