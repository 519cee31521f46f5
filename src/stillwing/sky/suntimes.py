"""When the sun rises, culminates and sets on a day of the local calendar, and the twilights round it.

The day is what a clock on the wall calls so, from its first instant to the next day's: 23 to 25 hours, anywhere on
earth. In it the sun may rise and set once, set twice, set after midnight, or do neither.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError
from stillwing.sky.instants import datetimes, zone_named
from stillwing.sky.observer import Observer
from stillwing.sky.sun import sun_position

__all__ = [
    "CIVIL_DEG",
    "HORIZON_DEG",
    "Crossings",
    "SunTimes",
    "Throughout",
    "day_bounds",
    "sun_times",
    "sun_times_of_days",
]

HORIZON_DEG = -0.8333
"""Altitude of the sun's centre when its upper rim touches the horizon: 34' of refraction and 16' of radius (Reda and
Andreas 2004; Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 15, from memory). [deg]"""
CIVIL_DEG, NAUTICAL_DEG, ASTRONOMICAL_DEG = -6.0, -12.0, -18.0
"""Ends of the twilights (definitions of the US Naval Observatory, from memory). [deg]"""
HEIGHTS_DEG = (HORIZON_DEG, CIVIL_DEG, NAUTICAL_DEG, ASTRONOMICAL_DEG)
PARALLAX_DEG = 8.794 / 3600
"""How much lower the sun stands at the horizon seen from the ground than from the earth's centre. The definitions above
leave it out (from memory), and so do the published times: with it they would move by 1 s, by 10 s in the far north."""
STEP_S = 600.0
BISECTIONS = 20
"""Halvings of a step: to a millisecond."""
DAY_S = 86400.0


class Throughout(StrEnum):
    """What the sun does all day where it does not cross a height."""

    ABOVE = "above all day"
    BELOW = "below all day"


@dataclass(frozen=True, slots=True)
class Crossings:
    """When the sun passes one height on one day; both may be empty, and either may hold two."""

    altitude_deg: float
    rises: tuple[datetime, ...]
    sets: tuple[datetime, ...]
    throughout: Throughout | None
    """Where the sun stays on one side; None where it crosses."""

    @property
    def rise(self) -> datetime | None:
        """The first rise of the day, if there is one."""
        return self.rises[0] if self.rises else None

    @property
    def set(self) -> datetime | None:
        """The last set of the day, if there is one."""
        return self.sets[-1] if self.sets else None


@dataclass(frozen=True, slots=True)
class SunTimes:
    """The sun's day at one place, on the clock of its zone."""

    day: date
    start: datetime
    end: datetime
    """First instant of the next day."""
    transits: tuple[datetime, ...]
    """When the sun crosses the meridian, above the pole's horizon; one, but for clocks far from the sun."""
    horizon: Crossings
    civil: Crossings
    nautical: Crossings
    astronomical: Crossings

    @property
    def is_always_up(self) -> bool:
        """Whether the sun does not set all day."""
        return self.horizon.throughout is Throughout.ABOVE

    @property
    def is_never_up(self) -> bool:
        """Whether the sun does not rise all day."""
        return self.horizon.throughout is Throughout.BELOW


def sun_times(observer: Observer, day: date, zone: str | ZoneInfo) -> SunTimes:
    """Return the sun's times on one day; see `sun_times_of_days`.

    Examples
    --------
    >>> times = sun_times(Observer(51.5, -0.1275), date(2024, 6, 20), "Europe/London")
    >>> f"{times.horizon.rise:%H:%M}, {times.transits[0]:%H:%M}, {times.horizon.set:%H:%M}"
    '04:43, 13:02, 21:21'
    """
    return sun_times_of_days(observer, [day], zone)[0]


def sun_times_of_days(observer: Observer, days: Sequence[date], zone: str | ZoneInfo) -> tuple[SunTimes, ...]:
    """Return when the sun rises, culminates and sets on days of a local calendar.

    Parameters
    ----------
    observer : Observer
        The place; the horizon is level, and its height above the surroundings does not count.
    days : sequence of date
        Any days in any order.
    zone : str or ZoneInfo
        Whose calendar and clock; "Europe/London".

    Returns
    -------
    tuple of SunTimes
        One for each day, times in ``zone``.

    Raises
    ------
    InputError
        If the zone is not known, or a day was left out of its calendar.

    Notes
    -----
    The altitude is sampled every 10 minutes and at its highest and lowest, and each change of side is halved down to a
    millisecond, so that no neighbouring day's event can slip in. Times published to the second agree to 1 s, those in
    whole minutes to the minute. Refraction of the real air moves them by half a minute and more (from memory).
    """
    clock = zone if isinstance(zone, ZoneInfo) else zone_named(zone)
    if not days:
        return ()
    bounds = [day_bounds(day, clock) for day in days]
    samples = _samples(observer, np.array([(start.timestamp(), end.timestamp()) for start, end in bounds]))
    crossings, transits = _crossings(observer, samples, clock), _transits(observer, samples, clock)
    return tuple(
        SunTimes(day, start, end, transits[row], *crossings[row])
        for row, (day, (start, end)) in enumerate(zip(days, bounds, strict=True))
    )


@dataclass(frozen=True, slots=True)
class _Samples:
    """Altitudes over days, shape (n_days, n_samples); the first and last sample lie outside the day."""

    start: NDArray[np.float64]
    end: NDArray[np.float64]
    at: NDArray[np.float64]
    altitude: NDArray[np.float64]


def day_bounds(day: date, clock: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the first instant of a day of the local calendar and that of the next, in its zone.

    Raises
    ------
    InputError
        If the calendar has no such day, or ends with it.
    """
    # Through UTC and back: a midnight that the clock skips becomes the first instant after it.
    try:
        start, end = (
            datetime.combine(d, time(), clock).astimezone(UTC).astimezone(clock) for d in (day, day + timedelta(days=1))
        )
    except OverflowError as error:
        raise InputError(
            f"{day.isoformat()} is at the end of the calendar; take a day between the years 2 and 9998"
        ) from error
    if start >= end:
        raise InputError(f"{day.isoformat()} was left out of the calendar of {clock.key}; take the day before or after")
    return start, end


def _altitude(observer: Observer, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the altitude as from the earth's centre, which the definitions mean; close to the horizon only."""
    seen = sun_position(observer, at).altitude_deg
    return np.asarray(seen + PARALLAX_DEG * np.cos(np.radians(seen)), np.float64)


def _samples(observer: Observer, bounds: NDArray[np.float64]) -> _Samples:
    start, end = bounds[:, 0], bounds[:, 1]
    n_steps = int(np.ceil((end - start).max() / STEP_S))
    step = (end - start) / n_steps
    at = start[:, None] + step[:, None] * np.arange(-1, n_steps + 2)
    altitude = _altitude(observer, at)
    # A sample that is higher or lower than both neighbours moves to where the parabola through the three turns, so
    # that a sun that shows for less than a step is not missed.
    before, here, after = altitude[:, :-2], altitude[:, 1:-1], altitude[:, 2:]
    turns = (here - before) * (after - here) < 0
    bend = np.where(turns, before - 2 * here + after, 1.0)
    shift = np.where(turns, 0.5 * (before - after) / bend, 0.0)
    at[:, 1:-1] += shift * step[:, None]
    altitude[:, 1:-1][turns] = _altitude(observer, at[:, 1:-1][turns])
    return _Samples(start, end, at, altitude)


def _crossings(observer: Observer, samples: _Samples, clock: ZoneInfo) -> list[list[Crossings]]:
    """Return the crossings of each height on each day; all are searched for at once, since each call costs 1 ms."""
    above = samples.altitude >= np.array(HEIGHTS_DEG)[:, None, None]
    height, day, column = np.nonzero(above[..., 1:] != above[..., :-1])
    rising = ~above[height, day, column]
    at = _passed(observer, np.array(HEIGHTS_DEG)[height], rising, samples.at[day, column], samples.at[day, column + 1])
    inside = (at >= samples.start[day]) & (at < samples.end[day])
    found: list[list[Crossings]] = []
    for row in range(len(samples.start)):
        found.append([])
        for level, altitude_deg in enumerate(HEIGHTS_DEG):
            mine = inside & (day == row) & (height == level)
            rises, sets = (datetimes(at[mine & side], clock) for side in (rising, ~rising))
            # With nothing crossed any sample within the day tells the side.
            side = None if rises or sets else Throughout.ABOVE if above[level, row, 1] else Throughout.BELOW
            found[-1].append(Crossings(altitude_deg, rises, sets, side))
    return found


def _passed(
    observer: Observer,
    height: NDArray[np.float64],
    rising: NDArray[np.bool_],
    low: NDArray[np.float64],
    high: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Return when the sun passes ``height`` between ``low`` and ``high``, shape (n,) each, to a millisecond."""
    for _ in range(BISECTIONS if low.size else 0):
        middle = (low + high) / 2
        is_later = (_altitude(observer, middle) >= height) != rising
        low, high = np.where(is_later, middle, low), np.where(is_later, high, middle)
    return high


def _transits(observer: Observer, samples: _Samples, clock: ZoneInfo) -> list[tuple[datetime, ...]]:
    # Clock noon less the equation of time, which moves by 30 s a day at most: the second round is exact to 1 ms.
    mean_noon = DAY_S / 2 - observer.longitude_deg * 240.0
    first = np.floor((samples.start - mean_noon) / DAY_S) * DAY_S + mean_noon
    noon = first[:, None] + DAY_S * np.arange(3)
    at = noon
    for _ in range(3):
        at = noon - 60.0 * sun_position(observer, at).equation_of_time_min
    inside = (at >= samples.start[:, None]) & (at < samples.end[:, None])
    return [datetimes(at[day, inside[day]], clock) for day in range(len(at))]
