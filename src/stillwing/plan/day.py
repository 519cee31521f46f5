"""The plan of one day: for every stand and moment the best bearing, the chain of factors, and keepers to expect."""

from dataclasses import dataclass, fields
from datetime import datetime
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwing.optics.question import at_distance, pose
from stillwing.plan.bank import Bank, Behind, background_lengths, bank_of, behind_of
from stillwing.plan.moments import Moments, moments_of
from stillwing.plan.question import PlanQuestion
from stillwing.plan.views import BEARINGS_DEG, Views, views_of
from stillwing.plan.worth import clean_worth

__all__ = ["FACTORS", "Cells", "Chain", "DayPlan", "plan_day"]

Reals = NDArray[np.float64]
FACTORS = ("active", "facing", "lit", "sharp", "clean")
"""Of the chain, in the order in which they are told."""


class Chain(NamedTuple):
    """The factors of one cell, each 0 to 1; their product is the share of encounters that give a keeper."""

    active: float
    facing: float
    lit: float
    sharp: float
    clean: float


@dataclass(frozen=True, slots=True)
class Cells:
    """Every moment at every stand, (n_moments, n_stands), at the bearing that is best there and then."""

    bearing_deg: Reals
    active: Reals
    """Chance that the animal is on the wing; likely."""
    active_low: Reals
    active_high: Reals
    facing: Reals
    lit: Reals
    sharp: Reals
    clean: Reals
    keepers_h: Reals
    """Keepers to expect an hour, with the likely chance that it flies."""
    keepers_low_h: Reals
    """The same with the lowest chance that it flies."""
    keepers_high_h: Reals
    sun_is_clear: NDArray[np.bool_]
    """The sun is up and clears the skyline of the stand."""
    is_dangerous: NDArray[np.bool_]
    """The sun is so near the line of sight that eyes and sensor are at risk; no other bearing is in reach."""
    own_shadow: NDArray[np.bool_]
    """Your shadow falls on the animal."""
    off_shoulder_deg: Reals
    """Between the sun's bearing and straight behind you; 0 is the sun at your back."""
    sun_is_right: NDArray[np.bool_]
    """The sun stands to the right of where you look."""
    light_angle_deg: Reals
    """Between sun and camera, seen from the animal."""
    contrast_stops: Reals
    """Lit over shadow side while the sun shines on it; 0 in shade."""
    turned_deg: Reals
    """How far the head is turned from you; NaN where any side may show."""
    background_lengths: Reals
    """Blur disc of the background in lengths of the animal."""
    ev: Reals
    f_number: Reals
    """Of the best setting; NaN where nothing exposes."""
    exposure_s: Reals
    iso: Reals

    def chain(self, moment: int, stand: int) -> Chain:
        """Return the factors of one cell."""
        return Chain(*(float(getattr(self, name)[moment, stand]) for name in FACTORS))


@dataclass(frozen=True, slots=True)
class DayPlan:
    """Hours and stands of one day, weighed."""

    question: PlanQuestion
    distance_m: float
    moments: Moments
    bank: Bank
    behind: Behind
    cells: Cells

    @property
    def times(self) -> tuple[datetime, ...]:
        """The moments, in the site's zone."""
        return self.moments.times

    @property
    def step_h(self) -> float:
        """Length of a step. [h]"""
        return self.question.step_min / 60.0


def plan_day(question: PlanQuestion) -> DayPlan:
    """Return the plan of one day.

    Parameters
    ----------
    question : PlanQuestion
        Site, day, weather, animal, kit.

    Returns
    -------
    DayPlan
        Cells of every moment at every stand.

    Raises
    ------
    InputError
        If the day has no light, the kit cannot focus so near, or the catalogue does not know the animal to do that.

    Notes
    -----
    Keepers an hour are encounters an hour times the product of `FACTORS`: an encounter counts once, however many of its
    frames are good. The factors are taken as independent. Of the bearings in a stand's reach that with the largest
    product counts; those with the sun within the danger angle only where a stand has no other.
    """
    subject = question.subject(0.0)
    wish = at_distance(question.kit, subject, question.wish)
    distance = float(wish.distance_m or 0.0)
    focal = float(pose(question.kit, subject, wish, distance, 12.0).focal_length_mm[0])
    moments, bank = moments_of(question), bank_of(question.site)
    behind = behind_of(question, bank, distance)
    open_lengths = background_lengths(behind, focal, distance, subject.length_mm)
    sun = moments.sun
    clear = np.stack([line.sun_is_clear(sun.apparent_altitude_deg, sun.azimuth_deg) for line in bank.skylines], axis=1)
    clear &= sun.apparent_altitude_deg[:, None] > 0
    heights = np.array([stand.above_water_m for stand in question.site.stands])
    columns: dict[int, dict[str, NDArray[np.generic]]] = {}
    for height in np.unique(heights):
        views = views_of(question, moments, float(height), distance)
        for stand in map(int, np.flatnonzero(heights == height)):
            columns[stand] = _column(views, moments, clear[:, stand], bank.reach[stand], open_lengths[stand])
    cells = _cells(question, moments, clear, columns)
    return DayPlan(question, distance, moments, bank, behind, cells)


def _column(
    views: Views, moments: Moments, clear: NDArray[np.bool_], reach: NDArray[np.bool_], open_lengths: Reals
) -> dict[str, NDArray[np.generic]]:
    """Return one stand over the day, at its best bearing of each moment: arrays of shape (n_moments,)."""
    rows, state = np.arange(len(moments)), clear.astype(np.intp)
    bearings = np.flatnonzero(reach)
    if not bearings.size:
        # Nothing is in reach: looked at anyway, so that sun and light can be told, and worth nothing.
        bearings = np.array([0])
    at = np.ix_(rows, bearings)
    pick = state[:, None], rows[:, None], bearings[None, :]
    f_number = views.f_number[pick]
    with np.errstate(invalid="ignore"):
        lengths = open_lengths[bearings] / f_number
        clean = np.where(np.isnan(lengths), 0.0, clean_worth(lengths) * views.unglared[pick])
        worth = views.facing[at] * views.lit[pick] * views.sharp[pick] * clean
    danger = views.sun_side.is_dangerous[at] & clear[:, None]
    best = np.argmax(np.where(danger, -1.0, worth), axis=1)
    chosen = bearings[best]
    inner, cell = (rows, best), (state, rows, chosen)
    flat = rows, chosen
    in_reach = float(reach.any())
    return {
        "bearing_deg": BEARINGS_DEG[chosen],
        "facing": views.facing[flat] * in_reach,
        "lit": views.lit[cell],
        "sharp": views.sharp[cell],
        "clean": clean[inner],
        "is_dangerous": danger[inner],
        "own_shadow": views.own_shadow[flat] & clear,
        "off_shoulder_deg": views.sun_side.off_shoulder_deg[flat],
        "sun_is_right": views.sun_side.on_your_right[flat],
        "light_angle_deg": views.sun_side.light_angle_deg[flat],
        "contrast_stops": np.where(clear, views.contrast_stops[flat], 0.0),
        "turned_deg": views.turned_deg[flat],
        "background_lengths": lengths[inner],
        "ev": views.ev[cell],
        "f_number": views.f_number[cell],
        "exposure_s": views.exposure_s[cell],
        "iso": views.iso[cell],
    }


def _cells(
    question: PlanQuestion,
    moments: Moments,
    clear: NDArray[np.bool_],
    columns: dict[int, dict[str, NDArray[np.generic]]],
) -> Cells:
    told = {
        name.name: np.stack([columns[stand][name.name] for stand in sorted(columns)], axis=1)
        for name in fields(Cells)
        if name.name in columns[0]
    }
    chance, rows = moments.activity.chance, np.arange(len(moments))[:, None]
    state = clear.astype(np.intp)
    active = [case[state, rows] for case in (chance.likely, chance.low, chance.high)]
    each = question.encounters_an_hour * told["facing"] * told["lit"] * told["sharp"] * told["clean"]
    likely, low, high = (each * case for case in active)
    return Cells(
        active=active[0],
        active_low=active[1],
        active_high=active[2],
        keepers_h=likely,
        keepers_low_h=low,
        keepers_high_h=high,
        sun_is_clear=clear,
        **told,
    )
