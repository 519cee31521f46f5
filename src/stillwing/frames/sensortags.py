"""Pixels and size of the sensor, by the tags of a picture that it took."""

import math

from stillwing.frames.exif import ExifValues
from stillwing.frames.told import Sure, Told

__all__ = ["FULL_DIAGONAL_MM", "pixels_told", "sensor_told"]

FULL_DIAGONAL_MM = math.hypot(36.0, 24.0)
"""43.27 mm, what FocalLengthIn35mmFilm compares with."""

UNIT_MM = {2: 25.4, 3: 10.0, 4: 1.0, 5: 0.001}
"""FocalPlaneResolutionUnit: inch and centimetre by Exif 2.32; millimetre and micrometre by TIFF/EP, from memory."""

SMALLEST_DIAGONAL_MM, LARGEST_DIAGONAL_MM = 2.0, 100.0
"""From the smallest telephone to digital medium format; a size outside is a mistake in the tags."""

SQUARE_WITHIN = 0.04
"""How far the two pixel pitches may differ, as in `optics.kit.CameraBody`."""

AGREE_WITHIN = 0.12
"""Two tags tell the same sensor up to here: makers compare widths or diagonals, and round to whole millimetres."""

DIAGONAL_KEYS = ("OlympusEq.FocalPlaneDiagonal", "Olympus.FocalPlaneDiagonal", "Olympus2.FocalPlaneDiagonal")

LONGEST_SIDE_PX = 200_000


def pixels_told(exif: ExifValues, width_px: int | None, height_px: int | None) -> Told[tuple[int, int]] | None:
    """Return the sensor's pixels, the longer side first.

    Parameters
    ----------
    exif : ExifValues
        The picture's tags.
    width_px, height_px : int, optional
        Size of the picture itself. [px]

    Returns
    -------
    Told, optional
        By PixelXDimension where that is the larger: a picture cropped or reduced later keeps the camera's size there.
    """
    across, down = (exif.count(f"Photo.Pixel{axis}Dimension", 1, LONGEST_SIDE_PX) for axis in "XY")
    sizes = [
        Told((max(one, other), min(one, other)), tag, Sure.EXACT)
        for one, other, tag in ((width_px, height_px, "the picture itself"), (across, down, "PixelXDimension"))
        if one and other
    ]
    return max(sizes, key=lambda told: told.value[0] * told.value[1], default=None)


def sensor_told(
    exif: ExifValues, pixels: tuple[int, int], focal_length_mm: float | None
) -> tuple[Told[tuple[float, float]] | None, tuple[str, ...]]:
    """Return the sensor's width and height, and remarks on tags that were not believed.

    Parameters
    ----------
    exif : ExifValues
        The picture's tags.
    pixels : (int, int)
        Pixels of the sensor, the longer side first. [px]
    focal_length_mm : float, optional
        Focal length that the picture was taken with. [mm]

    Returns
    -------
    told : Told, optional
        Width and height. [mm]
    remarks : tuple of str
        One sentence for each tag that contradicts another or itself.

    Notes
    -----
    By FocalPlaneXResolution, pixels over pixels per unit: exact. Else by a maker's own tag for the diagonal, else by
    ``43.27 mm x FocalLength / FocalLengthIn35mmFilm``, whole millimetres on one side: rounded, and shared out by the
    aspect ratio of the pixels. Where the first contradicts the others by more than 12 % they are believed, because
    software that makes a picture smaller often leaves the resolution as it was.
    """
    zoom = exif.number("Photo.DigitalZoomRatio", 1.01, 1000.0)
    if zoom is not None:
        return None, (
            f"the picture was enlarged in the camera, {zoom:.3g} times, so it does not tell the sensor's size",
        )
    density, remarks = _by_density(exif, pixels)
    diagonal = _by_diagonal(exif, pixels) or _by_equivalent(exif, pixels, focal_length_mm)
    if density is None or diagonal is None:
        return density or diagonal, remarks
    if abs(density.value[0] / diagonal.value[0] - 1) <= AGREE_WITHIN:
        return density, remarks
    return diagonal, (
        f"{density.tag} says {_words(density)}, {diagonal.tag} says {_words(diagonal)}, which is taken; "
        "the picture may be a smaller copy: read the camera's own file",
    )


def _by_density(exif: ExifValues, pixels: tuple[int, int]) -> tuple[Told[tuple[float, float]] | None, tuple[str, ...]]:
    for group in ("Photo", "Image"):
        # 0 stands for "not known" in some files.
        across = exif.number(f"{group}.FocalPlaneXResolution", 1e-6, 1e9)
        down = exif.number(f"{group}.FocalPlaneYResolution", 1e-6, 1e9) or across
        if across is None or down is None:
            continue
        unit = UNIT_MM.get(exif.count(f"{group}.FocalPlaneResolutionUnit", 0, 99) or 2)
        if unit is None or abs(across / down - 1) > SQUARE_WITHIN:
            return None, ("FocalPlaneXResolution and its neighbours contradict themselves and were not believed",)
        width, height = pixels[0] / across * unit, pixels[1] / down * unit
        if not SMALLEST_DIAGONAL_MM <= math.hypot(width, height) <= LARGEST_DIAGONAL_MM:
            return None, (f"FocalPlaneXResolution says {width:.3g} x {height:.3g} mm, which no sensor has",)
        return Told((round(width, 2), round(height, 2)), "FocalPlaneXResolution", Sure.EXACT), ()
    return None, ()


def _by_diagonal(exif: ExifValues, pixels: tuple[int, int]) -> Told[tuple[float, float]] | None:
    for key in DIAGONAL_KEYS:
        diagonal = exif.number(key, SMALLEST_DIAGONAL_MM, LARGEST_DIAGONAL_MM)
        if diagonal is not None:
            return Told(_shared_out(diagonal, pixels), "FocalPlaneDiagonal", Sure.ROUNDED)
    return None


def _by_equivalent(
    exif: ExifValues, pixels: tuple[int, int], focal_length_mm: float | None
) -> Told[tuple[float, float]] | None:
    equivalent = exif.number("Photo.FocalLengthIn35mmFilm", 1.0, 20_000.0)
    if equivalent is None or focal_length_mm is None:
        return None
    diagonal = FULL_DIAGONAL_MM * focal_length_mm / equivalent
    if not SMALLEST_DIAGONAL_MM <= diagonal <= LARGEST_DIAGONAL_MM:
        return None
    return Told(_shared_out(diagonal, pixels), "FocalLengthIn35mmFilm", Sure.ROUNDED)


def _shared_out(diagonal_mm: float, pixels: tuple[int, int]) -> tuple[float, float]:
    pitch = diagonal_mm / math.hypot(*pixels)
    return round(pixels[0] * pitch, 2), round(pixels[1] * pitch, 2)


def _words(told: Told[tuple[float, float]]) -> str:
    return f"{told.value[0]:.1f} x {told.value[1]:.1f} mm"
