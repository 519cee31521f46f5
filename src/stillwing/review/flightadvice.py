"""What a burst teaches for the next one: angle to the focal plane, f-number, exposure, where its figures allow it."""

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.defocus import Plane, plane_at
from stillwing.flight.distances import likely_distance
from stillwing.flight.seen import FlightKit
from stillwing.flight.track import Track
from stillwing.optics.prediction import SHARPEST_SHARE
from stillwing.optics.subject import Range
from stillwing.review.blursplit import BlurSplit, Cause
from stillwing.review.burstflight import BurstFlight
from stillwing.review.changes import Flown, Split, log_errors, sharp_chance, turned_by

__all__ = [
    "LIKELIER",
    "AngleAdvice",
    "ExposureAdvice",
    "FNumberAdvice",
    "FlightAdvice",
    "Softness",
    "Verdict",
    "flight_advice",
    "focus_reach_mm",
]

Reals = NDArray[np.float64]

KEPT_SHARE = 0.5
"""An angle is borne that leaves this share of the frames that flight along the focal plane gives in focus, as in
`stillwing.flight.launchadvice.tolerated_angle`."""
MOST_STOPS = 2
"""The lens is closed by no more than this for a gain (a choice, no source)."""
FEWEST_SOFT = 2
"""So many frames must be soft by the same cause before anything is advised for it (a choice, no source)."""
LIKELIER = 0.5
BETWEEN = 0.3
"""Share of a third of a stop that is no step."""
LEAST_WON = 1.0
"""Sharp frames for which an angle is advised (a choice, no source)."""
SHORTEST_S = 2.0**-15


class Verdict(StrEnum):
    """Whether the interval allows to say so."""

    SURE = "sure"
    OPEN = "open"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Softness:
    """How many frames are sharp for the output asked for, and what made the others soft. Counts of frames."""

    n_sharp: int
    """Surely, by the interval of the blur."""
    n_open: int
    n_soft: int
    """Surely."""
    causes: Mapping[Cause, int]
    """Of the soft ones."""


@dataclass(frozen=True, slots=True)
class AngleAdvice:
    """The angle flown to the focal plane against the one that is borne here."""

    verdict: Verdict
    """``SURE`` where it was more than is borne, ``NO`` where it was less."""
    flown_deg: Range
    borne_deg: Range
    won: float = 0.0
    """More sharp frames to be expected from so much further round; 0 unless sure."""

    @property
    def further_round_deg(self) -> float:
        """How much further round to stand, by the likely figures. [deg]"""
        return max(self.flown_deg.likely - self.borne_deg.likely, 0.0)


@dataclass(frozen=True, slots=True)
class FNumberAdvice:
    """What closing the lens would have done, motion left out."""

    verdict: Verdict
    f_number: float
    n_now: Range
    """Frames in focus as taken."""
    gain: Range
    """More frames in focus."""


@dataclass(frozen=True, slots=True)
class ExposureAdvice:
    """What a shorter exposure would have done to frames that are soft by motion."""

    verdict: Verdict
    n_frames: int
    blur_px: float
    """Of the middle one of them as taken."""
    exposure_s: float
    """That which would have been enough for half of them, or for as much as can be had."""
    then_px: Range
    """Blur of the middle one with it."""


@dataclass(frozen=True, slots=True)
class FlightAdvice:
    """What one burst teaches; ``None`` where there is nothing to advise."""

    limit_px: float
    """Largest blur that the output hides."""
    softness: Softness
    angle: AngleAdvice | None
    """``None`` too, as is ``f_number``, where boxes and background do not go together as one flight."""
    f_number: FNumberAdvice | None
    exposure: ExposureAdvice | None
    """From the blur alone."""


def flight_advice(told: BurstFlight, limit_px: float) -> FlightAdvice | None:
    """Return what a burst teaches; ``None`` where it tells no flight.

    Parameters
    ----------
    told : BurstFlight
        As `stillwing.review.burstflight.burst_flight` gives it.
    limit_px : float
        Largest blur that the output hides, as `stillwing.frames.sharpfor.SharpFor.blur_limit` gives it. [px]
    """
    if told.flight is None or told.setting is None:
        return None
    kit, flight = told.setting.kit, told.flight
    plane = plane_at(kit, *likely_distance(kit, told.setting.focus_m))
    splits = [BlurSplit.of(frame, plane.floor_variance) for frame in told.seen]
    blurs = [split for split in splits if split is not None]
    is_believed = not told.is_at_odds
    return FlightAdvice(
        limit_px,
        _softness(blurs, limit_px),
        _angle(told, flight, (kit, plane), limit_px, splits) if is_believed else None,
        _f_number(flight, kit, plane, limit_px) if is_believed else None,
        _exposure(blurs, kit.exposure_s, limit_px),
    )


def focus_reach_mm(kit: FlightKit, plane: Plane, half_depth_mm: float, limit_px: float, f_number: float) -> float:
    """Return how far off the focal plane the body's middle may be while its sharpest part stays sharp. [mm]

    It is 0 where the lens and diffraction alone blur more than the output hides.

    Parameters
    ----------
    kit, plane
        As taken; ``f_number`` takes the place of the kit's.
    half_depth_mm : float
        Half of what the body takes up along the line of sight. [mm]
    limit_px : float
        Largest blur. [px]

    Notes
    -----
    `stillwing.optics.prediction.sharpest_distance` and the disc of `stillwing.optics.focus.blur_disc`, turned round.
    """
    left = limit_px**2 - replace(kit, f_number=f_number).floor_variance(plane.magnification)
    if left <= 0:
        return 0.0
    disc_px = plane.disc_px * kit.f_number / f_number
    off_mm = 4 * math.sqrt(left) / disc_px * plane.distance_mm
    return off_mm + (1 - 2 * SHARPEST_SHARE) * half_depth_mm


def _softness(blurs: Sequence[BlurSplit], limit_px: float) -> Softness:
    soft = [one for one in blurs if one.low > limit_px**2]
    n_sharp = sum(one.high <= limit_px**2 for one in blurs)
    causes = [one.cause(limit_px) for one in soft]
    counts = MappingProxyType({cause: causes.count(cause) for cause in Cause})
    return Softness(n_sharp, len(blurs) - n_sharp - len(soft), len(soft), counts)


def _angle(
    told: BurstFlight,
    flight: Track,
    optics: tuple[FlightKit, Plane],
    limit_px: float,
    splits: Sequence[BlurSplit | None],
) -> AngleAdvice | None:
    r"""Return the advice on the angle; ``None`` where lens and diffraction alone blur too much.

    Even flight at an angle through the plane stays in focus over ``2 reach / (v sin)`` seconds, that from the plane, as
    a launch, over half of them, and flight along it over the whole burst.
    """
    speed, flown = flight.absolute.mean_speed_m_s, flight.absolute.off_plane_deg
    (kit, plane), lasted_s = optics, float(flight.times_s[-1] - flight.times_s[0])
    reach = focus_reach_mm(kit, plane, flight.half_depth_mm, limit_px, kit.f_number)
    if reach == 0:
        return None
    deep = (2 if flight.crossing.chance >= LIKELIER else 1) * reach
    borne = Range(*(_borne_deg(deep, 1000 * each * lasted_s) for each in (speed.high, speed.likely, speed.low)))
    if flown.high <= borne.low:
        return AngleAdvice(Verdict.NO, flown, borne)
    is_more = told.speed_m_s is not None and flown.low > borne.high
    if not is_more:
        return AngleAdvice(Verdict.OPEN, flown, borne)
    sure = AngleAdvice(Verdict.SURE, flown, borne)
    moved_px = 1000 * speed.likely * kit.exposure_s / plane.mm_per_px
    won = _won_turned(flight, splits, moved_px, sure, limit_px)
    # To stand elsewhere for less than a frame is no advice, as where a hover comes and goes along the line of sight.
    return replace(sure, won=won) if won >= LEAST_WON else AngleAdvice(Verdict.OPEN, flown, borne)


def _won_turned(
    flight: Track, splits: Sequence[BlurSplit | None], moved_px: float, advice: AngleAdvice, limit_px: float
) -> float:
    """Return how many more frames are sharp to be expected from further round."""
    known = [(row, split) for row, split in enumerate(splits) if split is not None and split.is_known]
    if not known:
        return 0.0
    measured = [split for _, split in known]
    now, sd = Split.of(measured), log_errors(measured)
    away = np.asarray(flight.away_mm.likely[[row for row, _ in known]], np.float64)
    flown = Flown(away, flight.half_depth_mm, advice.flown_deg.likely, moved_px)
    then = turned_by(now, flown, advice.further_round_deg)
    return float((sharp_chance(then.whole, sd, limit_px) - sharp_chance(now.whole, sd, limit_px)).sum())


def _borne_deg(deep_mm: float, way_mm: float) -> float:
    share = deep_mm / (KEPT_SHARE * way_mm) if way_mm > 0 else math.inf
    return 90.0 if share >= 1 else math.degrees(math.asin(share))


def _f_number(flight: Track, kit: FlightKit, plane: Plane, limit_px: float) -> FNumberAdvice | None:
    """Return the least that the lens would have to be closed by for a sure gain, else for a likely one."""
    away = flight.away_mm

    def in_focus(f_number: float) -> Reals:
        reach = focus_reach_mm(kit, plane, flight.half_depth_mm, limit_px, f_number)
        return np.array([(each <= reach).sum() for each in (away.high, away.likely, away.low)], np.float64)

    now = in_focus(kit.f_number)
    # Engraved thirds of a stop: a lens wide open may stand between them.
    first = math.floor(6 * math.log2(kit.f_number) + BETWEEN) + 1
    tried = [2 ** (third / 6) for third in range(first, first + 3 * MOST_STOPS)]
    gains = [in_focus(f_number) - now for f_number in tried]
    found = [
        FNumberAdvice(
            Verdict.SURE if gain.min() >= 1 else Verdict.OPEN,
            f_number,
            Range(*(float(each) for each in now)),
            Range(float(gain.min()), float(gain[1]), float(gain.max())),
        )
        for f_number, gain in zip(tried, gains, strict=True)
        if gain[1] >= 1
    ]
    return next((one for one in found if one.verdict is Verdict.SURE), found[0] if found else None)


def _exposure(blurs: Sequence[BlurSplit], exposure_s: float, limit_px: float) -> ExposureAdvice | None:
    """Return the exposure that makes half of the frames that motion made soft sharp; ``None`` where hardly any is."""
    moved = [
        one
        for one in blurs
        if one.low > limit_px**2 and one.motion > 0 and one.cause(limit_px) in (Cause.MOTION, Cause.EITHER)
    ]
    if len(moved) < FEWEST_SOFT:
        return None
    needed = statistics.median_low([math.sqrt(_enough(one, limit_px)) for one in moved])
    # The next engraved step, or the shortest of all.
    then_s = max(2 ** (math.floor(3 * math.log2(max(needed * exposure_s, SHORTEST_S)) + 1e-9) / 3), SHORTEST_S)
    middle = sorted(moved, key=lambda one: one.whole)[(len(moved) - 1) // 2]
    shorter = then_s / exposure_s
    then = Range(*(middle.exposed(shorter, scale / middle.whole) for scale in (middle.low, middle.whole, middle.high)))
    verdict = Verdict.SURE if then.high <= limit_px else Verdict.OPEN
    return ExposureAdvice(verdict, len(moved), math.sqrt(middle.whole), then_s, then)


def _enough(one: BlurSplit, limit_px: float) -> float:
    """Return the square of the share of the exposure that is short enough."""
    return max((limit_px**2 - (one.whole - one.motion)) / one.motion, 0.0)
