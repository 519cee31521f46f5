"""What is thought of the flight along the line of sight before blur and size are looked at: several ways to fly."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.defocus import Evidence
from stillwing.flight.panning import Sideways

__all__ = ["Across", "Beforehand", "across_of", "beforehand"]

Reals = NDArray[np.float64]

FIRST_SHARE = 0.2
"""Spread of the first offset, as a share of the focus distance."""
LIKE_ACROSS, COMES_STRAIGHT = 0.4, 0.1
"""Chances that the first speed along the line of sight is of the order of that across it, and that it may be anything
up to `ANY_SPEED_MM_S`, as of an animal that comes straight at the lens (choices, no source)."""
ANY_SPEED_MM_S, SLOW_MM_S = 5e3, 100.0
STRAIGHT = 0.5
"""Chance that it flies nearly straight: what it goes along the line of sight then is a share of what it goes across
(a choice, no source)."""
SLOPE = 0.7
"""That share, one standard deviation: the tangent of 35 degrees to the focal plane (a choice, no source)."""
BENT_SHARE, BENT_MM_S = 0.06, 50.0
"""What a nearly straight flight has beside: typical acceleration as a share of that across, and first speed (choices,
no source)."""
RESTS_MM_S, RESTS_SHARE, RESTS_FRAMES = 100.0, 0.2, 3
"""It sits where so many frames on end are slower than this and than this share of its fastest (choices, no source)."""
IN_FOCUS = 0.5
"""Chance that one that sits, and flies nearly straight, was focused on as it sat (a choice, no source)."""
FOCUS_ERROR_PX = 0.25
"""Disc that a person who focuses leaves on it, one standard deviation (a choice, no source)."""


@dataclass(frozen=True, eq=False, slots=True)
class Across:
    """How the animal flies across the line of sight."""

    typical_mm_s2: float
    first_mm_s: float
    """In the first frame."""
    way: Reals
    """(3n,): places, speeds and accelerations along its main direction, places from the first frame on."""
    bent: Reals
    """(3n,): the same of half the square of its place, about the middle frame's line of sight. [mm2]"""
    strayed: Reals
    """(n_draws, 3n): how the draws of that way stray from it."""
    rest: int | None = None
    """Frame in which it sits the stillest; ``None`` where it does not sit."""


@dataclass(frozen=True, eq=False, slots=True)
class Beforehand:
    """One way to fly along the line of sight, as a Gaussian but for its typical acceleration."""

    log_chance: float
    first_mm: float
    """Spread of the first offset."""
    first_mm_s: float
    """Spread of the first speed."""
    slope: float
    """Share of the way across that it goes along the line of sight too, one standard deviation."""
    shared: Reals
    """(3n,): places, speeds and accelerations of the way that it shares."""
    typical_mm_s2: float
    """What the typical acceleration is likely to be about."""
    middle: Reals
    """(3n,): places, speeds and accelerations about which all this is."""


def across_of(flown: Sideways) -> Across:
    """Return how an animal flies across the line of sight, from draws of it."""
    axes = (flown.x, flown.y)
    drawn = np.stack([np.hstack([axis.place, axis.speed, axis.acceleration]) for axis in axes])
    states = drawn.mean(1)
    n = states.shape[1] // 3
    place, speed, pull = (states[:, at : at + n] for at in (0, n, 2 * n))
    bent = np.concatenate([(place**2).sum(0) / 2, (place * speed).sum(0), (speed**2 + place * pull).sum(0)])
    about = place - place.mean(1, keepdims=True)
    main = np.linalg.eigh(about @ about.T)[1][:, -1]
    way, strayed = main @ states, np.tensordot(main, drawn - states[:, None], 1)
    way[:n] -= way[0]
    fast = np.median(np.hypot(flown.x.speed, flown.y.speed), axis=0)
    typical = np.exp(np.log(np.concatenate([axis.typical_mm_s2 for axis in axes])).mean())
    return Across(float(typical), float(fast[0]), way, bent, np.asarray(strayed, np.float64), _rest(fast))


def _rest(speed_mm_s: Reals) -> int | None:
    """Return the stillest frame of one that sits for some frames on end, by its median speeds, shape (n,)."""
    slow = (speed_mm_s < RESTS_MM_S) & (speed_mm_s < RESTS_SHARE * speed_mm_s.max())
    sits = np.convolve(slow, np.ones(RESTS_FRAMES), mode="valid") == RESTS_FRAMES
    return int(np.argmin(speed_mm_s)) if np.any(sits) else None


def beforehand(across: Across, evidence: Evidence) -> tuple[Beforehand, ...]:
    """Return the ways to fly that are thought of.

    Anyhow, as fast along the line of sight as across it or straight at the lens; nearly straight through space, so that
    the way across tells when it sat, set off and sped up; and this from a place on which the lens was focused. Seen
    from the lens a straight way is bent: its ends are further off than its middle.
    """
    distance_mm = evidence.plane.distance_mm
    anywhere, along = FIRST_SHARE * distance_mm, across.typical_mm_s2
    nothing, bent, curve = np.zeros_like(across.way), BENT_SHARE * along, across.bent / distance_mm
    focused = 0.0 if across.rest is None else IN_FOCUS
    straight = np.log(STRAIGHT * (1 - focused))
    ways = [
        Beforehand(np.log(LIKE_ACROSS), anywhere, across.first_mm_s + SLOW_MM_S, 0.0, nothing, along, nothing),
        Beforehand(np.log(COMES_STRAIGHT), anywhere, ANY_SPEED_MM_S, 0.0, nothing, along, nothing),
        Beforehand(straight, anywhere, BENT_MM_S, SLOPE, across.way, bent, curve),
    ]
    if across.rest is not None:
        n = len(across.way) // 3
        from_rest, curve_from_rest = across.way.copy(), curve.copy()
        from_rest[:n] -= across.way[across.rest]
        curve_from_rest[:n] -= curve[across.rest]
        error_mm = FOCUS_ERROR_PX / evidence.plane.disc_px * distance_mm
        there = float(np.hypot(evidence.half_depth_mm, error_mm))
        chance = np.log(STRAIGHT * focused)
        ways.append(Beforehand(chance, there, BENT_MM_S, SLOPE, from_rest, bent, curve_from_rest))
    return tuple(ways)
