"""What the optics need to know of an animal: its measures, how it moves while a frame is taken, and how surely."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from stillwing.errors import InputError

__all__ = ["STILL", "Behaviour", "Range", "Subject"]


class Behaviour(StrEnum):
    """What the animal does while it is photographed."""

    HOVER = "hover"
    PASS = "pass"
    PERCH = "perch"
    TAKE_OFF = "take-off"
    LANDING = "landing"


class Range(NamedTuple):
    """A figure that varies from animal to animal and from moment to moment: 5th, 50th and 95th percentile."""

    low: float
    likely: float
    high: float


STILL = Range(0.0, 0.0, 0.0)
"""The range of what does not move."""

LARGEST = 1e6
"""No figure of an animal comes near this in any of the house units."""


@dataclass(frozen=True, slots=True)
class Subject:
    """An animal that does one thing, as the lens sees it from the side."""

    words: str
    behaviour: Behaviour
    length_mm: float
    """Of the body."""
    span_mm: float
    """Of the wings."""
    thickness_mm: float
    """Of the body, along the line of sight when seen square on."""
    extent_mm: float
    """Longest side of what shall fit in the frame: the body of an insect, the wings of a bird in flight."""
    speed_m_s: Range
    """Across the line of sight, before panning."""
    panning_left: Range
    """Share of that speed that is left when the camera follows; 1 where it does not."""
    focus_error_mm: Range
    """How far the animal's middle lies from the focal plane, as a standard deviation over frames."""
    wingbeat_hz: Range
    stroke_deg: Range
    """From the upper to the lower turn of the wings."""
    event_s: Range
    """How long it lasts."""
    acceleration_m_s2: float = 0.0
    """Of a take-off or a landing, along its direction."""
    angle_deg: float = 15.0
    """Between the body's axis, or the direction of flight, and the focal plane."""

    def __post_init__(self) -> None:
        """Refuse what no animal is.

        Raises
        ------
        InputError
            If a length is not positive, a range is upside down or has no end, an angle is not 0 to 90, or what takes
            off or lands has no speed or no acceleration.
        """
        for name in ("length_mm", "span_mm", "thickness_mm", "extent_mm"):
            if not 0 < getattr(self, name) < LARGEST:
                raise InputError(
                    f"{name} of the animal is {getattr(self, name):g} mm; it must be more than 0 and "
                    f"below {LARGEST:,.0f}"
                )
        for name in ("speed_m_s", "panning_left", "focus_error_mm", "wingbeat_hz", "stroke_deg", "event_s"):
            low, likely, high = getattr(self, name)
            if not 0 <= low <= likely <= high < LARGEST:
                raise InputError(
                    f"{name} of the animal runs {low:g}, {likely:g}, {high:g}; it must grow from 0 or more and stay "
                    f"below {LARGEST:,.0f}"
                )
        if not 0 <= self.angle_deg <= 90:
            raise InputError(
                f"the angle to the focal plane is {self.angle_deg:g}°; it lies between 0 (along it) and 90°"
            )
        if self.behaviour in (Behaviour.TAKE_OFF, Behaviour.LANDING):
            self._check_launch()

    def _check_launch(self) -> None:
        if not 0 < self.acceleration_m_s2 < LARGEST:
            raise InputError(
                f"a {self.behaviour} needs an acceleration; it is {self.acceleration_m_s2:g} m/s², "
                "and must be more than 0"
            )
        if not self.speed_m_s.low > 0:
            raise InputError(
                f"a {self.behaviour} needs a speed; it runs from {self.speed_m_s.low:g} m/s, and must be more than 0"
            )

    @property
    def half_depth_mm(self) -> float:
        """Half of what the body takes up along the line of sight. [mm]"""
        turned = math.radians(self.angle_deg)
        return (self.length_mm * math.sin(turned) + self.thickness_mm * math.cos(turned)) / 2

    @property
    def half_wing_depth_mm(self) -> float:
        """Half of what body and spread wings take up along the line of sight. [mm]"""
        return max(self.half_depth_mm, self.span_mm * math.cos(math.radians(self.angle_deg)) / 2)
