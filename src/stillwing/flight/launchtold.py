"""What is told of an attempt: what comes of it, how many it takes, and what would make it better; in sentences."""

from dataclasses import dataclass

from stillwing.flight.attempt import SEEN_COMING, Attempt
from stillwing.flight.launch import Count, Outcome, attempted, attempts_for, time_to_react
from stillwing.flight.launchadvice import Tried, best_lead, best_pre_focus, needed_look_back, tolerated_angle
from stillwing.optics.subject import Behaviour

__all__ = ["AttemptTold", "attempt_sentences", "attempt_told"]

EVEN, NINE_IN_TEN = 0.5, 0.9
FINE_DEG = 3.0
"""Smaller angles are told to a tenth."""
SMALLEST_SHIFT_MM = 1.0
"""A focal plane set so little off the perch is the perch (a choice, no source)."""


@dataclass(frozen=True, slots=True)
class AttemptTold:
    """What is told of one attempt; ``None`` where a figure has no meaning for what the animal does."""

    behaviour: Behaviour
    outcome: Outcome
    attempts_even: int | None
    """Attempts for an even chance of at least one keeper; ``None`` where none gives any."""
    attempts_nine_in_ten: int | None
    reacts_after_s: float | None
    """From the event to the button, on average; for what is seen coming there is no such time."""
    tolerated_angle_deg: float | None
    """Likely angle to the focal plane that leaves half of the frames in focus that flight along it gives."""
    look_back: Tried | None
    """Shortest buffer that does nearly what a long one does, of a take-off."""
    pre_focus: Tried | None
    """How far in front of the perch, or the expected place, the plane is best set. [mm]"""
    lead: Tried | None
    """How long before a passage or a touch-down to press. [s]"""


def attempt_told(attempt: Attempt) -> AttemptTold:
    """Return what comes of an attempt, and what would make it better."""
    outcome, behaviour = attempted(attempt), attempt.subject.behaviour
    moves = behaviour is not Behaviour.HOVER
    is_coming = behaviour in SEEN_COMING
    return AttemptTold(
        behaviour,
        outcome,
        attempts_for(EVEN, outcome.keeper_chance),
        attempts_for(NINE_IN_TEN, outcome.keeper_chance),
        None if is_coming else time_to_react(attempt),
        tolerated_angle(attempt) if moves else None,
        needed_look_back(attempt) if behaviour is Behaviour.TAKE_OFF else None,
        best_pre_focus(attempt) if moves else None,
        best_lead(attempt) if is_coming else None,
    )


def attempt_sentences(told: AttemptTold) -> tuple[str, ...]:
    """Return it in words, what matters most first."""
    found = told.outcome
    sentences = [_keepers(told), _frames(found)]
    if told.reacts_after_s is not None:
        sentences.append(_reacts(told.reacts_after_s, found))
    if told.look_back is not None:
        sentences.append(_buffer(told.look_back))
    if told.lead is not None:
        sentences.append(_lead(told.lead, told.behaviour))
    if told.pre_focus is not None:
        sentences.append(_pre_focus(told.pre_focus, told.behaviour))
    if told.tolerated_angle_deg is not None:
        sentences.append(_angle(told.tolerated_angle_deg))
    return tuple(sentences)


def _keepers(told: AttemptTold) -> str:
    chance = told.outcome.keeper_chance
    if told.attempts_even is None:
        return "No attempt of those drawn gave a sharp frame of the whole animal."
    return (
        f"One attempt gives at least one keeper in {100 * chance:.0f} % of cases; an even chance of one takes "
        f"{_attempts(told.attempts_even)}, nine in ten {_attempts(told.attempts_nine_in_ten or 0)}."
    )


def _frames(found: Outcome) -> str:
    names = ("in the frame", "in focus", "sharp")
    counts = (found.frames_in_frame, found.frames_in_focus, found.frames_sharp)
    told = "; ".join(f"{name} {_count(count)}" for name, count in zip(names, counts, strict=True))
    return f"Frames of one attempt, the middle and nine in ten attempts: {told}."


def _reacts(after_s: float, found: Outcome) -> str:
    told = f"The finger is down {after_s:.2f} s after it begins, on average"
    if found.from_buffer == 0:
        return f"{told}."
    return f"{told}; {found.from_buffer:.1f} of the {_mean(found.frames_sharp.mean)} come from the buffer."


def _buffer(needed: Tried) -> str:
    if needed.keeper_chance == 0:
        return "No look-back buffer, however long, makes a keeper of it."
    if needed.value == 0:
        return "No look-back buffer is needed: without one the chance is as good."
    return (
        f"A look-back buffer of {needed.value:.2f} s does as well as a longer one: {100 * needed.keeper_chance:.0f} %."
    )


def _lead(best: Tried, behaviour: Behaviour) -> str:
    what = "it comes down" if behaviour is Behaviour.LANDING else "it goes through the focal plane"
    if best.value == 0:
        return f"Press for the moment when {what}; another moment gives no more."
    when = f"{abs(best.value):.2f} s {'before' if best.value > 0 else 'after'} {what}"
    return f"Press {when}: {100 * best.keeper_chance:.0f} % of attempts give a keeper, {_mean(best.frames_sharp)} each."


def _pre_focus(best: Tried, behaviour: Behaviour) -> str:
    place = "the place where it is expected" if behaviour is Behaviour.PASS else "the perch"
    if abs(best.value) < SMALLEST_SHIFT_MM:
        return f"Focus on {place}; in front of it or behind, nothing is gained."
    side = "in front of" if best.value > 0 else "behind"
    return (
        f"Focus {abs(best.value):.0f} mm {side} {place}: {100 * best.keeper_chance:.0f} % of attempts give a keeper, "
        f"{_mean(best.frames_sharp)} each."
    )


def _angle(angle_deg: float) -> str:
    if angle_deg == 0:
        return "Not even flight along the focal plane gives a frame in focus."
    if angle_deg >= 90:
        return "At no angle to the focal plane are half of the frames in focus lost."
    return (
        f"At {angle_deg:.{1 if angle_deg < FINE_DEG else 0}f}° to the focal plane half of the frames in focus are lost."
    )


def _attempts(n: int) -> str:
    return "1 attempt" if n == 1 else f"{n:,} attempts"


def _count(count: Count) -> str:
    return f"{count.median:.0f} ({count.low:.0f} to {count.high:.0f})"


def _mean(frames: float) -> str:
    return f"{frames:.1f} sharp {'frame' if round(frames, 1) == 1 else 'frames'}"
