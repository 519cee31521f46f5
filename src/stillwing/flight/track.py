"""How an animal flew through a burst: its way in millimetres, speed, approach, and where it passed the focal plane."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.beforehand import Across, across_of, beforehand
from stillwing.flight.defocus import evidence_of, plane_at
from stillwing.flight.depth import Depth, depth_draws
from stillwing.flight.distances import Factors, factors_drawn, likely_distance
from stillwing.flight.figures import Band, band_of, range_of, unraised
from stillwing.flight.manoeuvre import manoeuvre_at
from stillwing.flight.panning import Panning, Sideways, sideways
from stillwing.flight.passing import angle_to_plane, crossing_frames, passages
from stillwing.flight.seen import FlightKit, SeenFrame, gathered
from stillwing.flight.wingbeat import Wingbeat, wingbeat
from stillwing.optics.subject import Range

__all__ = ["Crossing", "FlightFigures", "Side", "Track", "track"]

Reals = NDArray[np.float64]

N_DRAWS = 400
SEED = 41
"""The same burst always tells the same figures."""
SIDE_SURE = 0.99
"""Chance from which it is told on which side of the focal plane the animal was (a choice: hovers turn, and their sizes
with them, by more than is thought of)."""
CROSSING_SURE = 0.98
"""Chance from which a passage is placed (a choice: more patterns of sides fit than are tried, and one that only came
near the plane looks much like one that passed it)."""
OPEN_FRAMES = 0.75
"""A passage of which half the interval is more is told as lying between two frames, not at one: of those told at one,
nine in ten are then right to half a frame (benchmarks/flight.py)."""
CLEAR_HALF_DEPTHS = 1.0
"""The whole body has passed the focal plane when its middle is half its depth off."""
LONGEST_SHOWN = 75.0
"""Percentile of the apparent sizes that counts as the longest: single readings err."""


class Side(StrEnum):
    """Whether the burst tells on which side of the focal plane the animal was, and so whether it came or went."""

    TOLD = "told"
    UNTOLD = "the same path mirrored in the focal plane explains the burst as well"
    TO_AND_FRO = "it went through the focal plane several times, and which way each time cannot be told"


@dataclass(frozen=True, slots=True)
class Crossing:
    """The first passage through the focal plane."""

    chance: float
    """That the whole body passed it within the burst."""
    frame: Range | None
    """Number of the frame, counted from 0, in fractions; ``None`` where the chance is below `CROSSING_SURE`."""

    @property
    def is_told(self) -> bool:
        """Whether the interval is narrow enough to be told as one frame."""
        return self.frame is not None and (self.frame.high - self.frame.low) / 2 <= OPEN_FRAMES


@dataclass(frozen=True, slots=True)
class FlightFigures:
    """Figures of the whole burst, each with its 90 % interval."""

    mean_speed_m_s: Range
    """Way flown from frame to frame over the time."""
    top_speed_m_s: Range
    """In the fastest frame."""
    top_acceleration_m_s2: Range
    approach_m_s: Range
    """From first to last frame along the line of sight, positive towards the lens."""
    launch_angle_deg: Range
    """Of the way from first to last frame to the focal plane, positive towards the lens, -90 to 90."""
    off_plane_deg: Range
    """The same whichever way, 0 to 90: told where the side is not."""


@dataclass(frozen=True, slots=True)
class Track:
    """What one burst tells of one animal's flight.

    Bands per frame, and ``relative``, take the likely focus distance and focal length as exact; ``absolute`` holds what
    those leave open too, which stretches all lengths of the burst alike.
    """

    times_s: Reals
    x_mm: Band
    """To the right in the plane of the burst's middle frame; ``y_mm`` down."""
    y_mm: Band
    offset_mm: Band
    """Of the body's middle from the focal plane as it stood in that frame, positive behind it."""
    away_mm: Band
    """The same whichever side."""
    speed_m_s: Band
    acceleration_m_s2: Band
    approach_m_s: Band
    panning: Panning
    side: Side
    side_chance: float
    """Of the likelier of the two sides."""
    crossing: Crossing
    relative: FlightFigures
    absolute: FlightFigures
    wingbeat: Wingbeat
    half_depth_mm: float
    """Half of what the body takes up along the line of sight, by how large it shows."""
    doubted: tuple[int, ...]
    """Frames whose place or background shift was taken for a gross error."""


def track(
    frames: Sequence[SeenFrame],
    kit: FlightKit,
    focus_m: Range,
    body_mm: Range | None = None,
    clock_sd_s: float = 0.0,
) -> Track:
    """Return how an animal flew, from all that is seen of it in a burst.

    Parameters
    ----------
    frames : sequence of SeenFrame
        3 to 400 in order of time; one without the animal is left out.
    kit : FlightKit
        As set.
    focus_m : Range
        Focus distance from the sensor, the same for all frames. [m]
    body_mm : Range, optional
        Length of the body, where ``size_px`` is that of the body too. [mm]
    clock_sd_s : float, default 0
        Error of the moments, for the wingbeat alone. [s]

    Raises
    ------
    InputError
        If frames or distance cannot be used.

    Notes
    -----
    Each figure is a percentile of draws of the whole flight: `stillwing.flight.smooth` across the line of sight,
    `stillwing.flight.depth` along it, joined by the geometry of a thin lens. Where the side of the focal plane is not
    told, draws lie on both, and the intervals of what depends on it reach from one to the other.
    """
    seen = gathered(frames, kit)
    rng = np.random.default_rng(SEED)
    plane = plane_at(kit, *likely_distance(kit, focus_m))
    manoeuvre = manoeuvre_at(seen.time_s)
    across = sideways(seen, manoeuvre, plane.mm_per_px, plane.image_distance_px, N_DRAWS, rng)
    evidence = evidence_of(seen, kit, plane, np.median(across.picture_px_s, axis=0))
    straight = across_of(across)
    depth = _led(depth_draws(manoeuvre, evidence, beforehand(straight, evidence), N_DRAWS, rng), straight)
    body = None
    if body_mm is not None and np.any(np.isfinite(seen.size_px)):
        body = body_mm, float(np.nanpercentile(seen.size_px, LONGEST_SHOWN)) * plane.mm_per_px
    factors = factors_drawn(kit, focus_m, plane, body, N_DRAWS, rng)
    exact = Factors(np.ones(N_DRAWS), np.ones(N_DRAWS))
    flown = _flown(across, depth, plane.distance_mm, exact)
    side_chance = _side_chance(depth.place)
    doubted = across.x.doubted | across.y.doubted
    return Track(
        seen.time_s,
        band_of(flown.place[0]),
        band_of(flown.place[1]),
        band_of(depth.place),
        band_of(np.abs(depth.place)),
        unraised(flown.speed_mm_s / 1000, flown.middle.speed_mm_s[0] / 1000),
        unraised(flown.pull_mm_s2 / 1000, flown.middle.pull_mm_s2[0] / 1000),
        band_of(-flown.velocity[2] / 1000),
        across.panning,
        _side(side_chance, depth.place, CLEAR_HALF_DEPTHS * evidence.half_depth_mm),
        side_chance,
        _crossing(depth.place, CLEAR_HALF_DEPTHS * evidence.half_depth_mm),
        _figures(flown, seen.time_s),
        _figures(_flown(across, depth, plane.distance_mm, factors), seen.time_s),
        wingbeat(seen.time_s, np.log(np.where(seen.size_px > 0, seen.size_px, np.nan)), clock_sd_s),
        evidence.half_depth_mm,
        tuple(int(k) for k in np.flatnonzero(doubted)),
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Flown:
    """Draws of the flight in space, x, y and offset, (3, n_draws, n). [mm, mm/s, mm/s2]"""

    place: Reals
    velocity: Reals
    acceleration: Reals

    @property
    def speed_mm_s(self) -> Reals:
        return np.asarray(np.sqrt((self.velocity**2).sum(0)), np.float64)

    @property
    def pull_mm_s2(self) -> Reals:
        return np.asarray(np.sqrt((self.acceleration**2).sum(0)), np.float64)

    @property
    def length_mm(self) -> Reals:
        return np.asarray(np.sqrt((np.diff(self.place, axis=2) ** 2).sum(0)).sum(1), np.float64)

    @property
    def middle(self) -> "_Flown":
        """The mean flight, all draws laid on one side of the focal plane, as a single draw."""
        side = (
            np.array([[1.0], [1.0], [0.0]])[:, :, None]
            + np.array([0.0, 0.0, 1.0])[:, None, None] * (_sides(self.place[2])[:, None])
        )
        return _Flown(*((of * side).mean(1, keepdims=True) for of in (self.place, self.velocity, self.acceleration)))


def _led(depth: Depth, across: Across) -> Depth:
    """Return the draws along the line of sight, each led by its own draw of the way across where it shares that way."""
    place, speed, acceleration = np.split(depth.slope[:, None] * across.strayed, 3, axis=1)
    return Depth(depth.place + place, depth.speed + speed, depth.acceleration + acceleration, depth.slope)


def _flown(across: Sideways, depth: Depth, distance_mm: float, factors: Factors) -> _Flown:
    """Return the flight in space.

    A camera that follows turns its focal plane with it: what the picture tells are a direction and a distance. Places
    are laid out from the middle frame's line of sight; speeds are along and across the line of sight of each moment.
    """
    wide, deep = factors.across[:, None], factors.along[:, None]
    share = 1 + depth.place / distance_mm
    share_s = depth.speed / distance_mm
    far = distance_mm + depth.place
    angles = [axis.place / distance_mm for axis in (across.x, across.y)]
    places = [wide * far * np.sin(angle) for angle in angles]
    bent = wide * far * (1 - np.cos(np.hypot(*angles)))
    speeds = [wide * axis.speed * share for axis in (across.x, across.y)]
    pulls = [wide * (axis.acceleration * share + 2 * axis.speed * share_s) for axis in (across.x, across.y)]
    inward = wide * (across.x.speed**2 + across.y.speed**2) * share / distance_mm
    return _Flown(
        np.stack([*places, deep * depth.place - bent]),
        np.stack([*speeds, deep * depth.speed]),
        np.stack([*pulls, deep * depth.acceleration - inward]),
    )


def _figures(flown: _Flown, times_s: Reals) -> FlightFigures:
    lasted, middle = float(times_s[-1] - times_s[0]), flown.middle
    way = flown.place[:, :, -1] - flown.place[:, :, 0]
    angle = angle_to_plane(np.hypot(way[0], way[1]), way[2])
    tops = [
        np.column_stack([of.length_mm / lasted, of.speed_mm_s.max(1), of.pull_mm_s2.max(1)]) / 1000
        for of in (flown, middle)
    ]
    mean_speed, top_speed, top_pull = (unraised(tops[0], tops[1][0]).at(k) for k in range(3))
    approach = -way[2] / lasted / 1000
    return FlightFigures(mean_speed, top_speed, top_pull, range_of(approach), range_of(angle), range_of(np.abs(angle)))


def _sides(place: Reals) -> Reals:
    """Return 1 for each path that is like the most typical one, and -1 for one that is like its mirror image."""
    likeness = place @ place.T
    alike = np.where(likeness[int(np.argmax(np.abs(likeness).sum(1)))] >= 0, 1.0, -1.0)
    return np.asarray(alike if alike.mean() >= 0 else -alike, np.float64)


def _side(chance: float, place: Reals, clear_mm: float) -> Side:
    changes = np.median([passages(path, clear_mm) for path in place])
    if changes > 1:
        # Of such claims half were wrong (benchmarks/flight.py): more patterns of sides fit than are tried.
        return Side.TO_AND_FRO
    return Side.TOLD if chance >= SIDE_SURE else Side.UNTOLD


def _side_chance(place: Reals) -> float:
    """Return the share of draws that lie on the likelier side."""
    return float((_sides(place) > 0).mean())


def _crossing(place: Reals, clear_mm: float) -> Crossing:
    frames = crossing_frames(place, clear_mm)
    passed = np.isfinite(frames)
    chance = float(passed.mean())
    return Crossing(chance, range_of(frames[passed]) if chance >= CROSSING_SURE else None)
