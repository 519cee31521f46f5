"""Power of the sunlight that reaches level ground, under a clear sky and under cloud."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from pvlib import atmosphere, clearsky, irradiance

from stillwing.optics.reals import within
from stillwing.sky.instants import Instants, unix_seconds
from stillwing.sky.observer import Observer
from stillwing.sky.sun import SunPosition

__all__ = ["Irradiance", "clear_sky", "cloud_factor", "typical_turbidity", "under_cloud"]

OVERCAST_LOSS, OVERCAST_POWER = 0.75, 3.4
"""Global irradiance under a share c of cloud is (1 - 0.75 c^3.4) of that of a clear sky: F. Kasten, G. Czeplak, "Solar
and terrestrial radiation dependent on the amount and type of cloud", Solar Energy 24 (1980) 177; Hamburg, ten years of
hours (formula read in several texts that quote it)."""
DIFFUSE_POWER = 2.0
"""Their diffuse share of the global is 0.3 + 0.7 c^2 (from memory); here the clear sky's own share takes 0.3's
place."""
DAY_S, YEAR_DAYS = 86400.0, 365.2422
LOWEST_SINE = 0.01
"""Beam and diffuse are told apart down to 0.6 degrees above the horizon; below, what is left counts as diffuse."""


@dataclass(frozen=True, slots=True)
class Irradiance:
    """Power of sunlight; arrays of the shape of the instants."""

    beam_w_m2: NDArray[np.float64]
    """Straight from the sun, on a surface square to it."""
    diffuse_w_m2: NDArray[np.float64]
    """From the sky, on level ground."""
    beyond_w_m2: NDArray[np.float64]
    """Above the air, on a surface square to the sun."""
    sine: NDArray[np.float64]
    """Of the sun's apparent altitude, 0 where it is down."""

    @property
    def global_w_m2(self) -> NDArray[np.float64]:
        """Sun and sky together, on level ground."""
        return np.asarray(self.beam_w_m2 * self.sine + self.diffuse_w_m2, np.float64)


def typical_turbidity(observer: Observer, when: Instants) -> NDArray[np.float64]:
    """Return how hazy the air usually is there in that season: Linke's turbidity, shape (...).

    Notes
    -----
    From the monthly climatology on a grid of 1/12 degrees that comes with pvlib: J. Remund et al., "Worldwide Linke
    turbidity information", ISES Solar World Congress 2003. 2 is very clear, 3 to 4 usual in Europe's summer, 6 hazy.
    Single days differ by 1 and more.
    """
    day = unix_seconds(when) / DAY_S % YEAR_DAYS
    monthly = _monthly_turbidity(observer.latitude_deg, observer.longitude_deg)
    middles = (np.arange(12) + 0.5) * YEAR_DAYS / 12
    return np.asarray(np.interp(day, middles, monthly, period=YEAR_DAYS), np.float64)


def clear_sky(observer: Observer, sun: SunPosition, when: Instants, turbidity: ArrayLike | None = None) -> Irradiance:
    """Return the irradiance of a cloudless sky.

    Parameters
    ----------
    observer : Observer
        Place; its elevation and air pressure count.
    sun : SunPosition
        At ``when``.
    when : Instants, shape (...)
        For the distance of the sun and the season's haze.
    turbidity : array_like, shape (...), optional
        Linke's; 1 (no haze nor vapour) to 12. What is usual at the place and season where not given.

    Returns
    -------
    Irradiance
        Nothing where the sun is down.

    Raises
    ------
    OutsideModel
        If the turbidity is not 1 to 12.

    Notes
    -----
    The model of P. Ineichen and R. Perez, "A new airmass independent formulation for the Linke turbidity coefficient",
    Solar Energy 73 (2002) 151, in pvlib.
    """
    haze = typical_turbidity(observer, when) if turbidity is None else within("turbidity", turbidity, 1.0, 12.0, "TL")
    # The model divides by the cosine of the zenith angle; with the sun down its result is not used.
    zenith = np.minimum(90.0 - sun.apparent_altitude_deg, 89.9)
    airmass = atmosphere.get_absolute_airmass(atmosphere.get_relative_airmass(zenith), observer.air_pressure_hpa * 100)
    seconds = unix_seconds(when)
    days = seconds / DAY_S % YEAR_DAYS + 1
    beyond = np.asarray(irradiance.get_extra_radiation(days, method="asce"), np.float64)
    sky = clearsky.ineichen(zenith, airmass, haze, observer.elevation_m, beyond)
    sine = np.maximum(np.sin(np.radians(sun.apparent_altitude_deg)), 0.0)
    beam = np.where(sine > LOWEST_SINE, sky["dni"], 0.0 * sine)
    diffuse = np.where(sine > 0, sky["ghi"] - beam * sine, 0.0 * sine)
    return Irradiance(beam, diffuse, beyond, sine)


def under_cloud(clear: Irradiance, cloud_share: ArrayLike) -> Irradiance:
    """Return the irradiance under cloud, as the mean over moments in sun and in shadow.

    Parameters
    ----------
    clear : Irradiance, shape (...)
        Of the cloudless sky.
    cloud_share : array_like, shape (...)
        Share of the sky that cloud covers, 0 to 1; NaN gives NaN.

    Raises
    ------
    OutsideModel
        If a share is not 0 to 1.

    Notes
    -----
    Under broken cloud the light is either that of the sun or that of the cloud, hardly ever the mean; and thin and
    thick cloud of the same cover differ by a factor of two and more either way.
    """
    share = within("cloud_share", cloud_share, 0.0, 1.0, "of the sky")
    total = clear.global_w_m2 * cloud_factor(share)
    # The diffuse share of a clear sky, 1 where there is no light to share.
    lit = clear.global_w_m2 > 0
    own = np.where(lit, clear.diffuse_w_m2 / np.where(lit, clear.global_w_m2, 1.0), 1.0)
    diffuse = total * (own + (1 - own) * share**DIFFUSE_POWER)
    up = clear.sine > LOWEST_SINE
    beam = np.where(up, (total - diffuse) / np.where(up, clear.sine, 1.0), 0.0)
    shape = np.broadcast_shapes(clear.sine.shape, share.shape)
    return Irradiance(
        np.asarray(np.where(np.isnan(total), np.nan, beam), np.float64),
        np.asarray(diffuse, np.float64),
        np.broadcast_to(clear.beyond_w_m2, shape),
        np.broadcast_to(clear.sine, shape),
    )


def cloud_factor(cloud_share: ArrayLike) -> NDArray[np.float64]:
    """Return what cloud leaves of the light on level ground, shape (...): 1 clear, 0.25 overcast.

    Examples
    --------
    >>> round(float(cloud_factor(0.5)), 3)
    0.929
    """
    share = within("cloud_share", cloud_share, 0.0, 1.0, "of the sky")
    return np.asarray(1 - OVERCAST_LOSS * share**OVERCAST_POWER, np.float64)


@cache
def _monthly_turbidity(latitude_deg: float, longitude_deg: float) -> tuple[float, ...]:
    # pvlib's own interpolation between months asks pandas for what newer versions of it warn about.
    months = pd.date_range("2001-01-15", periods=12, freq="30D", tz="UTC")
    values = clearsky.lookup_linke_turbidity(months, latitude_deg, longitude_deg, interp_turbidity=False)
    return tuple(float(value) for value in values)
