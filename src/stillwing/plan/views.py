"""What every moment and bearing is worth, whatever the stand: side shown, light, sharpness, glint, your own shadow."""

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.subject import Behaviour
from stillwing.place.glint import STRONGEST_WIND_M_S, glitter_over_white
from stillwing.place.heading import Shown, facing_wind
from stillwing.place.shadow import Target, shadow_at
from stillwing.place.sunside import SunSide, sun_side
from stillwing.plan.moments import Moments
from stillwing.plan.question import PlanQuestion
from stillwing.plan.sharpness import Sharpness, sharpness_of
from stillwing.plan.worth import (
    CALM_SWING_DEG,
    EVEN_LIGHT,
    IN_OWN_SHADOW,
    glitter_worth,
    light_worth,
    side_worths,
    swing_deg,
)
from stillwing.sky.daylight import Daylight
from stillwing.sky.facing import FacingLight, facing_camera

__all__ = ["BEARINGS_DEG", "BEARING_STEP_DEG", "Views", "views_of"]

Reals = NDArray[np.float64]
BEARING_STEP_DEG = 5.0
BEARINGS_DEG = np.arange(0.0, 360.0, BEARING_STEP_DEG)
"""Bearings that are weighed against each other, all round."""


@dataclass(frozen=True, slots=True)
class Views:
    """Arrays over moments and bearings, (n, b), or with light states before, (2, n, b): in shade and in the sun."""

    elevation_deg: float
    distance_m: float
    sun_side: SunSide
    """(n, b)."""
    turned_deg: Reals
    """How far the animal's head is turned from you, (n, b); NaN where the wind is not known or does not matter."""
    facing: Reals
    """Worth of the side that shows, (n, b)."""
    lit: Reals
    """Worth of the light, (2, n, b)."""
    sharp: Reals
    """Chance of a sharp picture of what shows, with what own outings taught, (2, n, b)."""
    unglared: Reals
    """Worth that glitter leaves to the background, (2, n, b)."""
    ev: Reals
    """Light on the side that faces you, (2, n, b)."""
    contrast_stops: Reals
    """Lit over shadow side in the sun, (n, b)."""
    own_shadow: NDArray[np.bool_]
    """Your shadow is on the animal while the sun shines, (n, b)."""
    f_number: Reals
    """Of the best setting, (2, n, b); NaN where nothing exposes."""
    exposure_s: Reals
    iso: Reals


def views_of(question: PlanQuestion, moments: Moments, above_water_m: float, distance_m: float) -> Views:
    """Return the worth of every bearing at every moment, from ground so high above the water.

    Parameters
    ----------
    question : PlanQuestion
        Animal, kit, stance.
    moments : Moments
        Steps of the day.
    above_water_m : float
        Height of the ground that you stand on. [m]
    distance_m : float
        From you to the animal. [m]

    Notes
    -----
    In shade, all sunlight is taken to be held back and the sky's kept whole. Your own shadow counts where the sun
    shines alone.
    """
    elevation = question.stance.elevation_deg(above_water_m, distance_m)
    sun, bearings = moments.sun, BEARINGS_DEG[None, :]
    altitude, azimuth = sun.apparent_altitude_deg[:, None], sun.azimuth_deg[:, None]
    side = sun_side(altitude, azimuth, bearings, elevation)
    light = facing_camera(_column(moments.light), bearings, elevation)
    shadow = _own_shadow(question, above_water_m, distance_m, altitude, azimuth)
    shines = moments.sunshine[:, None]
    evs = np.stack([_ev_in_shade(light), light.ev])
    turned, swings = _turned(question, moments)
    worth = side_worths(np.nan_to_num(turned), swings, question.behaviour, question.wanted)
    sharpness = sharpness_of(question, evs, tuple(worth))
    facing = sum(worth.values(), np.zeros(turned.shape))
    settings = _settings(sharpness, worth, evs)
    sharp = _sharp(sharpness, worth, facing, evs)
    return Views(
        elevation_deg=elevation,
        distance_m=distance_m,
        sun_side=side,
        turned_deg=turned,
        facing=facing,
        lit=_lit(side, shadow, shines),
        sharp=sharp if question.own is None else question.own.of(sharp),
        unglared=_unglared(moments, elevation, shines),
        ev=evs,
        contrast_stops=light.contrast_stops,
        own_shadow=shadow & (shines > 0),
        f_number=settings[0],
        exposure_s=settings[1],
        iso=settings[2],
    )


def _column(light: Daylight) -> Daylight:
    """Return the light of n moments, to be held against bearings: (n, 1)."""
    columns = {name.name: getattr(light, name.name)[:, None] for name in fields(light) if name.name != "sun"}
    sun = replace(light.sun, **{name.name: getattr(light.sun, name.name)[:, None] for name in fields(light.sun)})
    return replace(light, sun=sun, **columns)


def _ev_in_shade(light: FacingLight) -> Reals:
    return np.asarray(light.ev + np.log2(light.shadow_lx / light.mean_lx), np.float64)


def _own_shadow(
    question: PlanQuestion, above_water_m: float, distance_m: float, altitude: Reals, azimuth: Reals
) -> NDArray[np.bool_]:
    stance = question.stance
    target = Target(distance_m, BEARINGS_DEG[None, :], stance.animal_above_water_m)
    return shadow_at(target, altitude, azimuth, stance.person, above_water_m).touches


def _turned(question: PlanQuestion, moments: Moments) -> tuple[Reals, Reals]:
    """Return how far the head is turned from you, (n, b), NaN where anything may show, and how far it swings, (n, 1).

    What passes may come from anywhere; so may what no wind turns, or a wind that is not known.
    """
    wind = moments.weather
    turned = facing_wind(wind.wind_from_deg[:, None], BEARINGS_DEG[None, :]).turned_deg
    if question.behaviour is Behaviour.PASS:
        turned = np.full(turned.shape, np.nan)
    anywhere = np.isnan(turned[:, :1])
    return turned, np.where(anywhere, CALM_SWING_DEG, swing_deg(wind.wind_m_s)[:, None])


def _lit(side: SunSide, shadow: NDArray[np.bool_], shines: Reals) -> Reals:
    in_sun = np.where(shadow, IN_OWN_SHADOW, light_worth(side.light_angle_deg))
    return np.stack([np.full(in_sun.shape, EVEN_LIGHT), shines * in_sun + (1 - shines) * EVEN_LIGHT])


def _sharp(sharpness: Sharpness, worth: dict[Shown, Reals], facing: Reals, evs: Reals) -> Reals:
    """Return the chance of a sharp picture, each side counting by what it adds to the worth of what shows."""
    together = sum((part * sharpness.at(side, evs) for side, part in worth.items()), np.zeros(evs.shape))
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(facing > 0, together / facing, 0.0)


def _unglared(moments: Moments, elevation_deg: float, shines: Reals) -> Reals:
    sun, wind = moments.sun, np.nan_to_num(moments.weather.wind_m_s, nan=0.0)
    glitter = glitter_over_white(
        sun.apparent_altitude_deg[:, None],
        sun.azimuth_deg[:, None],
        BEARINGS_DEG[None, :],
        elevation_deg,
        np.minimum(wind, STRONGEST_WIND_M_S)[:, None],
    )
    left = shines * glitter_worth(glitter) + (1 - shines)
    return np.stack([np.ones(left.shape), left])


def _settings(sharpness: Sharpness, worth: dict[Shown, Reals], evs: Reals) -> tuple[Reals, Reals, Reals]:
    """Return the setting for the side that counts most, in the nearest light of the table; (2, n, b) each."""
    main = np.argmax(np.stack([worth[side] for side in sharpness.sides]), axis=0)
    pick = np.broadcast_to(main, evs.shape), sharpness.nearest(evs)
    return sharpness.f_number[pick], sharpness.exposure_s[pick], sharpness.iso[pick]
