"""What one burst lost to softness and to the frame's edge, and what each change would have won in it."""

import math
import statistics
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.fieldbook.traces import BurstTrace
from stillwing.flight.defocus import Plane, plane_at
from stillwing.flight.distances import likely_distance
from stillwing.flight.seen import FlightKit
from stillwing.flight.track import Side, Track
from stillwing.frames.measured import Box
from stillwing.review.begunsooner import N_FIRST, won_sooner
from stillwing.review.blursplit import BlurSplit
from stillwing.review.burstflight import BurstFlight
from stillwing.review.burstseen import seen_animal
from stillwing.review.changes import (
    STEPS,
    Change,
    Flown,
    Split,
    exposed_by,
    f_number_by,
    further_by,
    log_errors,
    sharp_chance,
    turned_by,
)
from stillwing.review.flightadvice import LIKELIER
from stillwing.review.flightwords import OPEN_DEG
from stillwing.review.losses import followed_animal, losses

__all__ = ["BurstLesson", "Setting", "burst_lesson"]

Reals = NDArray[np.float64]

STRAIGHT = 0.8
"""A flight of which the way from end to end is a smaller share of the way flown has no one angle (a choice)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """How a burst was taken."""

    exposure_s: float
    f_number: float
    focal_length_mm: float
    distance_m: float
    iso: float | None


@dataclass(frozen=True, slots=True)
class BurstLesson:
    """What one burst lost, and what each step of each change would have won in it."""

    burst_id: int
    n_frames: int
    untold: str
    """Why it tells no flight; empty where it does. Then all below says nothing."""
    n_sharp: int = 0
    """Whole animal, and the likelier sharp enough."""
    lost: Mapping[str, int] | None = None
    """Frames by `Loss`."""
    sharp: float = 0.0
    """Sharp frames to be expected: the sum of the frames' chances."""
    won: Mapping[str, tuple[float, ...]] | None = None
    """More of them, by `Change`, one for each of `STEPS`."""
    setting: Setting | None = None
    flown_deg: float | None = None
    """Angle to the focal plane; ``None`` where it is open."""
    began_late: bool = False
    """It was past the focal plane already, and going away from it."""


def burst_lesson(told: BurstFlight, trace: BurstTrace, limit_px: float, iso: float | None = None) -> BurstLesson:
    """Return what a burst teaches for its outing.

    Parameters
    ----------
    told : BurstFlight
        As `stillwing.review.burstflight.burst_flight` gives it.
    trace : BurstTrace
        The burst.
    limit_px : float
        Largest blur that the output hides. [px]
    iso : float, optional
        As taken.

    Notes
    -----
    A frame is sharp with the chance that its blur, log-normal over its 90 % interval, stays within the limit. A change
    is tried on what the blur was measured to be made of (`stillwing.review.blursplit`), so it needs no flight but for
    angle and beginning sooner; bursts without one, or at odds, are left out all the same.
    """
    n_frames = len(trace.frames)
    if told.flight is None or told.setting is None or told.is_at_odds:
        return BurstLesson(trace.id, n_frames, told.missing[0].what if told.missing else "it tells no flight")
    kit, flight = told.setting.kit, told.flight
    distance_mm, focal_mm = likely_distance(kit, told.setting.focus_m)
    frames = _Frames.of(told, flight, plane_at(kit, distance_mm, focal_mm))
    if frames is None:
        return BurstLesson(trace.id, n_frames, "the blur of no frame was measured")
    flown = _flown(told, flight, kit, frames)
    judge = _Judge(limit_px)
    sharp = float(judge.chances(frames.split, frames.sd).sum())
    sooner = won_sooner(told, frames.plane, frames.first, lambda split: judge.chances(split, frames.usual_sd))
    won = {
        Change.EXPOSURE: [exposed_by(frames.split, stops) for stops in STEPS[Change.EXPOSURE]],
        Change.F_NUMBER: [f_number_by(frames.split, kit, frames.plane, stops) for stops in STEPS[Change.F_NUMBER]],
        Change.ANGLE: [
            frames.split if flown is None else turned_by(frames.split, flown, turn) for turn in STEPS[Change.ANGLE]
        ],
        Change.DISTANCE: [further_by(frames.split, kit, frames.plane, far) for far in STEPS[Change.DISTANCE]],
    }
    gains = {
        str(change): tuple(float(judge.chances(split, frames.sd).sum()) - sharp for split in splits)
        for change, splits in won.items()
    }
    whole = [_made_whole(trace, told, kit, frames, judge, far) for far in STEPS[Change.DISTANCE]]
    gains[Change.DISTANCE] = tuple(map(sum, zip(gains[Change.DISTANCE], whole, strict=True)))
    gains[Change.SOONER] = sooner.won
    lost = losses(told, trace, dict(zip(frames.numbers, frames.splits, strict=True)), limit_px)
    return BurstLesson(
        trace.id,
        n_frames,
        "",
        n_frames - sum(lost.values()),
        lost,
        sharp,
        gains,
        Setting(kit.exposure_s, kit.f_number, focal_mm, distance_mm / 1000, iso),
        None if flown is None else flown.angle_deg,
        sooner.began_late,
    )


@dataclass(frozen=True, slots=True)
class _Judge:
    limit_px: float

    def chances(self, split: Split, sd: Reals) -> Reals:
        return sharp_chance(split.whole, sd, self.limit_px)


@dataclass(frozen=True, eq=False, slots=True)
class _Frames:
    """The frames of a flight whose blur was measured, as arrays of shape (n,)."""

    numbers: tuple[int, ...]
    split: Split
    splits: tuple[BlurSplit, ...]
    sd: Reals
    away_mm: Reals
    plane: Plane

    @property
    def first(self) -> Split:
        """The split of the first frames."""
        return Split(*(of[:N_FIRST] for of in (self.split.motion, self.split.defocus, self.split.rest)))

    @property
    def usual_sd(self) -> Reals:
        return np.array(np.median(self.sd))

    @classmethod
    def of(cls, told: BurstFlight, flight: Track, plane: Plane) -> "_Frames | None":
        rows = [(at, BlurSplit.of(seen, plane.floor_variance)) for at, seen in enumerate(told.seen)]
        known = [(at, split) for at, split in rows if split is not None and split.is_known]
        if not known:
            return None
        at = [row for row, _ in known]
        splits = tuple(split for _, split in known)
        return cls(
            tuple(told.numbers[row] for row in at),
            Split.of(splits),
            splits,
            log_errors(splits),
            np.asarray(flight.away_mm.likely[at], np.float64),
            plane,
        )


def _flown(told: BurstFlight, flight: Track, kit: FlightKit, frames: _Frames) -> Flown | None:
    """Return the flight as one way; ``None`` where its angle is open, or where there is no one way."""
    off, away = flight.absolute.off_plane_deg, flight.away_mm.likely
    if off.high - off.low > OPEN_DEG or told.keeps_place:
        return None
    across = math.hypot(*(float(band.likely[-1] - band.likely[0]) for band in (flight.x_mm, flight.y_mm)))
    if flight.side is Side.TOLD:
        along = float(flight.offset_mm.likely[-1] - flight.offset_mm.likely[0])
    else:
        along = float(away[-1] + away[0] if flight.crossing.chance >= LIKELIER else away[-1] - away[0])
    speed_mm_s = 1000 * flight.relative.mean_speed_m_s.likely
    if math.hypot(across, along) < STRAIGHT * speed_mm_s * float(flight.times_s[-1] - flight.times_s[0]):
        return None
    moved_px = speed_mm_s * kit.exposure_s / frames.plane.mm_per_px
    return Flown(frames.away_mm, flight.half_depth_mm, off.likely, moved_px)


def _made_whole(
    trace: BurstTrace, told: BurstFlight, kit: FlightKit, frames: _Frames, judge: _Judge, factor: float
) -> float:
    """Return sharp frames to be expected of those that the frame's edge cuts and from further off would not."""
    pairs = [
        (frame, animal) for frame in trace.frames if (animal := followed_animal(frame, told.animal_track)) is not None
    ]
    free = [animal.box for _, animal in pairs if not animal.edge_clipped]
    if not free:
        return 0.0
    size_px = statistics.median(box.width_px for box in free), statistics.median(box.height_px for box in free)
    cut = [
        BlurSplit.of(seen_animal(0.0, animal.box, animal.blur), frames.plane.floor_variance)
        for frame, animal in pairs
        if animal.edge_clipped
        and not frame.from_preview
        and _fits(animal.box, size_px, (kit.width_px, kit.height_px), factor)
    ]
    known = [split for split in cut if split is not None and split.is_known]
    if not known:
        return 0.0
    sd = log_errors(known)
    return float(judge.chances(further_by(Split.of(known), kit, frames.plane, factor), sd).sum())


def _fits(box: Box, size_px: tuple[float, float], frame_px: tuple[int, int], factor: float) -> bool:
    """Return whether the animal, as large as it usually is, would lie within the frame from so many times as far."""
    ends = ((box.x_px, box.width_px), (box.y_px, box.height_px))
    for (low, cut), usual, edge in zip(ends, size_px, frame_px, strict=True):
        whole = max(usual, cut)
        # The end that lies nearer to the frame's edge is the one that is cut.
        middle = low + cut - whole / 2 if low < edge - low - cut else low + whole / 2
        if (abs(middle - edge / 2) + whole / 2) / factor > edge / 2:
            return False
    return True
