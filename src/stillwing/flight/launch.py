"""Launches, passes and hovers by chance: how many frames of one attempt hold the animal, and hold it sharp."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError, OutsideModel
from stillwing.optics.expected import ALIKE_S, quantiles
from stillwing.optics.lookback import RELEASE_LAG_S, Reaction, reaction_at
from stillwing.optics.prediction import camera_variance, diffraction_variance, motion_variance, sharpest_distance
from stillwing.optics.question import Question
from stillwing.optics.spread import disc_variance
from stillwing.optics.subject import Behaviour, Range, Subject

__all__ = ["Attempt", "Outcome", "attempted", "time_to_react"]

Reals = NDArray[np.float64]

N_EVENTS = 4000
SEED = 43
"""The same chance for every question, so that two of them can be compared."""
PULL_FACTOR = 1.6
"""By which the acceleration of one launch may differ from the likely one, to either side, nine times in ten (a choice,
no source)."""
MOST_FRAMES = 600
FLOWN = (Behaviour.TAKE_OFF, Behaviour.PASS, Behaviour.HOVER)


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt at one animal: the setting, how the camera runs, and how well it is anticipated."""

    question: Question
    """One question, (1,): kit, distance, output."""
    subject: Subject
    """What takes off, passes or hovers; its ranges are what varies."""
    frames_per_s: float
    f_number: float
    exposure_s: float
    burst_s: float = 1.0
    """How long the button is held."""
    look_back_s: float = 0.0
    reaction: Reaction | None = None
    """Of the photographer; that of a rested person where it is not given."""
    release_lag_s: float = RELEASE_LAG_S
    pre_focus_mm: float = 0.0
    """How far in front of the perch, or of where it is expected, the focal plane is set; below 0 behind it."""
    towards_chance: float = 0.5
    """Chance that it comes nearer rather than goes away."""
    lead_s: float = 0.0
    """Of a pass: how long before it goes through the focal plane the button is meant to be down; no reaction counts."""

    def __post_init__(self) -> None:
        """Refuse what no attempt is.

        Raises
        ------
        InputError
            If the animal does none of the three, more than one question is asked, or a burst holds too many frames.
        OutsideModel
            If a number is out of its range.
        """
        if self.subject.behaviour not in FLOWN:
            raise InputError(f"{self.subject.behaviour} cannot be tried out; there are {', '.join(FLOWN)}")
        if len(self.question) != 1:
            raise InputError(f"{len(self.question)} questions were asked; an attempt is one")
        known = (
            ("frames_per_s", 0.1, 1000.0, "1/s"),
            ("f_number", 0.5, 128.0, "(f/N)"),
            ("exposure_s", 1e-6, 60.0, "s"),
            ("burst_s", 0.0, 60.0, "s"),
            ("look_back_s", 0.0, 60.0, "s"),
            ("release_lag_s", 0.0, 10.0, "s"),
            ("pre_focus_mm", -1e5, 1e5, "mm"),
            ("towards_chance", 0.0, 1.0, ""),
            ("lead_s", -60.0, 60.0, "s"),
        )
        for name, low, high, unit in known:
            if not low <= getattr(self, name) <= high:  # NaN too
                raise OutsideModel(name, getattr(self, name), low, high, unit)
        if (self.burst_s + self.look_back_s) * self.frames_per_s > MOST_FRAMES:
            raise InputError(f"burst and buffer hold more than {MOST_FRAMES} frames; shorten one of them")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an attempt gives: means, with the 10th and 90th percentile over attempts where it is a range."""

    frames_in_frame: Range
    """With the animal's middle in the frame, while it does what it does."""
    frames_in_focus: Range
    """Of these, near enough to the focal plane for the output asked for, motion left out."""
    frames_sharp: Range
    """Of these, sharp on the animal's sharpest part with its motion too."""
    keeper_chance: float
    """That an attempt gives at least one sharp frame."""
    keeper_error: float
    """Standard error of that chance, from the number of attempts drawn."""
    from_buffer: float
    """Mean number of sharp frames from before the button was down."""


def attempted(attempt: Attempt) -> Outcome:
    r"""Return what comes of an attempt, from `N_EVENTS` drawn ones.

    Notes
    -----
    A launch gathers speed evenly up to its top speed, along a direction at an angle to the focal plane, from the middle
    of the frame, the camera at rest. A pass flies evenly and is followed. A hover keeps its place, as well as the focus
    does. The frames run from the look-back buffer before the press to the end of the burst, at any phase. A frame is
    sharp where the blur of the animal's sharpest part, as `stillwing.optics.prediction` has it, stays within the limit
    of the output, and in focus where it would with the animal at rest.
    """
    rng = np.random.default_rng(SEED)
    a = attempt
    pressed = _pressed(a, rng)
    n_frames = max(math.ceil((a.burst_s + a.look_back_s) * a.frames_per_s), 1)
    phase = rng.uniform(0, 1 / a.frames_per_s, (N_EVENTS, 1))
    since_press = phase - a.look_back_s + np.arange(n_frames) / a.frames_per_s
    taken = since_press < a.burst_s
    flown = {Behaviour.TAKE_OFF: _launches, Behaviour.PASS: _passes, Behaviour.HOVER: _hovers}
    seen, across_mm_s, offset_mm = flown[a.subject.behaviour](a, since_press + pressed[:, None], rng)
    seen &= taken
    limit_px = float(a.question.blur_limit_px[0])
    focused = seen & (_blur_px(a, np.zeros(1), offset_mm) <= limit_px)
    sharp = focused & (_blur_px(a, across_mm_s, offset_mm) <= limit_px)
    chance = float(sharp.any(1).mean())
    return Outcome(
        _counted(seen),
        _counted(focused),
        _counted(sharp),
        chance,
        math.sqrt(chance * (1 - chance) / N_EVENTS),
        float((sharp & (since_press < 0)).sum(1).mean()),
    )


def time_to_react(attempt: Attempt) -> float:
    """Return how long after the event begins the button is down, on average. [s]"""
    return (attempt.reaction or reaction_at()).mean_s + attempt.release_lag_s


def _pressed(attempt: Attempt, rng: np.random.Generator) -> Reals:
    """Return when the button is down in each event: after it began, or about its passage through the plane. [s]"""
    reaction = attempt.reaction or reaction_at()
    late = rng.normal(reaction.mu_s, reaction.sigma_s, N_EVENTS) + rng.exponential(reaction.tau_s, N_EVENTS)
    if attempt.subject.behaviour is Behaviour.PASS:
        # Who sees it coming times the press, and errs by the spread of reactions alone.
        return np.asarray(late - reaction.mean_s - attempt.lead_s, np.float64)
    return np.asarray(np.maximum(late, 0.0) + attempt.release_lag_s, np.float64)


def _drawn(of: Range, rng: np.random.Generator, shape: tuple[int, ...]) -> Reals:
    return quantiles(of, tuple(rng.uniform(size=math.prod(shape)))).reshape(shape)


def _direction(attempt: Attempt, rng: np.random.Generator) -> tuple[Reals, Reals]:
    """Return angle to the focal plane, and 1 away or -1 towards, (N_EVENTS, 1). [rad]"""
    likely = attempt.subject.angle_deg
    # Nobody knows which way it will leave: half to twice the likely angle, as for the frames to expect.
    turned = np.radians(np.minimum(_drawn(Range(likely / 2, likely, 2 * likely), rng, (N_EVENTS, 1)), 90.0))
    side = np.where(rng.uniform(size=(N_EVENTS, 1)) < attempt.towards_chance, -1.0, 1.0)
    return turned, np.asarray(side, np.float64)


def _missed(attempt: Attempt, rng: np.random.Generator, shape: tuple[int, ...]) -> Reals:
    """Return by how much focus misses, a normal error of a spread that differs between events. [mm]"""
    spread = _drawn(attempt.subject.focus_error_mm, rng, (N_EVENTS, 1))
    return np.asarray(spread * rng.standard_normal(shape), np.float64)


def _launches(attempt: Attempt, at_s: Reals, rng: np.random.Generator) -> tuple[NDArray[np.bool_], Reals, Reals]:
    """Return of each frame whether the animal is off and still inside, its speed across and its offset."""
    subject = attempt.subject
    turned, side = _direction(attempt, rng)
    top = 1000 * _drawn(subject.speed_m_s, rng, (N_EVENTS, 1))
    likely = 1000 * subject.acceleration_m_s2
    pull = _drawn(Range(likely / PULL_FACTOR, likely, likely * PULL_FACTOR), rng, (N_EVENTS, 1))
    flying = np.maximum(at_s, 0.0)
    gathering = np.minimum(flying, top / pull)
    way = pull * gathering**2 / 2 + top * (flying - gathering)
    lasts = _drawn(subject.event_s, rng, (N_EVENTS, 1))
    inside = (at_s >= 0) & (at_s < lasts) & (way * np.cos(turned) <= _half_field_mm(attempt))
    # The plane was set once, for the perch: one error for the whole event.
    offset = side * way * np.sin(turned) + attempt.pre_focus_mm + _missed(attempt, rng, (N_EVENTS, 1))
    return inside, pull * gathering * np.cos(turned), offset


def _passes(attempt: Attempt, at_s: Reals, rng: np.random.Generator) -> tuple[NDArray[np.bool_], Reals, Reals]:
    """Return the same of a pass that goes through the expected place at time 0."""
    subject = attempt.subject
    turned, side = _direction(attempt, rng)
    speed = 1000 * _drawn(subject.speed_m_s, rng, (N_EVENTS, 1))
    left = _drawn(subject.panning_left, rng, (N_EVENTS, 1))
    lasts = _drawn(subject.event_s, rng, (N_EVENTS, 1))
    across = speed * np.cos(turned)
    inside = (np.abs(at_s) < lasts / 2) & (np.abs(left * across * at_s) <= _half_field_mm(attempt))
    offset = side * speed * np.sin(turned) * at_s + attempt.pre_focus_mm + _missed(attempt, rng, (N_EVENTS, 1))
    return inside, np.broadcast_to(left * across, at_s.shape), offset


def _hovers(attempt: Attempt, at_s: Reals, rng: np.random.Generator) -> tuple[NDArray[np.bool_], Reals, Reals]:
    """Return the same of a hover that begins at time 0, focus being corrected all the while."""
    subject = attempt.subject
    lasts = _drawn(subject.event_s, rng, (N_EVENTS, 1))
    speed = 1000 * _drawn(subject.speed_m_s, rng, at_s.shape) * _drawn(subject.panning_left, rng, at_s.shape)
    # Frames closer in time than focus is corrected in share its error.
    step = max(round(ALIKE_S * attempt.frames_per_s), 1)
    errors = _missed(attempt, rng, (N_EVENTS, -(-at_s.shape[1] // step)))
    offset = np.repeat(errors, step, axis=1)[:, : at_s.shape[1]] + attempt.pre_focus_mm
    return (at_s >= 0) & (at_s < lasts), speed, offset


def _half_field_mm(attempt: Attempt) -> float:
    q = attempt.question
    return float((q.frame_width_px * q.pitch_mm / q.magnification)[0]) / 2


def _blur_px(attempt: Attempt, across_mm_s: Reals, offset_mm: Reals) -> Reals:
    """Return the blur of the animal's sharpest part in each frame."""
    q = attempt.question
    f_number = np.array([[attempt.f_number]])
    own = float(camera_variance(q)[0] + diffraction_variance(q, f_number)[0, 0])
    on_sensor = np.hypot(across_mm_s * q.magnification[0], q.shake_mm_s[0])
    moved = motion_variance(on_sensor, q.pitch_mm[0], np.asarray(attempt.exposure_s))
    away = sharpest_distance(np.asarray(attempt.subject.half_depth_mm), offset_mm)
    disc = disc_variance(q.disc_px_per_mm[0] * away / attempt.f_number)
    return np.asarray(np.sqrt(own + moved + disc), np.float64)


def _counted(frames: NDArray[np.bool_]) -> Range:
    counts = frames.sum(1)
    low, high = np.percentile(counts, [10, 90])
    mean = float(counts.mean())
    return Range(float(min(low, mean)), mean, float(max(high, mean)))
