"""What is told of a look-back buffer: its chance, the length it would need, and how far the animal is gone."""

from dataclasses import dataclass

from stillwing.errors import OutsideModel
from stillwing.optics.lookback import buffer_for, chance_of_lead, frames_before, reaction_at

__all__ = ["LookBack", "Needed", "look_back_told"]

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
