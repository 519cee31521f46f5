"""What is told of a look-back buffer: its chance, the length it would need, and how far the animal is gone."""

from dataclasses import dataclass

from stillwing.errors import OutsideModel
from stillwing.optics.lookback import buffer_for, chance_of_lead, frames_before, reaction_at

__all__ = ["LookBack", "Needed", "look_back_sentences", "look_back_told"]

CHANCES = (0.5, 0.9, 0.99)


@dataclass(frozen=True, slots=True)
class Needed:
    """What one chance takes."""

    chance: float
    buffer_s: float
    frames_before: int
    """Frames from before the take-off that the buffer holds with this chance."""
    gone_m: float
    """How far the animal is gone at most when the finger is down."""


@dataclass(frozen=True, slots=True)
class LookBack:
    """What is told of a buffer."""

    look_back_s: float
    frames_per_s: float
    lead_s: float
    reaction_mean_s: float
    release_lag_s: float
    speed_m_s: float
    chance_inside: float
    gone_m: float
    """How far the animal is gone when the finger is down, on average."""
    needed: tuple[Needed, ...]


def look_back_told(
    look_back_s: float, frames_per_s: float, lead_s: float, age: float | None, lag_s: float, speed_m_s: float
) -> LookBack:
    """Return what is told; raises `OutsideModel` where a figure cannot be."""
    known = (("buffer", look_back_s, 60.0, "s"), ("lead", lead_s, 60.0, "s"), ("lag", lag_s, 10.0, "s"))
    for name, value, high, unit in (*known, ("speed", speed_m_s, 100.0, "m/s")):
        if not 0.0 <= value <= high:  # NaN too
            raise OutsideModel(name, value, 0.0, high, unit)
    reaction = reaction_at(age)
    chance = float(chance_of_lead(look_back_s, lead_s, reaction, lag_s))
    needed = tuple(
        Needed(
            each,
            buffer_for(each, reaction, lag_s, lead_s),
            frames_before(look_back_s, frames_per_s, each, reaction, lag_s),
            speed_m_s * buffer_for(each, reaction, lag_s),
        )
        for each in CHANCES
    )
    gone_m = speed_m_s * (reaction.mean_s + lag_s)
    return LookBack(look_back_s, frames_per_s, lead_s, reaction.mean_s, lag_s, speed_m_s, chance, gone_m, needed)


def look_back_sentences(told: LookBack) -> tuple[str, ...]:
    """Return what is told in two sentences: of the buffer, and of how late the finger is."""
    wanted = "the take-off" if told.lead_s == 0 else f"the take-off and {told.lead_s:g} s before it"
    late = (
        f"When the finger is down, {told.reaction_mean_s + told.release_lag_s:.2f} s have passed on average, and at "
        f"{told.speed_m_s:g} m/s the animal is {told.gone_m:.2f} m gone."
    )
    if told.look_back_s == 0.0:
        return f"This camera looks back at nothing; {wanted} can only be had by pressing before it.", late
    most = told.needed[-1]
    needs = "" if told.chance_inside >= most.chance else f" For {most.chance * 100:g} it takes {most.buffer_s:.2f} s."
    return f"A buffer of {told.look_back_s:g} s holds {wanted} in {_of_100(told.chance_inside)} of 100.{needs}", late


def _of_100(chance: float) -> str:
    whole = round(chance * 100)
    return "more than 99" if whole >= 100 else "fewer than 1" if whole < 1 else str(whole)
