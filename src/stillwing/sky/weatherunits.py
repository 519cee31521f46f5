"""Units that weather comes in, each as what it is in ours."""

from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.errors import InputError

__all__ = ["in_our_unit"]

MILE_M, NAUTICAL_MILE_M, INCH_MM = 1609.344, 1852.0, 25.4
"""Exact by definition."""

Conversion = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def _times(factor: float) -> Conversion:
    return lambda values: values * factor


SPEEDS: Final[dict[str, Conversion]] = {
    "m/s": _times(1.0),
    "ms": _times(1.0),
    "km/h": _times(1 / 3.6),
    "kmh": _times(1 / 3.6),
    "kph": _times(1 / 3.6),
    "mph": _times(MILE_M / 3600),
    "mp/h": _times(MILE_M / 3600),
    "kn": _times(NAUTICAL_MILE_M / 3600),
    "kt": _times(NAUTICAL_MILE_M / 3600),
    "knots": _times(NAUTICAL_MILE_M / 3600),
}
TEMPERATURES: Final[dict[str, Conversion]] = {
    "c": _times(1.0),
    "celsius": _times(1.0),
    "f": lambda values: (values - 32) / 1.8,
    "fahrenheit": lambda values: (values - 32) / 1.8,
}
SHARES: Final[dict[str, Conversion]] = {"%": _times(0.01), "percent": _times(0.01), "1": _times(1.0)}
BEARINGS: Final[dict[str, Conversion]] = {"deg": _times(1.0), "degrees": _times(1.0), "": _times(1.0)}
DEPTHS: Final[dict[str, Conversion]] = {"mm": _times(1.0), "inch": _times(INCH_MM), "in": _times(INCH_MM)}
OF_QUANTITY: Final = {
    "temperature_c": TEMPERATURES,
    "wind_m_s": SPEEDS,
    "gust_m_s": SPEEDS,
    "wind_from_deg": BEARINGS,
    "cloud_share": SHARES,
    "rain_mm": DEPTHS,
    "thunder_share": SHARES,
}


def in_our_unit(quantity: str, values: ArrayLike, unit: str) -> NDArray[np.float64]:
    """Return values of a quantity of the weather in the unit that its name carries, shape (...).

    Parameters
    ----------
    quantity : str
        One of `stillwing.sky.weather.QUANTITIES`.
    values : array_like, shape (...)
        In ``unit``.
    unit : str
        "km/h", "mph", "kn", "°F", "%", "inch" and the like; capitals, spaces and degree signs do not matter.

    Raises
    ------
    InputError
        If the unit is none of the quantity's; the message lists those.

    Examples
    --------
    >>> float(in_our_unit("wind_m_s", 36, "km/h"))
    10.0
    """
    known = OF_QUANTITY[quantity]
    name = unit.replace("°", "").strip().casefold()
    if name not in known:
        listed = ", ".join(unit for unit in known if unit)
        raise InputError(f"{quantity} comes in {unit!r}, which is not known; it is one of {listed}")
    return known[name](np.asarray(values, np.float64))
