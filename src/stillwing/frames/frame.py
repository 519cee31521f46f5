"""One shot and one burst, as their files and tags tell it, before any pixel is decoded."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

__all__ = ["Burst", "Frame", "Tags"]


@dataclass(frozen=True, slots=True)
class Tags:
    """What a file says about the shot; ``None`` where it says nothing believable.

    Sizes and areas are in pixels of the upright picture, after ``orientation`` has been applied.
    """

    taken_at: datetime | None = None
    """Start of exposure with sub-seconds; aware when the file gives its offset from UTC, else naive camera time."""
    has_subseconds: bool = False
    exposure_s: float | None = None
    f_number: float | None = None
    iso: int | None = None
    focal_length_mm: float | None = None
    focus_distance_m: float | None = None
    drive_mode: str | None = None
    sequence_number: int | None = None
    orientation: int = 1
    """Exif orientation, 1 to 8; pixels leave `frames.pixels` already upright."""
    width_px: int | None = None
    height_px: int | None = None
    camera: str | None = None
    camera_serial: str | None = None
    lens: str | None = None
    focus_area_px: tuple[float, float, float, float] | None = None
    """Left, top, width, height of the camera's own focus area."""
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    altitude_m: float | None = None
    focus_mode: str | None = None
    """How the camera found the focus: single, continuous, tracking or manual."""


@dataclass(frozen=True, slots=True)
class Frame:
    """One shot: its files and its tags.

    ``files[0]`` is the one whose pixels are measured (the JPEG of a RAW and JPEG pair); copies of the same shot in
    another folder are in ``copies`` and are neither measured nor counted.
    """

    files: tuple[Path, ...]
    tags: Tags
    copies: tuple[Path, ...] = ()

    @property
    def path(self) -> Path:
        """The file whose pixels are measured."""
        return self.files[0]


@dataclass(frozen=True, slots=True)
class Burst:
    """Frames of one camera taken in one press of the button, in order of time.

    ``name`` is stable between runs over the same files: it is made from the first frame's file name.
    """

    name: str
    frames: tuple[Frame, ...]
