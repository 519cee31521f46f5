"""The single factors of activity: season, hour, warmth, heat, light, wind and rain, each between 0 and 1."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.animals.catalogue import CatalogueAnimal, Figure
from stillwing.animals.conditions import Conditions
from stillwing.animals.ramps import Chances, falling, ramp, rising
from stillwing.animals.season import in_season

__all__ = ["CLOUD_ALLOWED", "FACTORS", "Factor", "factors_of", "sunshine"]

FACTORS = ("season", "hour", "warmth", "heat", "light", "wind", "rain")
"""In the order in which they are told."""
LOW_SUN_LX = (1_000.0, 10_000.0)
"""Under less light than the first no sun warms, above the second it does: the sun about 1 and 10 degrees high in a
clear sky (estimate)."""
CLOUD_ALLOWED = 0.6
"""Counts of dragonflies ask for less cloud: Odonata recording reference guide (Water for Wildlife); British Dragonfly
Society protocol as given by a county group."""


@dataclass(frozen=True, slots=True, eq=False)
class Factor:
    """One factor of the chance that an animal flies, of the shape of the conditions."""

    name: str
    """One of `FACTORS`."""
    chance: Chances
    """1 where the weather or the threshold is not known."""
    is_known: NDArray[np.bool_]
    """Whether the conditions say what this factor needs."""
    has_threshold: bool
    """Whether anything is known to keep this animal from flying in this way."""
    felt: NDArray[np.float64]
    """What was held against the threshold, in its unit: for warmth the air and what the sun adds to it."""


def factors_of(animal: CatalogueAnimal, limits: Mapping[str, Figure], conditions: Conditions) -> tuple[Factor, ...]:
    """Return all factors of one animal, in the order of `FACTORS`.

    Parameters
    ----------
    animal : CatalogueAnimal
        ``flight_months`` and, where it has one, ``warm_enough_c`` are used.
    limits : mapping
        Its thresholds, from `animals.thresholds.thresholds_of`; empty where none are known.
    conditions : Conditions
        Of any shape.
    """
    day = conditions.array("day_of_year")
    season = _factor("season", in_season(animal, day), day)
    if not limits:
        return (season, *(_without(name, conditions) for name in FACTORS[1:]))
    air, wind, rain = (conditions.array(name) for name in ("air_c", "wind_m_s", "rain_mm_h"))
    return (
        season,
        _hour(limits, conditions.array("solar_hour")),
        _warmth(animal, limits, conditions),
        _factor("heat", falling(air, limits["heat_full_c"], limits["heat_none_c"]), air),
        _light(limits, conditions),
        _factor("wind", falling(wind, limits["wind_full_m_s"], limits["wind_none_m_s"]), wind),
        _rain(limits["rain_none_mm_h"], rain),
    )


def sunshine(conditions: Conditions) -> Chances:
    """Return the share of the time that the sun shines on the animal, 0 to 1, with its range.

    Where neither the cloud nor whether the sun clears the trees is known it is anything from 0 to 1, and 0 is likely:
    no warmth is counted that nobody has told of.
    """
    clear, stands = 1.0 - conditions.array("cloud_share"), conditions.array("is_in_sun")
    neither = np.isnan(clear) & np.isnan(stands)
    high_enough = np.nan_to_num(ramp(conditions.array("illuminance_lx"), *LOW_SUN_LX), nan=1.0)
    share = np.nan_to_num(clear, nan=1.0) * np.nan_to_num(stands, nan=1.0) * high_enough
    least = np.where(neither, 0.0, share)
    return Chances(least, least, share)


def _factor(name: str, chance: Chances, felt: NDArray[np.float64]) -> Factor:
    known = ~np.isnan(felt)
    return Factor(name, Chances(*(np.where(known, case, 1.0) for case in chance)), known, True, felt)


def _hour(limits: Mapping[str, Figure], hour: NDArray[np.float64]) -> Factor:
    begun = rising(hour, limits["morning_none_h"], limits["morning_full_h"])
    not_over = falling(hour, limits["evening_full_h"], limits["evening_none_h"])
    return _factor("hour", Chances(*(a * b for a, b in zip(begun, not_over, strict=True))), hour)


def _warmth(animal: CatalogueAnimal, limits: Mapping[str, Figure], conditions: Conditions) -> Factor:
    """Return how far the air, and what basking adds to it, is warm enough.

    ``warm_enough_c`` is the air in which the animal flies as freely as warmth lets it; ``cold_margin_c`` below it
    nothing flies.
    """
    if "warm_enough_c" not in animal.figures:
        return _without("warmth", conditions)
    enough, margin, warming = animal.figures["warm_enough_c"], limits["cold_margin_c"], limits["sun_warming_c"]
    air, sun = conditions.array("air_c"), sunshine(conditions)
    felt = air + warming.likely * sun.likely
    chance = Chances(
        ramp(air + warming.low * sun.low, enough.high - margin.low, enough.high),
        ramp(felt, enough.likely - margin.likely, enough.likely),
        ramp(air + warming.high * sun.high, enough.low - margin.high, enough.low),
    )
    return _factor("warmth", chance, felt)


def _light(limits: Mapping[str, Figure], conditions: Conditions) -> Factor:
    """Return how far it is light enough: by illuminance where it is known, else by cloud."""
    lx, cloud = conditions.array("illuminance_lx"), conditions.array("cloud_share")
    by_light = rising(lx, limits["light_none_lx"], limits["light_full_lx"])
    clear = ramp(cloud, 1.0, CLOUD_ALLOWED)
    overcast = limits["overcast_share"]
    shares = (overcast.low, overcast.likely, overcast.high)
    by_cloud = Chances(*(share + (1.0 - share) * clear for share in shares))
    dark = np.isnan(lx)
    chance = Chances(*(np.where(dark, b, a) for a, b in zip(by_light, by_cloud, strict=True)))
    return _factor("light", chance, np.where(dark, cloud, lx))


def _rain(none: Figure, rain: NDArray[np.float64]) -> Factor:
    return _factor("rain", Chances(*(ramp(rain, end, 0.0) for end in (none.low, none.likely, none.high))), rain)


def _without(name: str, conditions: Conditions) -> Factor:
    ones = np.ones(conditions.shape)
    known = np.zeros(conditions.shape, np.bool_)
    return Factor(name, Chances(ones, ones, ones), known, False, np.full(conditions.shape, np.nan))
