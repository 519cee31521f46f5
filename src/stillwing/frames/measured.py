"""What was measured on a frame: where the animal is, and how sharp it is."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from stillwing.frames.frame import Frame

__all__ = ["Animal", "Blur", "BlurKind", "Box", "Cutout", "FocusMap", "MeasuredFrame", "Origin", "Slip"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle in pixels of the upright original, which may reach beyond the frame's edge by nothing."""

    x_px: float
    y_px: float
    width_px: float
    height_px: float

    @property
    def area_px(self) -> float:
        """Area. [px^2]"""
        return self.width_px * self.height_px

    @property
    def centre_px(self) -> tuple[float, float]:
        """Centre as (x, y). [px]"""
        return self.x_px + self.width_px / 2, self.y_px + self.height_px / 2

    def overlap(self, other: "Box") -> float:
        """Return intersection over union with ``other``, 0 to 1."""
        wide = min(self.x_px + self.width_px, other.x_px + other.width_px) - max(self.x_px, other.x_px)
        high = min(self.y_px + self.height_px, other.y_px + other.height_px) - max(self.y_px, other.y_px)
        shared = max(wide, 0.0) * max(high, 0.0)
        union = self.area_px + other.area_px - shared
        return shared / union if union > 0 else 0.0


class BlurKind(StrEnum):
    """Which of the two causes rules."""

    SHARP = "sharp"
    DEFOCUS = "defocus"
    MOTION = "motion"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class Blur:
    """The point spread on the animal's sharpest part, as standard deviations in pixels of the original.

    ``blur_px`` is that of the round Gaussian with the same variance: sqrt((minor^2 + major^2) / 2). The pair
    ``blur_low_px``, ``blur_high_px`` is its 90 % interval. ``direction_deg`` is the direction of the major axis in the
    picture, 0 to 180, from the x axis towards the bottom; ``None`` where the spread is round within its uncertainty.
    """

    blur_px: float
    blur_low_px: float
    blur_high_px: float
    minor_px: float
    major_px: float
    direction_deg: float | None
    kind: BlurKind


@dataclass(frozen=True, slots=True)
class FocusMap:
    """Blur over the animal on a small grid: row-major ``blur_px`` with NaN where nothing could be measured."""

    box: Box
    rows: int
    columns: int
    blur_px: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Cutout:
    """A small grey picture of an animal and what is round it, as JPEG: enough to lay a burst's frames on one another.

    It shows the square of side ``side_px`` whose left top corner lies at (``x_px``, ``y_px``). [px of the original]
    """

    x_px: float
    y_px: float
    side_px: float
    jpeg: bytes


class Origin(StrEnum):
    """How the box came about."""

    FOUND = "found"
    FOLLOWED = "followed"
    DRAWN = "drawn"
    """A person drew it."""


@dataclass(frozen=True, slots=True)
class Animal:
    """One animal in one frame. Fractions are 0 to 1."""

    box: Box
    certainty: float
    """Chance that this is an animal and that the box is right."""
    origin: Origin
    blur: Blur | None
    """``None`` where the animal is too small or too plain to measure."""
    outline_px: tuple[tuple[float, float], ...]
    """Closed polygon of (x, y) points round the animal, in pixels of the upright original; may be empty."""
    size_in_frame: float
    """Longest side of the box as a share of the frame's longest side."""
    edge_clipped: bool
    """The animal is cut by the frame's edge."""
    edge_distance_px: tuple[float, float, float, float]
    """Free pixels left of, above, right of and below the box."""
    highlights_clipped: float
    """Share of the animal's pixels at full white."""
    shadows_clipped: float
    background_busyness: float
    """Mean gradient round the animal [DN/px]; a clean background is below 1."""
    focus_map: FocusMap | None
    track: int = 0
    """Number of this animal within its burst; the same animal keeps it through the burst."""
    cutout: Cutout | None = None


@dataclass(frozen=True, slots=True)
class Slip:
    """How far the background moved since the frame before, to the right and down. [px of the upright original]"""

    x_px: float
    y_px: float
    sd_px: float
    """Standard deviation along each axis."""


@dataclass(frozen=True, slots=True)
class MeasuredFrame:
    """One frame with the animals found in it, best first; an empty tuple is a valid answer."""

    frame: Frame
    width_px: int
    height_px: int
    animals: tuple[Animal, ...]
    from_preview: bool = False
    """The embedded preview ruled the frame out, and the full picture was not decoded."""
    slip: Slip | None = None
    """How the camera turned since the frame before; ``None`` for a first frame, and where it cannot be told."""

    @property
    def path(self) -> Path:
        """The file whose pixels were measured."""
        return self.frame.path
