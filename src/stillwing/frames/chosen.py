"""The words of a choice: what the tool proposes and the person decides for a frame."""

import math
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

__all__ = ["Choice", "Proposal"]


class Choice(StrEnum):
    """What to do with a frame."""

    KEEP = "keep"
    SPARE = "spare"
    LEAVE = "leave"


@dataclass(frozen=True, slots=True)
class Proposal:
    """The proposed choice for one frame, with its reason in words."""

    path: Path
    choice: Choice
    reason: str
    usable_width_px: float = math.nan
    """Widest picture of the whole frame that still looks sharp on the animal; NaN where no blur was measured."""
