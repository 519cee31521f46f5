"""One attempt at a flying animal: the setting, how the camera runs, how well it is anticipated."""

from dataclasses import dataclass

from stillwing.errors import InputError, OutsideModel
from stillwing.optics.lookback import RELEASE_LAG_S, Reaction
from stillwing.optics.question import Question
from stillwing.optics.subject import Behaviour, Subject

__all__ = ["FLOWN", "SEEN_COMING", "Attempt"]

MOST_FRAMES = 600
FLOWN = (Behaviour.TAKE_OFF, Behaviour.LANDING, Behaviour.PASS, Behaviour.HOVER)
SEEN_COMING = (Behaviour.PASS, Behaviour.LANDING)
"""What is pressed for before it happens; the others are reacted to."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """One attempt at one animal: the setting, how the camera runs, and how well it is anticipated."""

    question: Question
    """One question, (1,): kit, distance, output."""
    subject: Subject
    """What takes off, lands, passes or hovers; its ranges are what varies."""
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
    """Of a pass or a landing: how long before it goes through the focal plane, or comes down, the button is meant to be
    down. Who sees it coming times the press: no reaction counts, only its spread."""

    def __post_init__(self) -> None:
        """Refuse what no attempt is.

        Raises
        ------
        InputError
            If the animal does none of the four, more than one question is asked, or a burst holds too many frames.
        OutsideModel
            If a number is out of its range.
        """
        if self.subject.behaviour not in FLOWN:
            raise InputError(f"a {self.subject.behaviour} cannot be tried out; try {', '.join(FLOWN)}")
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
