"""What a pixel of a picture covers where its animal is, by the picture's own tags."""

import math
from dataclasses import replace
from pathlib import Path

import exiv2

from stillwing.errors import OutsideModel
from stillwing.frames.bodylength import NoLength
from stillwing.frames.exif import read_exif
from stillwing.frames.files import read_whole
from stillwing.frames.focusrange import focus_range
from stillwing.frames.kittags import KitFromPicture, read_kit
from stillwing.frames.told import Sure
from stillwing.optics.kit import Kit, Lens
from stillwing.optics.scale import off_focus_share, spread_round, subject_scale, true_focal_length
from stillwing.optics.subject import Range

__all__ = ["lens_with_converter", "pixel_pitch", "read_scale"]

PITCH_ROUNDED = 0.04
"""A sensor's size that was computed from an equivalent focal length: by width or by diagonal, in whole millimetres."""
PITCH_EXACT = 0.005


def read_scale(path: Path, size_px: tuple[int, int], blur_px: float | None, kit: Kit | None = None) -> Range | NoLength:
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
    kit : Kit, optional
        That the picture was taken with; tells how much shorter the lens grows as it focuses closer, and the sensor's
        size where the tags do not.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read or holds no picture.
    """
    told = read_kit(path)
    try:
        exif = read_exif(read_whole(path))
    except exiv2.Exiv2Error:
        return NoLength("the picture's tags are damaged, and tell no focus distance")
    metres = focus_range(exif)
    if metres is None:
        return NoLength("the picture does not tell the distance that the lens was focused at; no distance, no length")
    pitch = pixel_pitch(told, size_px, kit)
    if isinstance(pitch, NoLength):
        return pitch
    if told.focal_length_mm is None or told.f_number is None:
        return NoLength("the picture does not tell focal length and f-number, and without them there is no scale")
    if blur_px is None:
        return NoLength("the animal's blur could not be measured, so nothing bounds its way from the focal plane")
    distance = Range(*(1000 * value for value in metres))
    try:
        focal = true_focal_length(told.focal_length_mm.value, distance.likely, lens_with_converter(kit))
        sharp = subject_scale(pitch, focal, distance)
    except OutsideModel as error:
        return NoLength(f"distance and focal length of the tags do not go together: {error}")
    off = off_focus_share(blur_px, pitch.likely, focal.likely, told.f_number.value, pitch.likely / sharp.likely)
    return subject_scale(pitch, focal, distance, off)


def lens_with_converter(kit: Kit | None) -> Lens | None:
    """Return the kit's lens as it is with its converter, which magnifies what the lens draws."""
    if kit is None or kit.lens.largest_magnification is None:
        return None
    return replace(kit.lens, largest_magnification=kit.lens.largest_magnification * kit.teleconverter)


def pixel_pitch(told: KitFromPicture, size_px: tuple[int, int], kit: Kit | None) -> Range | NoLength:
    """Return the distance between pixels, or why it is not that of the picture's pixels. [mm]"""
    longer = max(size_px)
    if told.sensor_mm is None and kit is not None and longer == max(kit.camera.width_px, kit.camera.height_px):
        share = math.log1p(PITCH_EXACT)
        return spread_round(max(kit.camera.sensor_width_mm, kit.camera.sensor_height_mm) / longer, share, share)
    if told.pixels is None or told.sensor_mm is None:
        return NoLength("the picture does not tell the size of the sensor; give it with the kit")
    if longer != told.pixels.value[0]:
        return NoLength(
            f"the picture is {longer} px wide and the sensor {told.pixels.value[0]} px; a cropped or smaller copy "
            "has no scale: measure the camera's own file"
        )
    share = math.log1p(PITCH_EXACT if told.sensor_mm.sure is Sure.EXACT else PITCH_ROUNDED)
    return spread_round(told.sensor_mm.value[0] / longer, share, share)
