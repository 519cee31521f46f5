"""What a pixel of a picture covers where its animal is, by the picture's own tags."""

import math
from pathlib import Path

import exiv2

from stillwing.errors import OutsideModel
from stillwing.frames.bodylength import NoLength
from stillwing.frames.exif import read_exif
from stillwing.frames.files import read_whole
from stillwing.frames.focusrange import focus_range
from stillwing.frames.kittags import KitFromPicture, read_kit
from stillwing.frames.told import Sure
from stillwing.optics.kit import Lens
from stillwing.optics.scale import off_focus_share, spread_round, subject_scale, true_focal_length
from stillwing.optics.subject import Range

__all__ = ["read_scale"]

PITCH_ROUNDED = 0.04
"""A sensor's size that was computed from an equivalent focal length: by width or by diagonal, in whole millimetres."""
PITCH_EXACT = 0.005


def read_scale(
    path: Path, size_px: tuple[int, int], blur_px: float | None, lens: Lens | None = None
) -> Range | NoLength:
    """Return the millimetres per pixel where the animal is, with the 90 % interval, or why there is none. [mm/px]

    Parameters
    ----------
    path : Path
        The picture as the camera wrote it; opened for reading only.
    size_px : (int, int)
        Width and height of the picture that the animal was measured on. [px]
    blur_px : float or None
        The animal's blur, best the upper end of its interval: it bounds how far the animal lies from the focal plane.
        [px]
    lens : Lens, optional
        From the kit; tells how much shorter the lens grows as it focuses closer.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read or holds no picture.
    """
    kit = read_kit(path)
    try:
        exif = read_exif(read_whole(path))
    except exiv2.Exiv2Error:
        return NoLength("the picture's tags are damaged, and tell no focus distance")
    metres = focus_range(exif)
    if metres is None:
        return NoLength("the picture does not tell the distance that the lens was focused at; no distance, no length")
    pitch = _pitch(kit, size_px)
    if isinstance(pitch, NoLength):
        return pitch
    if kit.focal_length_mm is None or kit.f_number is None:
        return NoLength("the picture does not tell focal length and f-number, and without them there is no scale")
    if blur_px is None:
        return NoLength("the animal's blur could not be measured, so nothing bounds its way from the focal plane")
    distance = Range(*(1000 * value for value in metres))
    try:
        focal = true_focal_length(kit.focal_length_mm.value, distance.likely, lens)
        sharp = subject_scale(pitch, focal, distance)
    except OutsideModel as error:
        return NoLength(f"distance and focal length of the tags do not go together: {error}")
    off = off_focus_share(blur_px, pitch.likely, focal.likely, kit.f_number.value, pitch.likely / sharp.likely)
    return subject_scale(pitch, focal, distance, off)


def _pitch(kit: KitFromPicture, size_px: tuple[int, int]) -> Range | NoLength:
    """Return the distance between pixels, or why it is not that of the picture's pixels. [mm]"""
    if kit.pixels is None or kit.sensor_mm is None:
        return NoLength("the picture does not tell the size of the sensor; give it with the kit")
    longer = max(size_px)
    if longer != kit.pixels.value[0]:
        return NoLength(
            f"the picture is {longer} px wide and the sensor {kit.pixels.value[0]} px; a cropped or smaller copy "
            "has no scale: measure the camera's own file"
        )
    share = PITCH_EXACT if kit.sensor_mm.sure is Sure.EXACT else PITCH_ROUNDED
    return spread_round(kit.sensor_mm.value[0] / longer, math.log1p(share), math.log1p(share))
