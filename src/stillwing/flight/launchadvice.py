"""What an attempt can be made better by: the angle it bears, the buffer, where to focus beforehand, when to press."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stillwing.errors import InputError
from stillwing.flight.attempt import SEEN_COMING, Attempt
from stillwing.flight.launch import attempted
from stillwing.optics.expected import LAUNCHES, quantiles
from stillwing.optics.subject import Behaviour

__all__ = ["Tried", "best_lead", "best_pre_focus", "needed_look_back", "tolerated_angle", "tried"]

LEVEL = 2.0
"""A gain below so many standard errors is luck of the draw."""
GAIN = 1.05
"""More sharp frames by less than this factor are not worth a change (a choice, no source)."""
NO_LOSS = 0.005
"""A chance of a keeper that is smaller by this is as good (a choice, no source)."""
ENOUGH = 0.95
"""A buffer is long enough when it gives this share of the chance that an endless one gives."""
ANGLES_DEG = (1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 45.0, 60.0, 75.0, 90.0)
"""First looked at; frames in focus go with 1 / angle, so that even steps would hide a small one."""
ANGLE_SHARE, SMALLEST_DEG = 0.01, 0.01
"""To which share of itself an angle is told, and the least that is."""
LONGEST_BUFFER_S = 2.0
FIRST_S = 0.1


@dataclass(frozen=True, slots=True)
class Tried:
    """A value that was tried, and what it gives: the chance of at least one sharp frame, and mean numbers of frames."""

    value: float
    keeper_chance: float
    frames_in_focus: float
    frames_sharp: float


def tried(attempts: Sequence[Attempt], values: Sequence[float]) -> tuple[Tried, ...]:
    """Return what comes of attempts that differ in one value each."""
    out = []
    for attempt, value in zip(attempts, values, strict=True):
        outcome = attempted(attempt)
        focused, sharp = outcome.frames_in_focus.mean, outcome.frames_sharp.mean
        out.append(Tried(value, outcome.keeper_chance, focused, sharp))
    return tuple(out)


def tolerated_angle(attempt: Attempt, share: float = 0.5) -> float:
    """Return the largest likely angle to the focal plane that leaves a share of the frames in focus. [deg]

    Parameters
    ----------
    attempt : Attempt
        Its own angle is not used.
    share : float, default 0.5
        Of the frames in focus that flight along the focal plane gives.

    Returns
    -------
    float
        To a hundredth of itself; 90 where every angle leaves as many, 0 where no frame is in focus even along the
        plane. [deg]

    Raises
    ------
    InputError
        If the share is not above 0 and below 1.
    """
    if not 0 < share < 1:
        raise InputError(f"a share of {share:g} was asked for; it lies between 0 and 1")

    def in_focus(angle_deg: float) -> float:
        turned = replace(attempt, subject=replace(attempt.subject, angle_deg=angle_deg))
        return attempted(turned).frames_in_focus.mean

    wanted = share * in_focus(0.0)
    if wanted == 0:
        return 0.0
    low, high = SMALLEST_DEG, next((angle for angle in ANGLES_DEG if in_focus(angle) < wanted), None)
    if high is None:
        return 90.0
    low = max((angle for angle in ANGLES_DEG if angle < high), default=low)
    while high > low * (1 + ANGLE_SHARE):
        middle = math.sqrt(low * high)
        low, high = (low, middle) if in_focus(middle) < wanted else (middle, high)
    return math.sqrt(low * high)


def needed_look_back(attempt: Attempt) -> Tried:
    """Return the shortest buffer, in steps of a frame, that gives nearly the chance that a long one gives.

    Raises
    ------
    InputError
        If the attempt is no take-off: what is seen coming needs no buffer.
    """
    if attempt.subject.behaviour is not Behaviour.TAKE_OFF:
        raise InputError(f"a look-back buffer is for take-offs; this is a {attempt.subject.behaviour}")
    n = int(LONGEST_BUFFER_S * attempt.frames_per_s)
    lengths = [k / attempt.frames_per_s for k in range(n + 1)]
    longest = attempted(replace(attempt, look_back_s=lengths[-1])).keeper_chance
    low, high = 0, n
    while low < high:
        middle = (low + high) // 2
        if attempted(replace(attempt, look_back_s=lengths[middle])).keeper_chance >= ENOUGH * longest:
            high = middle
        else:
            low = middle + 1
    return tried([replace(attempt, look_back_s=lengths[low])], [lengths[low]])[0]


def best_pre_focus(attempt: Attempt, most_mm: float | None = None) -> Tried:
    """Return how far before the perch to set the focal plane, where that gives more frames; 0 where it does not.

    Parameters
    ----------
    attempt : Attempt
        Its own offset is not used.
    most_mm : float, optional
        Largest offset that is tried to either side; what the animal flies along the line of sight in its first tenth of
        a second where it is not given. [mm]
    """
    turned = np.radians(attempt.subject.angle_deg)
    subject = attempt.subject
    way_mm = 1000 * subject.speed_m_s.likely * FIRST_S
    if subject.behaviour in LAUNCHES:
        way_mm = min(way_mm, 500 * subject.acceleration_m_s2 * FIRST_S**2)
    reach = most_mm if most_mm is not None else way_mm * float(np.sin(turned))
    offsets = [float(offset) for offset in np.linspace(-reach, reach, 21)] if reach > 0 else [0.0]
    found = tried([replace(attempt, pre_focus_mm=offset) for offset in offsets], offsets)
    return _worth(found, replace(attempt, pre_focus_mm=0.0))


def best_lead(attempt: Attempt) -> Tried:
    """Return how long before it goes through the focal plane, or comes down, to press; 0 where it is all one.

    Raises
    ------
    InputError
        If the attempt is no pass and no landing.
    """
    if attempt.subject.behaviour not in SEEN_COMING:
        raise InputError(f"the moment to press is for passes and landings; this is a {attempt.subject.behaviour}")
    longest = float(quantiles(attempt.subject.event_s, (0.95,))[0]) / 2 + attempt.burst_s
    leads = [float(lead) for lead in np.linspace(-0.25 * longest, longest, 26)]
    found = tried([replace(attempt, lead_s=lead) for lead in leads], leads)
    return _worth(found, replace(attempt, lead_s=0.0))


def _worth(found: Sequence[Tried], plain: Attempt) -> Tried:
    """Return the best of what was tried, or nothing at all where that is better by luck alone."""
    outcome = attempted(plain)
    best = max(found, key=lambda one: (one.keeper_chance, one.frames_sharp))
    if best.keeper_chance - outcome.keeper_chance > LEVEL * max(outcome.keeper_error, 1e-9):
        return best
    # Where nearly every attempt gives a keeper, the draw tells no error of that chance.
    lost = max(LEVEL * outcome.keeper_error, NO_LOSS)
    as_sure = [one for one in found if one.keeper_chance >= outcome.keeper_chance - lost]
    most = max(as_sure, key=lambda one: one.frames_sharp, default=None)
    if most is not None and most.frames_sharp > GAIN * outcome.frames_sharp.mean:
        return most
    return tried([plain], [0.0])[0]
