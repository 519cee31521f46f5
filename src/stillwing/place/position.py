"""A point on earth, and its name in words."""

import math
from dataclasses import dataclass

from stillwing.errors import InputError

__all__ = ["Position", "position_from"]


@dataclass(frozen=True, slots=True, order=True)
class Position:
    """A point on the WGS 84 ellipsoid."""

    longitude_deg: float
    """East is positive, -180 to 180."""
    latitude_deg: float
    """North is positive, -90 to 90."""

    def __post_init__(self) -> None:
        """Refuse what is not on earth.

        Raises
        ------
        InputError
            If a value is beyond its range or not a number; a latitude that only a longitude can be is told as such.
        """
        if not (math.isfinite(self.longitude_deg) and math.isfinite(self.latitude_deg)):
            raise InputError(f"longitude {self.longitude_deg:g}, latitude {self.latitude_deg:g}: both must be numbers")
        if abs(self.latitude_deg) > 90:
            swapped = abs(self.longitude_deg) <= 90 and abs(self.latitude_deg) <= 180
            hint = "; longitude and latitude seem to be swapped" if swapped else ""
            raise InputError(f"latitude is {self.latitude_deg:g} deg; it must be -90 to 90{hint}")
        if abs(self.longitude_deg) > 180:
            raise InputError(f"longitude is {self.longitude_deg:g} deg; it must be -180 to 180")

    @property
    def words(self) -> str:
        """Latitude and longitude to about a metre, as in "52.20500 N, 0.11900 E"."""
        north = "N" if self.latitude_deg >= 0 else "S"
        east = "E" if self.longitude_deg >= 0 else "W"
        return f"{abs(self.latitude_deg):.5f} {north}, {abs(self.longitude_deg):.5f} {east}"


def position_from(longitude_deg: float, latitude_deg: float) -> Position:
    """Return a position, taking longitudes that run on beyond 180, as far as 360, to mean the same place.

    Raises
    ------
    InputError
        As `Position` does; longitudes beyond 360 too.

    Examples
    --------
    >>> position_from(181.5, -16.8).longitude_deg
    -178.5
    """
    if 180 < abs(longitude_deg) <= 360 and abs(latitude_deg) <= 90:
        longitude_deg -= math.copysign(360.0, longitude_deg)
    return Position(longitude_deg, latitude_deg)
