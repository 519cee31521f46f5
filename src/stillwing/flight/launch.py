"""Launches, landings, passes and hovers by chance: how many frames of an attempt hold the animal, and hold it sharp."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.flight.attempt import Attempt
from stillwing.flight.flown import Flown, fly
from stillwing.optics.lookback import reaction_at
from stillwing.optics.prediction import camera_variance, diffraction_variance, motion_variance, sharpest_distance
from stillwing.optics.spread import disc_variance
from stillwing.optics.subject import Behaviour

__all__ = ["Count", "Held", "Outcome", "attempted", "attempts_for", "held", "sharpest_blur", "time_to_react"]

Reals = NDArray[np.float64]
Claims = NDArray[np.bool_]

N_EVENTS = 4000
SEED = 43
"""The same chance for every question, so that two of them can be compared."""


@dataclass(frozen=True, slots=True)
class Count:
    """Frames of one attempt: the mean over attempts, their middle, and the 90 % interval."""

    mean: float
    low: float
    """5th percentile."""
    median: float
    high: float
    """95th percentile."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an attempt gives."""

    frames_in_frame: Count
    """With the animal's middle in the frame, while it does what it does."""
    frames_in_focus: Count
    """Of these, near enough to the focal plane for the output asked for, motion left out."""
    frames_sharp: Count
    """Of these, sharp on the animal's sharpest part with its motion too, and with the whole animal in the frame."""
    keeper_chance: float
    """That an attempt gives at least one sharp frame."""
    keeper_error: float
    """Standard error of that chance, from the number of attempts drawn."""
    from_buffer: float
    """Mean number of sharp frames from before the button was down."""


@dataclass(frozen=True, slots=True)
class Held:
    """Which frames of drawn attempts hold the animal, each claim within the one before; shape (n_events, n_frames)."""

    in_frame: Claims
    in_focus: Claims
    sharp: Claims


def attempted(attempt: Attempt) -> Outcome:
    """Return what comes of an attempt, from `N_EVENTS` drawn ones (`stillwing.flight.flown`)."""
    flown = fly(attempt, N_EVENTS, np.random.default_rng(SEED))
    found = held(attempt, flown)
    chance = float(found.sharp.any(1).mean())
    return Outcome(
        _counted(found.in_frame),
        _counted(found.in_focus),
        _counted(found.sharp),
        chance,
        math.sqrt(chance * (1 - chance) / N_EVENTS),
        float((found.sharp & (flown.since_press_s < 0)).sum(1).mean()),
    )


def held(attempt: Attempt, flown: Flown) -> Held:
    """Return which frames of drawn attempts hold the animal, in focus, and sharp and whole.

    Notes
    -----
    A frame is sharp where the blur of the animal's sharpest part, as `stillwing.optics.prediction` has it, stays within
    the limit of the output, and in focus where it would with the animal at rest. It is whole where half of its
    longest side fits between its middle and the frame's edge.
    """
    limit_px, half_mm = float(attempt.question.blur_limit_px[0]), _half_field_mm(attempt)
    in_frame = flown.is_taken & flown.is_flying & (flown.across_mm <= half_mm)
    in_focus = in_frame & (sharpest_blur(attempt, flown, np.zeros(1)) <= limit_px)
    whole = flown.across_mm + attempt.subject.extent_mm / 2 <= half_mm
    return Held(in_frame, in_focus, in_focus & whole & (sharpest_blur(attempt, flown, flown.speed_mm_s) <= limit_px))


def sharpest_blur(attempt: Attempt, flown: Flown, speed_mm_s: Reals) -> Reals:
    """Return the blur of the animal's sharpest part in each frame of drawn attempts, shape (n_events, n_frames). [px]

    Parameters
    ----------
    attempt, flown : Attempt, Flown
        The attempt, and what was drawn of it.
    speed_mm_s : ndarray
        Of the animal across the line of sight, as far as the camera does not follow; 0 leaves its motion out. [mm/s]
    """
    q = attempt.question
    f_number = np.array([[attempt.f_number]])
    own = float(camera_variance(q)[0] + diffraction_variance(q, f_number)[0, 0])
    on_sensor = np.hypot(speed_mm_s * q.magnification[0], q.shake_mm_s[0])
    moved = motion_variance(on_sensor, q.pitch_mm[0], np.asarray(attempt.exposure_s))
    away = sharpest_distance(_half_depth_mm(attempt, flown), flown.offset_mm)
    disc = disc_variance(q.disc_px_per_mm[0] * away / attempt.f_number)
    return np.asarray(np.sqrt(own + moved + disc), np.float64)


def attempts_for(wanted: float, keeper_chance: float) -> int | None:
    """Return how many attempts give at least one keeper with the wanted chance; ``None`` where none ever does.

    Parameters
    ----------
    wanted : float
        Chance of at least one keeper over all attempts, above 0 and below 1.
    keeper_chance : float
        Of one attempt, 0 to 1; each attempt is taken to be independent of the others.

    Examples
    --------
    >>> attempts_for(0.5, 0.1), attempts_for(0.9, 0.1), attempts_for(0.9, 1.0), attempts_for(0.5, 0.0)
    (7, 22, 1, None)
    """
    if keeper_chance <= 0:
        return None
    if keeper_chance >= wanted:
        return 1
    return math.ceil(math.log1p(-wanted) / math.log1p(-keeper_chance))


def time_to_react(attempt: Attempt) -> float:
    """Return how long after the event begins the button is down, on average. [s]"""
    return (attempt.reaction or reaction_at()).mean_s + attempt.release_lag_s


def _half_field_mm(attempt: Attempt) -> float:
    q = attempt.question
    return float((q.frame_width_px * q.pitch_mm / q.magnification)[0]) / 2


def _half_depth_mm(attempt: Attempt, flown: Flown) -> Reals:
    """Return half of what each body takes up along the line of sight; one that flies lies along its way. [mm]"""
    subject = attempt.subject
    if subject.behaviour is Behaviour.HOVER:
        return np.asarray(subject.half_depth_mm, np.float64)
    turned = flown.turned_rad
    return np.asarray((subject.length_mm * np.sin(turned) + subject.thickness_mm * np.cos(turned)) / 2, np.float64)


def _counted(frames: Claims) -> Count:
    counts = frames.sum(1)
    low, median, high = np.percentile(counts, [5, 50, 95], method="inverted_cdf")
    return Count(float(counts.mean()), float(low), float(median), float(high))
