"""Where and in what air somebody looks at the sky."""

import math
from dataclasses import dataclass

from pvlib.atmosphere import alt2pres

from stillwing.errors import InputError, OutsideModel

__all__ = ["DELTA_T_S", "Observer"]

DELTA_T_S = 69.2
"""Terrestrial time less universal time, as observed in 2020 to 2025 (IERS, from memory). Ten seconds more or less move
the sun by 0.0001 degrees, a third of what the position algorithm claims: one figure serves 1990 to 2040. [s]"""


@dataclass(frozen=True, slots=True)
class Observer:
    """A place on earth, with the air that bends and dims the light there."""

    latitude_deg: float
    """North is positive."""
    longitude_deg: float
    """East is positive, -180 to 180."""
    elevation_m: float = 0.0
    temperature_c: float = 12.0
    """Of the air, for refraction only."""
    pressure_hpa: float | None = None
    """At the place, not reduced to sea level; that of the standard atmosphere at its elevation where not given."""

    def __post_init__(self) -> None:
        """Refuse what is not on earth.

        Raises
        ------
        OutsideModel
            If a value is beyond its range.
        InputError
            If a value is not a number.
        """
        for name, low, high, unit in (
            ("latitude_deg", -90.0, 90.0, "deg"),
            ("longitude_deg", -180.0, 180.0, "deg"),
            ("elevation_m", -450.0, 9000.0, "m"),
            ("temperature_c", -90.0, 60.0, "deg C"),
            ("pressure_hpa", 250.0, 1100.0, "hPa"),
        ):
            value = getattr(self, name)
            if value is None:
                continue
            if not math.isfinite(value):
                raise InputError(f"{name} is {value:g}; it must be a number from {low:g} to {high:g} {unit}")
            if not low <= value <= high:
                raise OutsideModel(name, value, low, high, unit)

    @property
    def air_pressure_hpa(self) -> float:
        """The pressure given, or that of the standard atmosphere. [hPa]"""
        return self.pressure_hpa if self.pressure_hpa is not None else float(alt2pres(self.elevation_m)) / 100
