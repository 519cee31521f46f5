"""What every stand sees whatever the hour: its bearings in reach, its skyline, how far its background is."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stillwing.place.behind import background_blur
from stillwing.place.glint import water_met
from stillwing.place.horizon import Skyline, skyline
from stillwing.place.sightlines import sightlines
from stillwing.place.site import Site
from stillwing.place.stands import Stand
from stillwing.plan.question import PlanQuestion
from stillwing.plan.views import BEARINGS_DEG

__all__ = ["Bank", "Behind", "background_lengths", "bank_of", "behind_of", "in_reach"]

Reals = NDArray[np.float64]
JUST_BEHIND = 1.02
"""A background is at least this much farther than the animal: leaves right behind it."""


@dataclass(frozen=True, slots=True)
class Bank:
    """The stands as arrays, s of them."""

    at_m: Reals
    """East and north on the site's map, (s, 2)."""
    skylines: tuple[Skyline, ...]
    reach: NDArray[np.bool_]
    """Whether a bearing of `stillwing.plan.views.BEARINGS_DEG` is in reach, (s, b)."""
    water_ends_m: Reals
    """Where the line of sight leaves the water, (s, b); inf where it meets none."""


@lru_cache(maxsize=8)
def bank_of(site: Site) -> Bank:
    """Return the stands of a site as the plan needs them; kept, as the same site is asked again and again."""
    plane, water = site.plane, site.water
    at = plane.to_metres([stand.position for stand in site.stands])
    ends = sightlines(water, at[:, None, :], BEARINGS_DEG).leaves_m
    # The horizon is told from an eye that stands at the water; higher ground lowers it.
    skylines = tuple(
        skyline(site.horizon, foot, stand.above_water_m) for foot, stand in zip(at, site.stands, strict=True)
    )
    reach = np.stack([in_reach(stand) for stand in site.stands])
    return Bank(at, skylines, reach, np.where(np.isnan(ends), np.inf, ends))


def in_reach(stand: Stand) -> NDArray[np.bool_]:
    """Return which of `stillwing.plan.views.BEARINGS_DEG` a stand reaches, (b,)."""
    spans = np.array([(span.left_deg, span.width_deg) for span in stand.reach]).reshape(-1, 2)
    return np.asarray((((BEARINGS_DEG[:, None] - spans[:, 0]) % 360.0) <= spans[:, 1] + 1e-9).any(axis=1))


@dataclass(frozen=True, slots=True)
class Behind:
    """What lies behind the animal from each stand along each bearing, (s, b)."""

    away_m: Reals
    """From the lens; inf for the sky and for open land."""
    is_sky: NDArray[np.bool_]
    is_water: NDArray[np.bool_]
    """The line of sight meets the water before it comes to a bank."""


def behind_of(question: PlanQuestion, bank: Bank, distance_m: float) -> Behind:
    """Return what lies behind an animal so far away. [m]

    Notes
    -----
    Behind an animal that you look down on lies the water itself, where the line of sight meets it; behind one that you
    look up to, the sky where the line clears the skyline; else the far bank, or what stands there.
    """
    stance, stands = question.stance, question.site.stands
    ground = np.array([stand.above_water_m for stand in stands])
    elevation = np.array([stance.elevation_deg(height, distance_m) for height in ground])[:, None]
    # A lens below the water's level, behind a dam, sees no water.
    water = water_met(np.maximum(ground + stance.lens_m, 0.0)[:, None], elevation)
    behind = np.minimum(bank.water_ends_m, water)
    is_sky = np.zeros(behind.shape, np.bool_)
    if (elevation > 0).any():
        edge = np.stack([line.altitude_at(BEARINGS_DEG) for line in bank.skylines])
        is_sky = (elevation > 0) & (elevation > edge)
    away = np.maximum(np.where(is_sky, np.inf, behind), JUST_BEHIND * distance_m)
    return Behind(away, is_sky, ~is_sky & (water < bank.water_ends_m))


def background_lengths(behind: Behind, focal_length_mm: float, distance_m: float, length_mm: float) -> Reals:
    """Return the blur disc of the background at f/1 in lengths of the animal, (s, b)."""
    return background_blur(behind.away_m, distance_m, length_mm, focal_length_mm, 1.0)
