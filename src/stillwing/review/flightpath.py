"""A flight frame by frame, as it is drawn: where the animal was, how fast, and what its blur was made of."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.defocus import Plane, plane_at
from stillwing.flight.distances import likely_distance
from stillwing.flight.figures import Band
from stillwing.flight.seen import SeenFrame
from stillwing.flight.track import Side, Track
from stillwing.optics.subject import Range
from stillwing.review.blursplit import BlurSplit
from stillwing.review.burstflight import BurstFlight
from stillwing.review.flightadvice import focus_reach_mm

__all__ = ["BlurParts", "FlightPath", "Spot", "flight_path"]

OPEN_MM = 200.0
"""A way is drawn where no place on it is more open than this to either side, (a choice, no source)"""
OPEN_SHARE = 0.5
"""or than this share of the way's extent (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class BlurParts:
    """What one frame's blur is made of, as shares of its square, which add up to 1."""

    blur_px: float
    defocus: float
    motion: float
    """What the blur has along one direction more than across; 0 where it is round."""
    rest: float
    """Pixels, diffraction and the lens's own faults."""


@dataclass(frozen=True, slots=True)
class Spot:
    """The animal in one frame, each figure with its 90 % interval."""

    number: int
    """Place of the frame in the burst, from 0."""
    time_s: float
    """Since the first frame of the flight."""
    right_mm: Range
    """From where the burst's middle frame looked."""
    up_mm: Range
    depths_mm: tuple[Range, ...]
    """Of the body's middle from the focal plane, positive behind it. Two where the side is not told: the animal was on
    either."""
    speed_m_s: Range
    blur: BlurParts | None
    """``None`` where it was not measured."""
    is_doubted: bool


@dataclass(frozen=True, slots=True)
class FlightPath:
    """A flight as it is drawn."""

    spots: tuple[Spot, ...]
    side: Side
    is_way_told: bool
    """Whether the places across the picture are known well enough to be drawn."""
    is_speed_told: bool
    reach_mm: float | None
    """How far off the focal plane the body's middle may be and look sharp; ``None`` where nothing is asked for."""


def flight_path(told: BurstFlight, limit_px: float | None) -> FlightPath | None:
    """Return a burst's flight frame by frame; ``None`` where it tells none.

    Parameters
    ----------
    told : BurstFlight
        As `stillwing.review.burstflight.burst_flight` gives it.
    limit_px : float or None
        Largest blur that the output hides. [px]
    """
    if told.flight is None or told.setting is None:
        return None
    kit, flight = told.setting.kit, told.flight
    plane = plane_at(kit, *likely_distance(kit, told.setting.focus_m))
    reach = None if limit_px is None else focus_reach_mm(kit, plane, flight.half_depth_mm, limit_px, kit.f_number)
    return FlightPath(
        tuple(_spots(told, flight, plane)),
        flight.side,
        _is_way_told(told, flight),
        told.speed_m_s is not None,
        reach,
    )


def _spots(told: BurstFlight, flight: Track, plane: Plane) -> Iterator[Spot]:
    for at, (number, seen) in enumerate(zip(told.numbers, told.seen, strict=True)):
        offset, away = flight.offset_mm.at(at), flight.away_mm.at(at)
        yield Spot(
            number,
            float(flight.times_s[at]),
            flight.x_mm.at(at),
            _mirrored(flight.y_mm.at(at)),
            (offset,) if flight.side is Side.TOLD else (away, _mirrored(away)),
            flight.speed_m_s.at(at),
            _parts(seen, plane.floor_variance),
            at in flight.doubted,
        )


def _mirrored(of: Range) -> Range:
    return Range(-of.high, -of.likely, -of.low)


def _parts(seen: SeenFrame, floor: float) -> BlurParts | None:
    split = BlurSplit.of(seen, floor)
    if split is None:
        return None
    shares = (part / split.whole for part in (split.defocus, split.motion, split.rest))
    return BlurParts(math.sqrt(split.whole), *shares)


def _is_way_told(told: BurstFlight, flight: Track) -> bool:
    bands = flight.x_mm, flight.y_mm
    extent = max(float(np.ptp(band.likely)) for band in bands)
    widest = max(float(_half(band).max()) for band in bands)
    return not told.is_at_odds and widest <= max(OPEN_MM, OPEN_SHARE * extent)


def _half(band: Band) -> NDArray[np.float64]:
    return np.asarray((band.high - band.low) / 2, np.float64)
