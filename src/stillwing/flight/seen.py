"""What is seen of one animal in a burst, frame by frame, and the kit that saw it: the room's own small inputs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError, OutsideModel
from stillwing.optics.diffraction import airy_sigma
from stillwing.optics.framing import working_f_number
from stillwing.optics.reals import positive
from stillwing.optics.spread import MOSAIC_VARIANCE, PIXEL_VARIANCE
from stillwing.optics.subject import Range

__all__ = ["MOST_FRAMES", "FlightKit", "Seen", "SeenFrame", "gathered"]

Reals = NDArray[np.float64]
FEWEST_FRAMES, MOST_FRAMES = 3, 400
LONGEST_GAP_S = 2.0
"""Between frames; nothing links a longer one."""


@dataclass(frozen=True, slots=True)
class SeenFrame:
    """One frame. NaN stands for what could not be measured; only moment and centre must be known.

    Errors are standard deviations. Picture coordinates run to the right and down.
    """

    time_s: float
    x_px: float
    y_px: float
    centre_sd_px: float
    size_px: float = math.nan
    """Apparent length of the body, or of the box, the same in all frames."""
    size_sd_px: float = math.nan
    minor_px: float = math.nan
    major_px: float = math.nan
    blur_low_px: float = math.nan
    """90 % interval of the round blur, sqrt((minor^2 + major^2) / 2)."""
    blur_high_px: float = math.nan
    direction_deg: float = math.nan
    """Of the major axis, 0 to 180; NaN where the spread is round."""
    background_x_px: float = math.nan
    """How far the background has moved in the picture since the frame before."""
    background_y_px: float = math.nan
    background_sd_px: float = math.nan
    own_blur_share: float = 1.0
    """Of the width of the blur's interval, what is this frame's own error; the rest all frames share."""


@dataclass(frozen=True, slots=True)
class FlightKit:
    """Camera and lens as they were set."""

    pitch_mm: float
    focal_length_mm: Range
    """That the lens had at this distance, as `stillwing.optics.scale.true_focal_length` gives it."""
    f_number: float
    exposure_s: float
    width_px: int
    height_px: int
    row_s: float = 0.0
    """From one row's read-out to the next one's; 0 for a shutter that opens all rows at once."""
    own_blur_px: float = 0.25
    """Standard deviation of what the lens's own faults add."""

    def __post_init__(self) -> None:
        """Refuse what no kit is; raises `OutsideModel`."""
        for name, unit in (("pitch_mm", "mm"), ("f_number", "(f/N)"), ("exposure_s", "s")):
            positive(name, getattr(self, name), unit)
        for name in ("width_px", "height_px"):
            positive(name, getattr(self, name), "px")
        for name in ("row_s", "own_blur_px"):
            if not getattr(self, name) >= 0:
                raise OutsideModel(name, getattr(self, name), 0.0, math.inf, "")
        positive("focal_length_mm", self.focal_length_mm, "mm")

    def floor_variance(self, magnification: float) -> float:
        """Return the variance per axis of pixel, mosaic, diffraction and the lens's own faults. [px^2]"""
        airy = float(airy_sigma(working_f_number(self.f_number, magnification))) / self.pitch_mm
        return float(PIXEL_VARIANCE + MOSAIC_VARIANCE + self.own_blur_px**2 + airy**2)


@dataclass(frozen=True, eq=False, slots=True)
class Seen:
    """The frames of a burst as arrays of shape (n,); names and units are those of `SeenFrame`."""

    time_s: Reals
    """When the animal's row was exposed, middle of the exposure, from the first frame on."""
    x_px: Reals
    """From the middle of the frame, as is ``y_px``."""
    y_px: Reals
    centre_sd_px: Reals
    size_px: Reals
    size_sd_px: Reals
    minor_px: Reals
    major_px: Reals
    blur_low_px: Reals
    blur_high_px: Reals
    direction_deg: Reals
    background_x_px: Reals
    background_y_px: Reals
    background_sd_px: Reals
    own_blur_share: Reals

    def __len__(self) -> int:
        return len(self.time_s)

    @property
    def blur_px(self) -> Reals:
        """Round blur. [px]"""
        return np.asarray(np.sqrt((self.minor_px**2 + self.major_px**2) / 2), np.float64)


def gathered(frames: Sequence[SeenFrame], kit: FlightKit) -> Seen:
    """Return the frames as arrays, about the middle of the frame, with the delay of each animal's row in their moments.

    Raises
    ------
    InputError
        If there are fewer than 3 or more than 400 frames, moments do not rise or lie more than 2 s apart, or a place or
        its error is missing.
    """
    if not FEWEST_FRAMES <= len(frames) <= MOST_FRAMES:
        raise InputError(
            f"the animal is seen in {len(frames)} frames; a flight is made out from {FEWEST_FRAMES} to {MOST_FRAMES}"
        )
    columns = {
        field.name: np.array([getattr(frame, field.name) for frame in frames], np.float64)
        for field in fields(SeenFrame)
    }
    for name in ("time_s", "x_px", "y_px", "centre_sd_px"):
        if not np.all(np.isfinite(columns[name])):
            raise InputError(
                f"{name} of frame {int(np.argmin(np.isfinite(columns[name])))} is not known; leave the frame out"
            )
    if not np.all(columns["centre_sd_px"] > 0):
        raise InputError("centre_sd_px is the error of a place and must be more than 0 px")
    gaps = np.diff(columns["time_s"])
    if not np.all((gaps > 0) & (gaps <= LONGEST_GAP_S)):
        wrong = int(np.argmax(~((gaps > 0) & (gaps <= LONGEST_GAP_S))))
        raise InputError(
            f"frame {wrong + 1} comes {gaps[wrong]:g} s after the one before it; frames of a flight follow each other "
            f"within {LONGEST_GAP_S:g} s"
        )
    columns["time_s"] = columns["time_s"] - columns["time_s"][0] + kit.row_s * (columns["y_px"] - columns["y_px"][0])
    if not np.all(np.diff(columns["time_s"]) > 0):
        raise InputError(
            "the rows of two frames were read at the same time; the row time is too long for this frame rate"
        )
    columns["x_px"] -= (kit.width_px - 1) / 2
    columns["y_px"] -= (kit.height_px - 1) / 2
    return Seen(**columns)
