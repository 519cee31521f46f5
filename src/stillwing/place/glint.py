"""Glint: the sun's picture in the water, and how bright it shines into the lens, calm or rippled."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.reals import not_negative, within
from stillwing.sky.sun import angle_between, direction

__all__ = ["fresnel", "glint_angle", "glitter_over_white", "slope_variance", "water_met"]

WATER_INDEX = 1.34
"""Refractive index of water in visible light, from memory."""
CALM_VARIANCE, VARIANCE_PER_M_S = 0.003, 0.00512
"""Mean square slope of the sea, 0.003 + 0.00512 W: C. Cox, W. Munk, "Measurement of the Roughness of the Sea Surface
from Photographs of the Sun's Glitter", J. Opt. Soc. Am. 44 (1954) 838, DOI 10.1364/JOSA.44.000838; the two figures were
read in texts that quote it."""
STRONGEST_WIND_M_S = 14.0
"""Up to which they measured; what is stronger counts as this much (abstract of the same paper)."""
LOWEST_SINE = 0.02
"""Of a line of sight's angle to the water, 1.1 degrees: flatter ones lose the far sides of waves, which the model does
not know."""


def water_met(eye_above_water_m: ArrayLike, elevation_deg: ArrayLike) -> NDArray[np.float64]:
    """Return how far off a line of sight meets the water, over the ground, shape (...); inf where it never does. [m]

    Parameters
    ----------
    eye_above_water_m : array_like, shape (...)
        Height of the lens. [m]
    elevation_deg : array_like, shape (...)
        Of the line of sight, down is negative. [deg]

    Raises
    ------
    OutsideModel
        If the lens is under water.

    Examples
    --------
    >>> round(float(water_met(2, -45)), 6)
    2.0
    """
    eye = not_negative("eye_above_water_m", eye_above_water_m, "m")
    down = np.tan(np.radians(-np.asarray(elevation_deg, np.float64)))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(down > 0, eye / down, np.where(np.isnan(down), np.nan, np.inf)), np.float64)


def glint_angle(
    sun_altitude_deg: ArrayLike, sun_azimuth_deg: ArrayLike, bearing_deg: ArrayLike, elevation_deg: ArrayLike
) -> NDArray[np.float64]:
    """Return the angle between a line of sight and the sun's picture in level water, shape (...). [deg]

    The picture lies under the sun, as far below the horizon as the sun is above it.

    Parameters
    ----------
    sun_altitude_deg, sun_azimuth_deg : array_like, shape (...)
        As seen. [deg]
    bearing_deg, elevation_deg : array_like, shape (...)
        Of the line of sight, down is negative. [deg]

    Returns
    -------
    ndarray, shape (...)
        0 to 180; NaN where the sun is not above the horizon. The sun is 0.5 degrees wide.

    Examples
    --------
    >>> round(float(glint_angle(30, 180, 180, -10)), 6)
    20.0
    """
    altitude, azimuth, bearing, elevation = np.broadcast_arrays(
        *(np.asarray(a, np.float64) for a in (sun_altitude_deg, sun_azimuth_deg, bearing_deg, elevation_deg))
    )
    angle = angle_between(direction(-altitude, azimuth), direction(elevation, bearing))
    with np.errstate(invalid="ignore"):
        return np.where(altitude > 0, angle, np.nan)


def slope_variance(wind_m_s: ArrayLike) -> NDArray[np.float64]:
    """Return the mean square slope of open water, shape (...).

    Measured on the sea; a sheltered pond is calmer at the same wind, so that its glitter is narrower and brighter.

    Parameters
    ----------
    wind_m_s : array_like, shape (...)
        At 12.5 m above the water; above 14 m/s counts as 14. [m/s]

    Raises
    ------
    OutsideModel
        If it is negative.
    """
    wind = np.minimum(not_negative("wind_m_s", wind_m_s, "m/s"), STRONGEST_WIND_M_S)
    return np.asarray(CALM_VARIANCE + VARIANCE_PER_M_S * wind, np.float64)


def fresnel(incidence_deg: ArrayLike, index: float = WATER_INDEX) -> NDArray[np.float64]:
    """Return the share of unpolarised light that a smooth surface reflects, shape (...).

    Parameters
    ----------
    incidence_deg : array_like, shape (...)
        From the normal, 0 to 90. [deg]
    index : float, default 1.34
        Of refraction, over that of air.

    Raises
    ------
    OutsideModel
        If an angle is not 0 to 90.

    Examples
    --------
    >>> round(float(fresnel(0)), 4), float(fresnel(90))
    (0.0211, 1.0)
    """
    cosine = np.cos(np.radians(within("incidence_deg", incidence_deg, 0.0, 90.0, "deg")))
    inside = np.sqrt(1 - (1 - cosine**2) / index**2)
    across = (cosine - index * inside) / (cosine + index * inside)
    along = (index * cosine - inside) / (index * cosine + inside)
    # A cosine of 90 degrees is not quite zero in binary.
    return np.asarray(np.minimum((across**2 + along**2) / 2, 1.0).round(15), np.float64)


def glitter_over_white(
    sun_altitude_deg: ArrayLike,
    sun_azimuth_deg: ArrayLike,
    bearing_deg: ArrayLike,
    elevation_deg: ArrayLike,
    wind_m_s: ArrayLike,
) -> NDArray[np.float64]:
    r"""Return how bright the sun's glitter on the water is, over a white sheet held square to the sun, shape (...).

    Parameters
    ----------
    sun_altitude_deg, sun_azimuth_deg : array_like, shape (...)
        As seen. [deg]
    bearing_deg, elevation_deg : array_like, shape (...)
        Of the line of sight, down is negative. [deg]
    wind_m_s : array_like, shape (...)
        At 12.5 m above the water. [m/s]

    Returns
    -------
    ndarray, shape (...)
        Above 1 it burns out where the animal is exposed well; 0 where the line of sight does not meet the water or the
        sun is not up; NaN where an angle is.

    Raises
    ------
    OutsideModel
        If the wind is negative.

    Notes
    -----
    The mean over many waves, [1]_: a facet that throws the sun into the lens is tilted by :math:`\beta`; the radiance
    over the sun's illuminance is

    .. math:: \frac{\rho(\omega)}{4 \cos\theta \cos^4\beta} \; \frac{1}{\pi\sigma^2} e^{-\tan^2\beta/\sigma^2},

    with the slope variance :math:`\sigma^2`, Fresnel's reflectance :math:`\rho` and the view's angle :math:`\theta`
    from the zenith; a white sheet gives :math:`1/\pi`. Slopes are taken as alike in all directions. Single sparkles are
    far brighter than the mean. Lines of sight within 1.1 degrees of level count as 1.1 degrees in :math:`\cos\theta`.

    References
    ----------
    .. [1] C. Cox, W. Munk, J. Opt. Soc. Am. 44 (1954) 838, DOI 10.1364/JOSA.44.000838.
    """
    altitude, azimuth, bearing, elevation, variance = np.broadcast_arrays(
        *(np.asarray(a, np.float64) for a in (sun_altitude_deg, sun_azimuth_deg, bearing_deg, elevation_deg)),
        slope_variance(wind_m_s),
    )
    to_sun, to_eye = direction(altitude, azimuth), direction(-elevation, bearing + 180.0)
    normal = to_sun + to_eye
    with np.errstate(divide="ignore", invalid="ignore"):
        # Half of the angle between sun and eye is that of incidence on the facet.
        incidence = angle_between(to_sun, to_eye) / 2
        steepness = (normal[..., 0] ** 2 + normal[..., 1] ** 2) / normal[..., 2] ** 2
        density = np.exp(-steepness / variance) / (np.pi * variance)
        radiance = fresnel(incidence) * density * (1 + steepness) ** 2 / (4 * np.maximum(to_eye[..., 2], LOWEST_SINE))
        meets = (altitude > 0) & (elevation < 0)
    return np.where(np.isnan(incidence), np.nan, np.where(meets, np.pi * radiance, 0.0))
