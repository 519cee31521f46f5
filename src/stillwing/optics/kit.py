"""The kit: what a camera and a lens can do, as limits that the settings have to keep."""

import math
from dataclasses import dataclass

from stillwing.errors import InputError

__all__ = ["CameraBody", "Kit", "Lens"]

TYPICAL_WELL_E_PER_UM2 = 2100.0
"""Electrons that a square micrometre holds at the lowest ISO; typical of sensors since 2010, from memory."""
TYPICAL_READ_NOISE_E = 2.6
"""Electrons of noise in reading one pixel at the ISO used for action; typical, from memory."""


@dataclass(frozen=True, slots=True)
class CameraBody:
    """Sensor, exposure limits and timing of a camera."""

    sensor_width_mm: float
    sensor_height_mm: float
    width_px: int
    height_px: int
    lowest_iso: float = 200.0
    highest_iso: float = 25600.0
    shortest_s: float = 1 / 8000
    longest_s: float = 60.0
    frames_per_s: float = 18.0
    look_back_s: float = 0.0
    """Length of the look-back buffer; 0 where there is none."""
    readout_s: float = 1 / 60
    """From the first row's read-out to the last one's; 0 for a shutter that opens all rows at once."""
    well_e: float | None = None
    """Electrons per pixel at white and the lowest ISO; from the pixel's area where it is not known."""
    read_noise_e: float = TYPICAL_READ_NOISE_E
    own_blur_px: float = 0.25
    """Standard deviation of what the lens's own faults and a filter before the sensor add."""

    def __post_init__(self) -> None:
        """Refuse what no camera has.

        Raises
        ------
        InputError
            If a measure is not positive, the pixels are not square, or a range is upside down.
        """
        for name in ("sensor_width_mm", "sensor_height_mm", "width_px", "height_px", "lowest_iso", "shortest_s"):
            _positive("camera", name, getattr(self, name))
        _positive("camera", "frames_per_s", self.frames_per_s)
        for name in ("look_back_s", "readout_s", "read_noise_e", "own_blur_px"):
            _not_negative("camera", name, getattr(self, name))
        if self.well_e is not None:
            _positive("camera", "well_e", self.well_e)
        _ordered("camera", "lowest_iso", self.lowest_iso, "highest_iso", self.highest_iso)
        _ordered("camera", "shortest_s", self.shortest_s, "longest_s", self.longest_s)
        tall = self.sensor_height_mm / self.height_px
        if abs(self.pitch_mm / tall - 1) > 0.04:
            raise InputError(
                f"{self.width_px} x {self.height_px} pixels on "
                f"{self.sensor_width_mm:g} x {self.sensor_height_mm:g} mm are not "
                f"square; at that width the height would be {self.pitch_mm * self.height_px:.1f} mm"
            )

    @property
    def pitch_mm(self) -> float:
        """Distance between pixels. [mm]"""
        return self.sensor_width_mm / self.width_px

    @property
    def electrons_at_white(self) -> float:
        """Electrons per pixel at white and the lowest ISO."""
        return self.well_e if self.well_e is not None else TYPICAL_WELL_E_PER_UM2 * (self.pitch_mm * 1000) ** 2

    @property
    def words(self) -> str:
        """What it is called where it has no name, as in "20 MP, 17.4 x 13.0 mm sensor"."""
        megapixels = self.width_px * self.height_px / 1e6
        return f"{megapixels:.0f} MP, {self.sensor_width_mm:.1f} x {self.sensor_height_mm:.1f} mm sensor"


@dataclass(frozen=True, slots=True)
class Lens:
    """Focal range, apertures and closest focus of a lens, as marked on it."""

    shortest_mm: float
    longest_mm: float
    widest_at_shortest: float
    """F-number wide open at the shortest focal length."""
    widest_at_longest: float
    narrowest: float = 22.0
    closest_focus_m: float = 0.0
    """From the sensor, as marked; 0 where it is not known."""
    largest_magnification: float | None = None
    """At the closest focus and the longest focal length."""
    pupil_ratio: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what no lens has.

        Raises
        ------
        InputError
            If a measure is not positive or a range is upside down.
        """
        for name in (
            "shortest_mm",
            "longest_mm",
            "widest_at_shortest",
            "widest_at_longest",
            "narrowest",
            "pupil_ratio",
        ):
            _positive("lens", name, getattr(self, name))
        _not_negative("lens", "closest_focus_m", self.closest_focus_m)
        if self.largest_magnification is not None:
            _positive("lens", "largest_magnification", self.largest_magnification)
        _ordered("lens", "shortest_mm", self.shortest_mm, "longest_mm", self.longest_mm)
        _ordered("lens", "widest_at_shortest", self.widest_at_shortest, "narrowest", self.narrowest)
        _ordered("lens", "widest_at_longest", self.widest_at_longest, "narrowest", self.narrowest)
        if 0 < self.closest_focus_m < 4 * self.longest_mm / 1000 and self.largest_magnification is None:
            # A thin lens lies at least four focal lengths between thing and picture.
            raise InputError(
                f"a lens of {self.longest_mm:g} mm that focuses to {self.closest_focus_m:g} m must grow shorter "
                "to do so; give its largest magnification, such as 0.25, which tells by how much"
            )

    def widest_at(self, focal_length_mm: float) -> float:
        """Return the smallest f-number at a focal length: even in stops along the zoom (common practice, no source)."""
        if self.longest_mm == self.shortest_mm:
            return self.widest_at_longest
        along = math.log(focal_length_mm / self.shortest_mm) / math.log(self.longest_mm / self.shortest_mm)
        return float(self.widest_at_shortest ** (1 - along) * self.widest_at_longest**along)

    @property
    def words(self) -> str:
        """What it is called where it has no name, as in "75-300 mm f/4.8-6.7"."""
        zoom = self.shortest_mm != self.longest_mm
        focal = f"{self.shortest_mm:g}-{self.longest_mm:g}" if zoom else f"{self.longest_mm:g}"
        same = self.widest_at_shortest == self.widest_at_longest
        widest = f"{self.widest_at_longest:g}" if same else f"{self.widest_at_shortest:g}-{self.widest_at_longest:g}"
        return f"{focal} mm f/{widest}"


@dataclass(frozen=True, slots=True)
class Kit:
    """A camera with a lens and perhaps a teleconverter, under a name of the photographer's."""

    name: str
    camera: CameraBody
    lens: Lens
    teleconverter: float = 1.0

    def __post_init__(self) -> None:
        """Refuse a converter that shortens.

        Raises
        ------
        InputError
            If the factor is below 1 or above 3.
        """
        if not 1 <= self.teleconverter <= 3:
            raise InputError(f"teleconverter is {self.teleconverter:g}; it is 1 for none, and 3 at most")

    @property
    def words(self) -> str:
        """Camera, lens and converter in words."""
        converter = f" with a {self.teleconverter:g}x converter" if self.teleconverter > 1 else ""
        return f"{self.camera.words}; {self.lens.words}{converter}"


def _positive(thing: str, name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise InputError(f"{name} of the {thing} is {value:g}; it must be more than 0")


def _not_negative(thing: str, name: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise InputError(f"{name} of the {thing} is {value:g}; it must be 0 or more")


def _ordered(thing: str, low_name: str, low: float, high_name: str, high: float) -> None:
    if not low <= high:
        raise InputError(f"{low_name} of the {thing} is {low:g}, more than its {high_name}, {high:g}")
