"""Weather, light and time at the water, for one moment or for many at once; what is not known is NaN."""

import math
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError, OutsideModel

__all__ = ["Conditions", "Numbers"]

Numbers: TypeAlias = float | NDArray[np.float64]
"""One number or an array of them; NaN where it is not known."""

LIMITS = MappingProxyType(
    {
        "air_c": (-60.0, 60.0, "°C"),
        "wind_m_s": (0.0, 120.0, "m/s"),
        "cloud_share": (0.0, 1.0, "(a share, 60 % is 0.6)"),
        "illuminance_lx": (0.0, 200_000.0, "lx"),
        "rain_mm_h": (0.0, 500.0, "mm/h"),
        "solar_hour": (0.0, 24.0, "h"),
        "day_of_year": (1.0, 366.0, "(1 is 1 January)"),
        "is_in_sun": (0.0, 1.0, "(1 is yes, 0 is no)"),
    }
)
"""What can be on Earth; outside it a number is in the wrong unit."""


@dataclass(frozen=True, slots=True, eq=False)
class Conditions:
    """What an animal meets at the water; all fields are broadcast to one shape, and NaN is "not known"."""

    air_c: Numbers = math.nan
    """Air temperature in the shade, as forecast. [°C]"""
    wind_m_s: Numbers = math.nan
    """Mean wind over open ground at 10 m, as forecast; shelter at the water is not known to it. [m/s]"""
    cloud_share: Numbers = math.nan
    """Share of the sky that is covered, 0 to 1."""
    illuminance_lx: Numbers = math.nan
    """On level, open ground, cloud and all. [lx]"""
    rain_mm_h: Numbers = math.nan
    solar_hour: Numbers = math.nan
    """True solar time, 12 when the sun is highest. [h]"""
    day_of_year: Numbers = math.nan
    """1 to 366."""
    is_in_sun: Numbers = math.nan
    """1 where the sun stands clear of trees and banks, so that it shines on the animal unless a cloud is before it; 0
    in their shadow and at night."""

    def __post_init__(self) -> None:
        """Turn all fields into arrays of one shape.

        Raises
        ------
        OutsideModel
            If a number is beyond what can be on Earth.
        InputError
            If the shapes do not fit each other.
        """
        arrays = [np.asarray(getattr(self, field.name), np.float64) for field in fields(self)]
        for field, array in zip(fields(self), arrays, strict=True):
            low, high, unit = LIMITS[field.name]
            outside = array[(array < low) | (array > high)]
            if outside.size:
                raise OutsideModel(field.name, float(outside.flat[0]), low, high, unit)
        try:
            even = np.broadcast_arrays(*arrays)
        except ValueError as error:
            told = ", ".join(f"{field.name} {array.shape}" for field, array in zip(fields(self), arrays, strict=True))
            raise InputError(f"the conditions have shapes that do not fit each other: {told}") from error
        for field, array in zip(fields(self), even, strict=True):
            object.__setattr__(self, field.name, array)

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of every field."""
        return np.shape(self.air_c)

    def array(self, name: str) -> NDArray[np.float64]:
        """Return one field as an array of the common shape."""
        return np.asarray(getattr(self, name), np.float64)
