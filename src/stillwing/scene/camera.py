"""The camera that took a scene: sensor, lens, exposure, read-out, processing; none of any maker."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import OutsideModel
from stillwing.optics.diffraction import airy_sigma
from stillwing.optics.focus import blur_disc
from stillwing.optics.framing import image_distance, magnification, working_f_number

__all__ = ["Camera", "camera_of", "px_per_metre"]


@dataclass(frozen=True, slots=True)
class Camera:
    """Everything about the picture that is not the scene."""

    width_px: int = 5184
    height_px: int = 3888
    sensor_width_mm: float = 17.4
    focal_length_mm: float = 300.0
    f_number: float = 6.7
    exposure_s: float = 1 / 1600
    iso: int = 800
    focus_distance_m: float = 3.0
    frames_per_s: float = 18.0
    readout_s: float = 1 / 60
    """Time from the first row's read-out to the last one's; 0 for a global shutter."""
    lens_sigma_px: float = 0.25
    """What the lens's own faults and the filter before the sensor add, as a standard deviation."""
    full_well_e: float = 24000.0
    """Electrons at white and the lowest ISO, 200."""
    read_noise_e: float = 2.6
    sharpening: float = 0.0
    """Strength of unsharp masking in the camera; 0 is none, 0.5 usual."""
    chroma_smoothing: int = 5
    """Side of the square over which the camera averages colour (not brightness) against colour noise; 1: none. [px]"""
    jpeg_quality: int = 92
    preview_px: int = 1620
    """Longest side of the embedded preview; 0 writes none, nor a thumbnail."""
    serial: str = "SW000001"

    @property
    def pitch_mm(self) -> float:
        """Distance between pixels."""
        return self.sensor_width_mm / self.width_px

    @property
    def name(self) -> str:
        """The words for it in Exif: pixels and sensor."""
        high = self.sensor_width_mm * self.height_px / self.width_px
        return f"{self.width_px * self.height_px / 1e6:.0f} MP {self.sensor_width_mm:.1f} x {high:.1f} mm"

    @property
    def lens(self) -> str:
        """The words for the lens."""
        return (
            f"{self.focal_length_mm:.0f} mm f/{self.f_number:g}"
            if self.focal_length_mm > 300
            else "75-300 mm f/4.8-6.7"
        )

    def disc_px(self, distance_m: NDArray[np.float64] | float) -> NDArray[np.float64]:
        """Return the diameter of the defocus disc of points at ``distance_m``."""
        mm = blur_disc(np.asarray(distance_m) * 1000, self.focus_distance_m * 1000, self.focal_length_mm, self.f_number)
        return np.asarray(mm / self.pitch_mm, np.float64)

    @property
    def diffraction_sigma_px(self) -> float:
        """Standard deviation that stands for diffraction."""
        m = magnification(self.focal_length_mm, self.focus_distance_m * 1000)
        return float(airy_sigma(working_f_number(self.f_number, m))) / self.pitch_mm

    @property
    def optics_variance_px(self) -> float:
        """Variance of diffraction and lens faults together, per axis."""
        return self.diffraction_sigma_px**2 + self.lens_sigma_px**2


def px_per_metre(camera: Camera, distance_m: float) -> float:
    """Return the scale of the picture for things at ``distance_m``."""
    behind = float(image_distance(camera.focal_length_mm, camera.focus_distance_m * 1000))
    return behind / (distance_m * camera.pitch_mm)


def camera_of(megapixels: float, camera: Camera | None = None) -> Camera:
    """Return a camera of that many megapixels, 1 to 50, 4:3, with the same sensor size.

    Raises
    ------
    OutsideModel
        If the size is outside the range.
    """
    if not 1 <= megapixels <= 50:
        raise OutsideModel("megapixels", megapixels, 1, 50, "MP")
    # Sides divisible by 16 suit the colour pattern and the JPEG blocks.
    width = round((megapixels * 1e6 * 4 / 3) ** 0.5 / 16) * 16
    height = round(width * 3 / 4 / 16) * 16
    base = camera or Camera()
    # A pixel's full well goes with its area.
    wells = base.full_well_e * (base.width_px / width) ** 2
    return replace(base, width_px=width, height_px=height, full_well_e=wells)
