"""What a frame's blur is made of, motion, defocus and the rest, and so what made the frame soft."""

import math
from dataclasses import dataclass
from enum import StrEnum

from stillwing.flight.seen import SeenFrame

__all__ = ["BlurSplit", "Cause"]

WIDEST = 4.0
"""A blur whose interval is wider than this factor is not known (a choice, no source): such ones stand on stalks as
often as on the animal (benchmarks/flight_advice.py)."""


class Cause(StrEnum):
    """What made a frame soft: without it the frame would be sharp."""

    MOTION = "motion"
    FOCUS = "focus"
    EITHER = "either"
    """Without one of them, whichever, it would be sharp."""
    BOTH = "both"
    """It would be soft without either."""


@dataclass(frozen=True, slots=True)
class BlurSplit:
    """Variances of one frame's round blur, which add up, and the ends of its 90 % interval. [px^2]"""

    whole: float
    motion: float
    """What the blur has along one direction more than across; 0 where it is round."""
    defocus: float
    low: float
    high: float

    @classmethod
    def of(cls, frame: SeenFrame, floor: float) -> "BlurSplit | None":
        """Return the split of a frame's blur; ``None`` where it was not measured.

        Parameters
        ----------
        frame : SeenFrame
            The frame.
        floor : float
            Variance of all that blurs in the focal plane itself. [px^2]
        """
        whole = (frame.minor_px**2 + frame.major_px**2) / 2
        if not (whole > 0 and frame.blur_low_px > 0):  # NaN too
            return None
        # A spread without a direction shows no motion.
        motion = 0.0 if math.isnan(frame.direction_deg) else (frame.major_px**2 - frame.minor_px**2) / 2
        defocus = max(whole - motion - floor, 0.0)
        return cls(whole, motion, defocus, frame.blur_low_px**2, frame.blur_high_px**2)

    @property
    def is_known(self) -> bool:
        """Whether the blur is known well enough to try changes on it."""
        return self.high <= WIDEST**2 * self.low

    @property
    def rest(self) -> float:
        """Pixels, diffraction and the lens's own faults. [px^2]"""
        return self.whole - self.motion - self.defocus

    def cause(self, limit_px: float) -> Cause:
        """Return what has to go for the blur to stay within a limit."""
        still, focused = self.whole - self.motion <= limit_px**2, self.whole - self.defocus <= limit_px**2
        if still and focused:
            return Cause.EITHER
        if still:
            return Cause.MOTION
        return Cause.FOCUS if focused else Cause.BOTH

    def exposed(self, share: float, scale: float = 1.0) -> float:
        """Return the blur with an exposure of a share of this one, all scaled. [px]"""
        return math.sqrt(scale * (self.whole - self.motion * (1 - share**2)))
