"""Attempts drawn by chance: where the animal is in each frame of each of them."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.attempt import SEEN_COMING, Attempt
from stillwing.optics.expected import ALIKE_S, quantiles
from stillwing.optics.lookback import reaction_at
from stillwing.optics.subject import Behaviour, Range

__all__ = ["Flown", "fly"]

Reals = NDArray[np.float64]
Claims = NDArray[np.bool_]

PULL_FACTOR = 1.6
"""By which the acceleration of one launch or landing may differ from the likely one, to either side, nine times in ten
(a choice, no source)."""


@dataclass(frozen=True, slots=True)
class Flown:
    """Frames of many attempts, shape (n_events, n_frames) where nothing else is said."""

    is_taken: Claims
    """The camera is still running."""
    is_flying: Claims
    """It does what it does: after a take-off, before a touch-down, while a hover or a pass lasts."""
    across_mm: Reals
    """Of the animal's middle from the middle of the frame, in the focal plane; never below 0. [mm]"""
    offset_mm: Reals
    """Of the animal's middle from the focal plane, positive away from the lens. [mm]"""
    speed_mm_s: Reals
    """Across the line of sight, as far as the camera does not follow. [mm/s]"""
    turned_rad: Reals
    """Between body, or way, and focal plane, shape (n_events, 1). [rad]"""
    side: Reals
    """1 away from the lens, -1 towards it, shape (n_events, 1)."""
    since_press_s: Reals
    """Below 0 for frames out of the buffer. [s]"""


def fly(attempt: Attempt, n_events: int, rng: np.random.Generator) -> Flown:
    """Return what a camera would have taken of so many attempts, each drawn anew.

    Notes
    -----
    A launch gathers speed evenly up to its top speed, along a direction at an angle to the focal plane, from the middle
    of the frame, the camera at rest; a landing is the reverse. A pass flies evenly and is followed. A hover keeps its
    place, as well as the focus does. The frames run from the look-back buffer before the press to the end of the
    burst, at any phase.
    """
    a = attempt
    pressed = _pressed(a, n_events, rng)
    n_frames = max(math.ceil((a.burst_s + a.look_back_s) * a.frames_per_s), 1)
    phase = rng.uniform(0, 1 / a.frames_per_s, (n_events, 1))
    since_press = phase - a.look_back_s + np.arange(n_frames) / a.frames_per_s
    ways = {Behaviour.TAKE_OFF: _launches, Behaviour.LANDING: _landings, Behaviour.PASS: _passes}
    turned, side = _direction(a, n_events, rng)
    drawn = _Drawn(a, since_press + pressed[:, None], turned, side)
    is_flying, across, offset, speed = ways.get(a.subject.behaviour, _hovers)(drawn, rng)
    whole = np.broadcast_arrays(since_press, across, offset, speed)
    return Flown(since_press < a.burst_s, is_flying, whole[1], whole[2], whole[3], turned, side, since_press)


@dataclass(frozen=True, slots=True)
class _Drawn:
    attempt: Attempt
    at_s: Reals
    """Time of each frame since the event. [s]"""
    turned: Reals
    side: Reals

    @property
    def n_events(self) -> int:
        return len(self.at_s)


_Way = tuple[Claims, Reals, Reals, Reals]


def _pressed(attempt: Attempt, n_events: int, rng: np.random.Generator) -> Reals:
    """Return when the button is down in each event: after it began, or about the moment it was meant for. [s]"""
    reaction = attempt.reaction or reaction_at()
    late = rng.normal(reaction.mu_s, reaction.sigma_s, n_events) + rng.exponential(reaction.tau_s, n_events)
    if attempt.subject.behaviour in SEEN_COMING:
        # Who sees it coming times the press, and errs by the spread of reactions alone.
        return np.asarray(late - reaction.mean_s - attempt.lead_s, np.float64)
    return np.asarray(np.maximum(late, 0.0) + attempt.release_lag_s, np.float64)


def _direction(attempt: Attempt, n_events: int, rng: np.random.Generator) -> tuple[Reals, Reals]:
    likely = attempt.subject.angle_deg
    # Nobody knows which way it will fly: half to twice the likely angle, as for the frames to expect.
    turned = np.radians(np.minimum(_values(Range(likely / 2, likely, 2 * likely), rng, (n_events, 1)), 90.0))
    side = np.where(rng.uniform(size=(n_events, 1)) < attempt.towards_chance, -1.0, 1.0)
    return turned, np.asarray(side, np.float64)


def _launches(drawn: _Drawn, rng: np.random.Generator) -> _Way:
    lasts = _values(drawn.attempt.subject.event_s, rng, (drawn.n_events, 1))
    across, offset, speed = _from_rest(drawn, np.maximum(drawn.at_s, 0.0), rng)
    return (drawn.at_s >= 0) & (drawn.at_s < lasts), across, offset, speed


def _landings(drawn: _Drawn, rng: np.random.Generator) -> _Way:
    """Return the ways of animals that come down at time 0."""
    lasts = _values(drawn.attempt.subject.event_s, rng, (drawn.n_events, 1))
    across, offset, speed = _from_rest(drawn, np.maximum(-drawn.at_s, 0.0), rng)
    return (drawn.at_s < 0) & (drawn.at_s > -lasts), across, offset, speed


def _from_rest(drawn: _Drawn, flying_s: Reals, rng: np.random.Generator) -> tuple[Reals, Reals, Reals]:
    """Return place across, offset and speed across, so long away from the perch. [mm, mm/s]"""
    subject, one = drawn.attempt.subject, (drawn.n_events, 1)
    top = 1000 * _values(subject.speed_m_s, rng, one)
    likely = 1000 * subject.acceleration_m_s2
    pull = _values(Range(likely / PULL_FACTOR, likely, likely * PULL_FACTOR), rng, one)
    gathering = np.minimum(flying_s, top / pull)
    way = pull * gathering**2 / 2 + top * (flying_s - gathering)
    # The plane was set once, for the perch: one error for the whole event.
    offset = drawn.side * way * np.sin(drawn.turned) + drawn.attempt.pre_focus_mm + _missed(drawn, rng, one)
    return way * np.cos(drawn.turned), offset, pull * gathering * np.cos(drawn.turned)


def _passes(drawn: _Drawn, rng: np.random.Generator) -> _Way:
    """Return the ways of animals that go through the expected place at time 0."""
    subject, one = drawn.attempt.subject, (drawn.n_events, 1)
    speed = 1000 * _values(subject.speed_m_s, rng, one)
    left = _values(subject.panning_left, rng, one) * speed * np.cos(drawn.turned)
    lasts = _values(subject.event_s, rng, one)
    away = drawn.side * speed * np.sin(drawn.turned) * drawn.at_s
    offset = away + drawn.attempt.pre_focus_mm + _missed(drawn, rng, one)
    return np.abs(drawn.at_s) < lasts / 2, np.abs(left * drawn.at_s), offset, left


def _hovers(drawn: _Drawn, rng: np.random.Generator) -> _Way:
    """Return the places of hovers that begin at time 0, focus being corrected all the while."""
    subject, shape = drawn.attempt.subject, drawn.at_s.shape
    lasts = _values(subject.event_s, rng, (drawn.n_events, 1))
    speed = 1000 * _values(subject.speed_m_s, rng, shape) * _values(subject.panning_left, rng, shape)
    # Frames closer in time than focus is corrected in share its error.
    step = max(round(ALIKE_S * drawn.attempt.frames_per_s), 1)
    errors = _missed(drawn, rng, (drawn.n_events, -(-shape[1] // step)))
    offset = np.repeat(errors, step, axis=1)[:, : shape[1]] + drawn.attempt.pre_focus_mm
    return (drawn.at_s >= 0) & (drawn.at_s < lasts), np.zeros((1, 1)), offset, speed


def _values(of: Range, rng: np.random.Generator, shape: tuple[int, ...]) -> Reals:
    return quantiles(of, tuple(rng.uniform(size=math.prod(shape)))).reshape(shape)


def _missed(drawn: _Drawn, rng: np.random.Generator, shape: tuple[int, ...]) -> Reals:
    """Return by how much focus misses, a normal error of a spread that differs between events. [mm]"""
    spread = _values(drawn.attempt.subject.focus_error_mm, rng, (drawn.n_events, 1))
    return np.asarray(spread * rng.standard_normal(shape), np.float64)
