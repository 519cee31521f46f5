"""How much light the sun and the sky give, from noon down to the end of twilight, on surfaces of any tilt."""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from stillwing.optics.reals import within
from stillwing.sky.instants import Instants
from stillwing.sky.irradiance import Irradiance, clear_sky, cloud_factor, under_cloud
from stillwing.sky.observer import Observer
from stillwing.sky.sun import SunPosition, direction, sun_position

__all__ = ["GRASS_REFLECTANCE", "Daylight", "beam_efficacy", "daylight", "on_surface", "sky_efficacy", "twilight_lx"]

GRASS_REFLECTANCE = 0.20
"""Of trees and grass (W. J. Smith, Modern Optical Engineering, 4th ed., fig. 12.9); concrete 0.40, snow 0.85."""
CLEAR_STOPS, CLOUD_STOPS = 0.4, 1.0
"""Models and tables of clear skies differ by 30 %; under cloud a moment may have half or twice the mean (the standard
method IES RP-21, J. Illum. Eng. Soc. 13 (1984) 381, and teaching texts on it)."""
CLOUD_FROM = 0.25
"""Share of cloud from which on the larger uncertainty holds; ours, no source."""
TWILIGHT_UP_TO_DEG = 5.0
"""Up to this altitude the table of twilight fades over into the clear-sky model, which is not made for lower suns."""
TWILIGHT = {-18.0: 6.5e-4, -12.0: 8.3e-3, -6.0: 3.4, -5.0: 10.8, -0.8: 453.0, 0.0: 732.0, 5.0: 4.8e3}
"""Clear evening on level ground, lx by altitude of the sun: D. R. E. Brown, "Natural illumination charts" (1952), as
tabulated in the RCA Electro-Optics Handbook (1974), from memory; the AMS Glossary of Meteorology (read) has 585 to 410
at sunset, 3.5 to 2 at -6, 0.008 at -12 and 6e-4 at -18 degrees."""
MOST_BEAM = 0.7
"""Largest share of the sun in the light on level ground below `TWILIGHT_UP_TO_DEG`."""
ONE_DEGREE_SINE = 0.01745
"""One degree: the light round the sun is spread no further than as if the sun stood there (pvlib's Hay-Davies)."""


@dataclass(frozen=True, slots=True)
class Daylight:
    """Light out of doors; arrays of one shape, that of the instants and the cloud shares."""

    sun: SunPosition
    beam_lx: NDArray[np.float64]
    """Straight from the sun, on a surface square to it."""
    sky_lx: NDArray[np.float64]
    """From the sky, on level ground."""
    round_sun_share: NDArray[np.float64]
    """Share of the sky's light that comes from close round the sun."""
    uncertainty_stops: NDArray[np.float64]
    """A moment's light lies within so many stops of these means, nine times out of ten by our judgement."""

    @property
    def ground_lx(self) -> NDArray[np.float64]:
        """Sun and sky together, on level ground."""
        return np.asarray(self.beam_lx * self._sine + self.sky_lx, np.float64)

    @property
    def directed_lx(self) -> NDArray[np.float64]:
        """What comes from where the sun is, beam and the sky close round it, on a surface square to it."""
        return np.asarray(
            self.beam_lx + self.sky_lx * self.round_sun_share / np.maximum(self._sine, ONE_DEGREE_SINE), np.float64
        )

    @property
    def even_lx(self) -> NDArray[np.float64]:
        """What comes from the rest of the sky, taken as even, on level ground."""
        return np.asarray(self.sky_lx * (1 - self.round_sun_share), np.float64)

    @property
    def _sine(self) -> NDArray[np.float64]:
        return np.maximum(np.sin(np.radians(self.sun.apparent_altitude_deg)), 0.0)


def daylight(
    observer: Observer, when: Instants, cloud_share: ArrayLike = 0.0, turbidity: ArrayLike | None = None
) -> Daylight:
    """Return the light of sun and sky.

    Parameters
    ----------
    observer : Observer
        Place and air; the horizon is level.
    when : Instants, shape (...)
        Aware datetimes, or arrays in UTC.
    cloud_share : array_like, shape (...), default 0
        Share of the sky that cloud covers, 0 to 1; where it is NaN, so is the light.
    turbidity : array_like, shape (...), optional
        Linke's, 1 to 12; what is usual there and then where not given.

    Returns
    -------
    Daylight
        The mean over moments in sun and in cloud shadow. For the moments in sun under broken cloud ask for share 0.

    Raises
    ------
    OutsideModel
        If the cloud share is not 0 to 1, or the turbidity not 1 to 12.

    Notes
    -----
    Clear-sky irradiance, dimmed by cloud (`stillwing.sky.irradiance`), times luminous efficacy; from 5 degrees
    downwards a table of measured twilight takes over. Moonlight is left out.
    """
    sun = sun_position(observer, when)
    power = under_cloud(clear_sky(observer, sun, when, turbidity), cloud_share)
    share = np.broadcast_to(within("cloud_share", cloud_share, 0.0, 1.0, "of the sky"), power.sine.shape)
    beam = power.beam_w_m2 * beam_efficacy(sun.apparent_altitude_deg)
    sky = power.diffuse_w_m2 * sky_efficacy(share)
    total = _with_twilight(sun, beam * power.sine + sky, power, share)
    is_low = sun.altitude_deg < TWILIGHT_UP_TO_DEG
    beam = np.where(is_low, np.minimum(beam, MOST_BEAM * total / np.maximum(power.sine, ONE_DEGREE_SINE)), beam)
    sky = np.where(is_low, total - beam * power.sine, sky)
    return Daylight(
        _spread(sun, power.sine.shape),
        beam,
        sky,
        np.where(power.sine > 0, power.beam_w_m2 / power.beyond_w_m2, 0.0 * power.beam_w_m2),
        np.interp(share, [0.0, CLOUD_FROM], [CLEAR_STOPS, CLOUD_STOPS]),
    )


def beam_efficacy(altitude_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the luminous efficacy of direct sun, shape (...): 70 at 10 and 95 at 60 degrees, 105 at most. [lm/W]

    Notes
    -----
    P. J. Littlefair, "Measurements of the luminous efficacy of daylight", Lighting Res. Technol. 20 (1988) 177, DOI
    10.1177/096032718802000405 (a year at Garston); range 70 to 105 in his review, Lighting Res. Technol. 17 (1985) 162.
    """
    return np.clip(70.0 + 0.5 * (np.asarray(altitude_deg, np.float64) - 10.0), 70.0, 105.0)


def sky_efficacy(cloud_share: ArrayLike) -> NDArray[np.float64]:
    """Return the luminous efficacy of the sky, shape (...): 144 clear, 115 overcast, even between. [lm/W]

    Notes
    -----
    Littlefair (1988) as in `beam_efficacy`; his review of 1985 has about 130 and 110.
    """
    return np.asarray(144.0 + (115.0 - 144.0) * np.asarray(cloud_share, np.float64), np.float64)


def twilight_lx(altitude_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the light on level ground under a clear sky by the sun's altitude, shape (...), up to 5 degrees. [lx]

    Below -18 degrees it stays what it is there: a clear night without a moon.

    Examples
    --------
    >>> round(float(twilight_lx(-6)), 1)
    3.4
    """
    lowest, highest = min(TWILIGHT), max(TWILIGHT)
    altitude = np.clip(np.asarray(altitude_deg, np.float64), lowest, highest)
    return np.asarray(np.exp(_twilight_curve()(altitude)), np.float64)


def on_surface(
    light: Daylight, tilt_deg: ArrayLike, azimuth_deg: ArrayLike, ground_reflectance: ArrayLike = GRASS_REFLECTANCE
) -> NDArray[np.float64]:
    """Return the illuminance on a flat surface, which broadcasts against the light, shape (...). [lx]

    Parameters
    ----------
    light : Daylight, shape (...)
        Of the moment.
    tilt_deg, azimuth_deg : array_like, shape (...)
        0 looks up, 90 to the horizon at ``azimuth_deg`` (from north through east), 180 down. [deg]
    ground_reflectance : array_like, default 0.2
        Of the surroundings, 0 to 1.

    Raises
    ------
    OutsideModel
        If the tilt is not 0 to 180, or the reflectance not 0 to 1.

    Notes
    -----
    Hay and Davies (1980), as in pvlib: the sky close round the sun goes with the sun, the rest is even; the ground is
    evenly lit. The sky at twilight is brighter towards the sun than that by a factor of several.
    """
    tilt = within("tilt_deg", tilt_deg, 0.0, 180.0, "deg")
    albedo = within("ground_reflectance", ground_reflectance, 0.0, 1.0, "of the light")
    normal = direction(90.0 - tilt, azimuth_deg)
    to_sun = direction(light.sun.apparent_altitude_deg, light.sun.azimuth_deg)
    cosine = np.maximum(np.sum(normal * to_sun, axis=-1), 0.0)
    upward = normal[..., 2]
    return np.asarray(
        light.directed_lx * cosine + light.even_lx * (1 + upward) / 2 + albedo * light.ground_lx * (1 - upward) / 2,
        np.float64,
    )


@cache
def _twilight_curve() -> PchipInterpolator:
    return PchipInterpolator(list(TWILIGHT), np.log(list(TWILIGHT.values())))


def _with_twilight(
    sun: SunPosition, model_lx: NDArray[np.float64], power: Irradiance, share: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Fade the model's light on level ground into the table's as the sun gets low."""
    evening = twilight_lx(sun.altitude_deg) * cloud_factor(share)
    weight = np.clip(sun.altitude_deg / TWILIGHT_UP_TO_DEG, 0.0, 1.0)
    mixed = np.exp((1 - weight) * np.log(evening) + weight * np.log(np.maximum(model_lx, 1.0)))
    return np.asarray(np.where(weight < 1, mixed, model_lx), np.float64)


def _spread(sun: SunPosition, shape: tuple[int, ...]) -> SunPosition:
    return SunPosition(
        *(
            np.broadcast_to(values, shape)
            for values in (sun.altitude_deg, sun.apparent_altitude_deg, sun.azimuth_deg, sun.equation_of_time_min)
        )
    )
