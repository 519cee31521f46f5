"""The light of a whole year at a site, from geometry alone: sun, skyline of each stand, bearings in reach."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.place.horizon import skyline
from stillwing.place.site import Site
from stillwing.place.stands import Stand
from stillwing.plan.worth import light_worth
from stillwing.sky.instants import datetimes, zone_named
from stillwing.sky.observer import Observer
from stillwing.sky.sun import sun_position

__all__ = [
    "SIGHT_ELEVATION_DEG",
    "ClockSpan",
    "LightDay",
    "LightMonth",
    "LightYear",
    "best_days",
    "light_months",
    "light_year",
]

Reals = NDArray[np.float64]
Singles = NDArray[np.float32]

SIGHT_ELEVATION_DEG = -10.0
"""How far up the lens looks: a little down, onto an animal over the water (a choice, no source)."""
GOOD_FROM = 0.5
"""Worth from which light belongs to the span of a day that is told by the clock (a choice, no source)."""
LOW_SUN_DEG = 20.0
"""A sun below this is told as low: its light comes from the side of the sky, not from above (a choice, no source)."""
FIRST_YEAR, LAST_YEAR = 1900, 2100
"""Beyond, time zones are guesses."""

AZIMUTH_BIN_DEG = 0.1
"""Width of the bins of the tables: the sun's azimuth is taken to the nearest, so at most 0.05 deg off, in which the
worth of light changes by 0.0008 at most. A skyline rough with 40 trees came out 0.005 h a day off in the mean, 0.013 h
with 0.25 deg."""
COSINE_BINS = 8192
"""Over cosines of the light angle; in one of them the worth changes by less than 0.0003."""
CHUNK_CELLS = 1 << 18
"""Steps times stands that are worked on together: 1 MB an array stays in the processor's cache."""


class ClockSpan(NamedTuple):
    """From when to when, by the clock of the site's zone; to the step."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class LightYear:
    """Hours of good light of every day and stand: an hour in which the light is worth 0.5 counts half.

    The best stand of a day is the one with most hours; where no stand has any, it is -1 and the span ``None``.
    """

    year: int
    zone: str
    stands: tuple[Stand, ...]
    days: tuple[date, ...]
    """All that the calendar of the zone holds."""
    worth_h: Singles
    """Hours of light times what it is worth, (n_days, n_stands)."""
    best_stand: NDArray[np.intp]
    """Of each day, (n_days,)."""
    light_h: Singles
    """Hours on the best stand, (n_days,)."""
    spans: tuple[ClockSpan | None, ...]
    """On the best stand, the stretch of light worth at least 0.5 that holds most; ``None`` where there is none."""
    low_sun_share: Singles
    """Share of the best stand's hours that a low sun gives, (n_days,); NaN where there are no hours."""


@dataclass(frozen=True, slots=True)
class LightDay:
    """One day worth going for."""

    day: date
    light_h: float
    stand: Stand
    """With most hours on that day."""
    span: ClockSpan | None
    """The stretch of light worth at least 0.5 that holds most."""
    low_sun_share: float


@dataclass(frozen=True, slots=True)
class LightMonth:
    """One month, 1 to 12, at the stand that has most light in it."""

    month: int
    light_h: float
    """Hours a day there, as a mean over the month."""
    stand: Stand


def light_year(site: Site, observer: Observer, zone: str, year: int, step_s: float = 600.0) -> LightYear:
    r"""Return the hours of good light of every day of a year at every stand, from geometry alone.

    Parameters
    ----------
    site : Site
        Its stands, their reach, and the horizon round them.
    observer : Observer
        Where the sun is seen from.
    zone : str
        Whose calendar and clock; "Europe/London".
    year : int
        1900 to 2100.
    step_s : float, default 600
        The sun is taken in the middle of steps of this length, 60 to 3600. [s]

    Returns
    -------
    LightYear

    Raises
    ------
    InputError
        If the site has no stands, the zone is not known, or year or step are out of their range.

    Notes
    -----
    A step counts where the sun's middle is above the level horizon and above the stand's skyline, both as seen through
    the air. Of the bearings in reach the one nearest to straight away from the sun is faced: as the sight goes down by
    a constant angle, the light angle :math:`L` is smallest there, with

    .. math:: \cos L = \cos a \cos e \cos o - \sin a \sin e

    of the sun's altitude :math:`a`, the sight's elevation :math:`e` and the angle :math:`o` off the shoulder. Its worth
    is that of `light_worth`. A stand without reach has no hours. Clouds, wind and animals do not count.

    Azimuths are binned by 0.1 deg and figures held in single precision: against the same sum worked out plainly, the
    hours of a day differ by less than 0.01, and by a step where the sun grazes the skyline.
    """
    clock = zone_named(zone)
    _check(site, year, step_s)
    days, steps = _sunny_steps(observer, clock, year, step_s)
    seen = _seen_from(site)
    worth_h = _hours(seen, steps, len(days))
    best, light_h = worth_h.argmax(axis=1), worth_h.max(axis=1)
    mine = best[steps.day]
    worth = _worth(seen.cos_off[steps.bin, mine], seen.edge_deg[steps.bin, mine], steps.altitude_deg)
    low = np.bincount(steps.day, worth * (steps.altitude_deg < LOW_SUN_DEG), len(days))
    total = np.bincount(steps.day, worth, len(days))
    share = np.divide(low, total, out=np.full(len(days), np.nan), where=total > 0)
    return LightYear(
        year,
        zone,
        site.stands,
        days,
        worth_h,
        np.where(light_h > 0, best, -1),
        light_h,
        _spans(steps, worth, len(days), clock),
        share.astype(np.float32),
    )


def best_days(light: LightYear, n: int = 10, apart_d: int = 7) -> tuple[LightDay, ...]:
    """Return the days with most hours of good light on their best stand, the best first.

    Parameters
    ----------
    light : LightYear
    n : int, default 10
        How many; fewer where no more have light.
    apart_d : int, default 7
        Days that two of them lie apart at least.

    Raises
    ------
    InputError
        If a number is below 1.
    """
    for name, value in (("the number of days", n), ("the days between two of them", apart_d)):
        if value < 1:
            raise InputError(f"{name} is {value}; it must be 1 or more")
    chosen: list[int] = []
    # Stable, so that of equal days the first of the year comes first.
    for row in map(int, np.argsort(-light.light_h, kind="stable")):
        if len(chosen) == n or light.best_stand[row] < 0:
            break
        if all(abs((light.days[row] - light.days[other]).days) >= apart_d for other in chosen):
            chosen.append(row)
    return tuple(_light_day(light, row) for row in chosen)


def light_months(light: LightYear) -> tuple[LightMonth, ...]:
    """Return the stand with most hours over each month; months without any light are left out."""
    months = np.array([day.month for day in light.days])
    told = []
    for month in range(1, 13):
        hours = light.worth_h[months == month].mean(axis=0)
        best = int(hours.argmax())
        if hours[best] > 0:
            told.append(LightMonth(month, float(hours[best]), light.stands[best]))
    return tuple(told)


def _light_day(light: LightYear, row: int) -> LightDay:
    stand = light.stands[light.best_stand[row]]
    hours, share = float(light.light_h[row]), float(light.low_sun_share[row])
    return LightDay(light.days[row], hours, stand, light.spans[row], share)


def _check(site: Site, year: int, step_s: float) -> None:
    if not site.stands:
        raise InputError(f"{site.name} has no stands; let them be proposed, or add one by its position")
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise InputError(f"the year is {year}; it must be {FIRST_YEAR} to {LAST_YEAR}")
    if not 60 <= step_s <= 3600:
        raise InputError(f"a step of {step_s:g} s; it must be 60 to 3600 s")


@dataclass(frozen=True, slots=True)
class _Steps:
    """The steps of a year in which the sun is up; arrays of shape (m,), in order of time."""

    day: NDArray[np.intp]
    """Row of the day that it belongs to."""
    start_s: Reals
    """Since 1970 UTC."""
    length_s: Reals
    """The same for all steps of a day."""
    altitude_deg: Singles
    bin: NDArray[np.intp]
    """Of the sun's azimuth."""


def _sunny_steps(observer: Observer, clock: ZoneInfo, year: int, step_s: float) -> tuple[tuple[date, ...], _Steps]:
    new_year = date(year, 1, 1)
    calendar = [new_year + timedelta(days=ahead) for ahead in range((date(year + 1, 1, 1) - new_year).days + 1)]
    midnights = np.array([datetime.combine(day, time(), clock).timestamp() for day in calendar])
    # Where a zone moved across the date line, a day was left out: it begins when the next one does.
    lengths = np.diff(midnights)
    held = np.flatnonzero(lengths > 0)
    # A day of 23 or 25 hours has as many more or fewer steps.
    counts = np.maximum(1, np.rint(lengths[held] / step_s)).astype(np.intp)
    day = np.repeat(np.arange(len(held)), counts)
    length = (lengths[held] / counts)[day]
    start = midnights[held][day] + length * (np.arange(len(day)) - (np.cumsum(counts) - counts)[day])
    sun = sun_position(observer, start + length / 2)
    up = sun.apparent_altitude_deg > 0
    bins = np.rint(sun.azimuth_deg[up] / AZIMUTH_BIN_DEG).astype(np.intp) % round(360 / AZIMUTH_BIN_DEG)
    altitude = sun.apparent_altitude_deg[up].astype(np.float32)
    return tuple(calendar[row] for row in held), _Steps(day[up], start[up], length[up], altitude, bins)


class _Seen(NamedTuple):
    """What each stand has towards each azimuth of the sun, (n_bins, n_stands)."""

    cos_off: Singles
    """Cosine of the smallest angle off the shoulder that is within reach."""
    edge_deg: Singles
    """Altitude of the skyline; inf where nothing is in reach, so that no sun clears it."""


def _seen_from(site: Site) -> _Seen:
    azimuths = np.arange(0.0, 360.0, AZIMUTH_BIN_DEG)
    feet = site.plane.to_metres([stand.position for stand in site.stands])
    edges = np.empty((len(site.stands), len(azimuths)))
    for row, (foot, stand) in enumerate(zip(feet, site.stands, strict=True)):
        edges[row] = skyline(site.horizon, foot, stand.above_water_m).altitude_at(azimuths) if stand.reach else np.inf
    off = np.stack([_off_shoulder(stand, azimuths) for stand in site.stands])
    cos_off = np.cos(np.radians(off))
    return _Seen(np.ascontiguousarray(cos_off.T, np.float32), np.ascontiguousarray(edges.T, np.float32))


def _off_shoulder(stand: Stand, azimuths_deg: Reals) -> Reals:
    """Return how far from straight behind the sun stands at least, over bearings in reach; 180 without any. [deg]"""
    away, least = azimuths_deg + 180.0, np.full(len(azimuths_deg), 180.0)
    for span in stand.reach:
        past = (away - span.left_deg) % 360.0
        # Beyond the right end, or short of the left one; negative is within.
        beyond = np.minimum(past - span.width_deg, 360.0 - past)
        least = np.minimum(least, np.maximum(beyond, 0.0))
    return least


def _worth(cos_off: Singles, edge_deg: Singles, altitude_deg: Singles) -> Singles:
    """Return the worth of light, shape of all broadcast; 0 where the skyline hides the sun."""
    altitude, elevation = np.radians(altitude_deg), np.float32(np.radians(SIGHT_ELEVATION_DEG))
    half = np.float32(COSINE_BINS / 2)
    place = cos_off * (half * np.cos(elevation) * np.cos(altitude))
    place += half - half * np.sin(elevation) * np.sin(altitude)
    worth = _worth_by_cosine().take(place.astype(np.int32), mode="clip")
    return np.where(altitude_deg > edge_deg, worth, np.float32(0.0))


@cache
def _worth_by_cosine() -> Singles:
    """Return the worth of light in the middle of each bin of cosines, (COSINE_BINS,)."""
    middles = (np.arange(COSINE_BINS) + 0.5) * (2.0 / COSINE_BINS) - 1.0
    return light_worth(np.degrees(np.arccos(middles))).astype(np.float32)


def _hours(seen: _Seen, steps: _Steps, n_days: int) -> Singles:
    hours = np.zeros((n_days, seen.edge_deg.shape[1]), np.float32)
    # Only days with sun: summing over an empty stretch would give the next day's first step.
    firsts = np.flatnonzero(np.diff(steps.day, prepend=-1))
    for part, within in _chunks(firsts, len(steps.day), hours.shape[1]):
        bins = steps.bin[part]
        worth = _worth(seen.cos_off[bins], seen.edge_deg[bins], steps.altitude_deg[part, None])
        hours[steps.day[part][within]] = np.add.reduceat(worth, within, axis=0)
    step_h = np.zeros(n_days, np.float32)
    step_h[steps.day] = steps.length_s / 3600
    hours *= step_h[:, None]
    return hours


def _chunks(firsts: NDArray[np.intp], n_steps: int, n_stands: int) -> Iterator[tuple[slice, NDArray[np.intp]]]:
    """Yield stretches of whole days, and where in each stretch its days begin."""
    n_days = max(1, CHUNK_CELLS // (n_stands * 144))
    for at in range(0, len(firsts), n_days):
        begin = int(firsts[at])
        end = int(firsts[at + n_days]) if at + n_days < len(firsts) else n_steps
        yield slice(begin, end), firsts[at : at + n_days] - begin


def _spans(steps: _Steps, worth: Singles, n_days: int, clock: ZoneInfo) -> tuple[ClockSpan | None, ...]:
    """Return the stretch of good light of each day that holds most."""
    good = worth >= GOOD_FROM
    ends = steps.start_s + steps.length_s
    follows = (np.diff(steps.day) == 0) & (np.abs(steps.start_s[1:] - ends[:-1]) < 1.0) & good[1:] & good[:-1]
    first = np.flatnonzero(good & ~np.concatenate([[False], follows]))
    last = np.flatnonzero(good & ~np.concatenate([follows, [False]]))
    sums = np.concatenate([[0.0], np.cumsum(worth, dtype=np.float64)])
    spans: list[ClockSpan | None] = [None] * n_days
    # In rising order, so that of one day the richest is written last.
    order = np.argsort(sums[last + 1] - sums[first], kind="stable")
    starts, stops = datetimes(steps.start_s[first], clock), datetimes(ends[last], clock)
    for run in map(int, order):
        spans[steps.day[first[run]]] = ClockSpan(starts[run], stops[run])
    return tuple(spans)
