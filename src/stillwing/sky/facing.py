"""Light on the side of the animal that faces the camera."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.light import ev_of_illuminance
from stillwing.optics.reals import within
from stillwing.sky.daylight import GRASS_REFLECTANCE, Daylight
from stillwing.sky.sun import angle_between, direction

__all__ = ["FacingLight", "facing_camera", "round_body_share"]


@dataclass(frozen=True, slots=True)
class FacingLight:
    """Light on what the camera sees of a round body; arrays of one shape."""

    sun_angle_deg: NDArray[np.float64]
    """Between the sun and the camera, seen from the animal: 0 front light, 90 side light, 180 back light."""
    sunlit_share: NDArray[np.float64]
    """Of the visible side, the part that the sun reaches; 0 where there is no sun."""
    mean_lx: NDArray[np.float64]
    """Mean over the visible side, as the camera sees it."""
    lit_lx: NDArray[np.float64]
    """On a spot square to the sun."""
    shadow_lx: NDArray[np.float64]
    """Mean over the visible side without the sun."""
    ev: NDArray[np.float64]
    """Exposure value at ISO 100 for the mean."""
    uncertainty_stops: NDArray[np.float64]
    """The exposure value may be so much higher or lower."""

    @property
    def contrast_stops(self) -> NDArray[np.float64]:
        """Lit spot over shadow; 0 where there is no sun."""
        return np.asarray(np.log2(self.lit_lx / self.shadow_lx), np.float64)


def facing_camera(
    light: Daylight,
    bearing_deg: ArrayLike,
    elevation_deg: ArrayLike = 0.0,
    ground_reflectance: ArrayLike = GRASS_REFLECTANCE,
) -> FacingLight:
    r"""Return the light on the side of a round, matt body that faces the camera.

    Parameters
    ----------
    light : Daylight, shape (...)
        Of the moment.
    bearing_deg, elevation_deg : array_like, shape (...)
        Where the camera looks: from north through east; up is positive, -90 to 90. [deg]
    ground_reflectance : array_like, default 0.2
        Of what lies below the animal, 0 to 1.

    Returns
    -------
    FacingLight
        Shape of all broadcast together.

    Raises
    ------
    OutsideModel
        If the elevation or the reflectance is beyond its range.

    Notes
    -----
    A flat surface would have all the sun or none of it; animals are round. Over the visible half of a sphere, weighted
    as the camera sees it, the sun's part is Lambert's phase law (J. H. Lambert, Photometria, 1760; from memory),

    .. math:: \frac{2}{3\pi}\,(\sin\alpha + (\pi - \alpha)\cos\alpha),

    and the mean normal is two thirds of the direction to the camera, which gives the parts of sky and ground. A bank,
    trees or the photographer in the way are left out. Wings let light through: back-lit ones are brighter than this.
    """
    up = within("elevation_deg", elevation_deg, -90.0, 90.0, "deg")
    albedo = within("ground_reflectance", ground_reflectance, 0.0, 1.0, "of the light")
    to_camera = direction(-up, np.asarray(bearing_deg, np.float64) + 180.0)
    to_sun = direction(light.sun.apparent_altitude_deg, light.sun.azimuth_deg)
    angle = angle_between(*np.broadcast_arrays(to_sun, to_camera))
    upward = 2 / 3 * to_camera[..., 2]
    shadow = light.even_lx * (1 + upward) / 2 + albedo * light.ground_lx * (1 - upward) / 2
    mean = shadow + light.directed_lx * round_body_share(angle)
    share = np.where(light.beam_lx > 0, (1 + np.cos(np.radians(angle))) / 2, 0.0 * light.beam_lx)
    lit = light.directed_lx + shadow
    shape = np.broadcast_shapes(mean.shape, angle.shape)
    return FacingLight(
        *(
            np.broadcast_to(values, shape)
            for values in (angle, share, mean, lit, shadow, ev_of_illuminance(mean), light.uncertainty_stops)
        )
    )


def round_body_share(sun_angle_deg: ArrayLike) -> NDArray[np.float64]:
    """Return the mean illuminance over the visible side of a sphere, over that on a surface square to the light.

    Examples
    --------
    >>> round(float(round_body_share(0)), 3), round(float(round_body_share(90)), 3)
    (0.667, 0.212)
    """
    a = np.radians(np.asarray(sun_angle_deg, np.float64))
    # At 180 degrees rounding may leave a trace below zero.
    return np.maximum(2 / (3 * np.pi) * (np.sin(a) + (np.pi - a) * np.cos(a)), 0.0)
