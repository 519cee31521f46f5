"""What a picture's tags say about the camera and the lens that took it."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

import exiv2

from stillwing.errors import UnreadableFrame
from stillwing.frames.exif import ExifValues, read_exif
from stillwing.frames.files import read_whole
from stillwing.frames.frame import Tags
from stillwing.frames.jpeg import essential_segments
from stillwing.frames.lenstags import focal_range_told, widest_told
from stillwing.frames.sensortags import pixels_told, sensor_told
from stillwing.frames.tags import read_tags
from stillwing.frames.told import Sure, Told
from stillwing.optics.kitparts import TYPICAL, KitParts

__all__ = ["KitFromPicture", "read_kit"]

BEYOND_THE_LENS = 1.05
"""A focal length this much longer than the lens's longest was made with a converter."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class KitFromPicture:
    """What one picture tells; ``None`` where it tells nothing believable."""

    path: Path
    camera: Told[str] | None
    camera_serial: Told[str] | None
    lens: Told[str] | None
    pixels: Told[tuple[int, int]] | None
    """Width and height of the sensor, the longer side first. [px]"""
    sensor_mm: Told[tuple[float, float]] | None
    focal_range_mm: Told[tuple[float, float]] | None
    widest: Told[tuple[float, float]] | None
    """Widest f-number at the shortest and at the longest focal length."""
    focal_length_mm: Told[float] | None
    """This and the next three are what the picture was taken with."""
    f_number: Told[float] | None
    exposure_s: Told[float] | None
    iso: Told[int] | None
    remarks: tuple[str, ...]
    """One sentence for each tag that was not believed or that tells only a part."""

    @property
    def parts(self) -> KitParts:
        """What it tells of a kit.

        A setting beyond what is typical of cameras shows that this one goes so far at least, and is taken as its limit.
        """
        pixels, sensor = _pair(self.pixels), _pair(self.sensor_mm)
        focal, widest = _pair(self.focal_range_mm), _pair(self.widest)
        return KitParts(
            sensor_width_mm=sensor[0],
            sensor_height_mm=sensor[1],
            width_px=pixels[0],
            height_px=pixels[1],
            lowest_iso=_beyond(self.iso, below=TYPICAL["lowest_iso"]),
            highest_iso=_beyond(self.iso, above=TYPICAL["highest_iso"]),
            shortest_s=_beyond(self.exposure_s, below=TYPICAL["shortest_s"]),
            shortest_mm=focal[0],
            longest_mm=focal[1],
            widest_at_shortest=widest[0],
            widest_at_longest=widest[1],
            narrowest=_beyond(self.f_number, above=TYPICAL["narrowest"]),
        )

    @property
    def missing(self) -> tuple[str, ...]:
        """Fields of a kit that the picture does not tell, such as closest focus and frame rate, which none does."""
        return self.parts.missing

    def source(self, field: str) -> Told[Any] | None:
        """Return what told a field of a kit, named as in `KitParts`; ``None`` where the picture does not tell it."""
        if field in self.missing:
            return None
        limit = {
            "lowest_iso": self.iso,
            "highest_iso": self.iso,
            "shortest_s": self.exposure_s,
            "narrowest": self.f_number,
        }.get(field)
        if limit is not None:
            return replace(limit, sure=Sure.ONE_SETTING)
        return {
            "sensor_width_mm": self.sensor_mm,
            "sensor_height_mm": self.sensor_mm,
            "width_px": self.pixels,
            "height_px": self.pixels,
            "shortest_mm": self.focal_range_mm,
            "longest_mm": self.focal_range_mm,
            "widest_at_shortest": self.widest,
            "widest_at_longest": self.widest,
        }[field]


def read_kit(path: Path) -> KitFromPicture:
    """Return what the picture's tags say about the camera and the lens.

    Parameters
    ----------
    path : Path
        A JPEG, HEIF, PNG or RAW file, best as the camera wrote it; opened for reading only.

    Returns
    -------
    KitFromPicture
        Each value with the tag that told it and how sure it is.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read, is empty, holds no picture, or is damaged in its structure.
    """
    tags, exif = read_tags(path), _exif(path)
    pixels = pixels_told(exif, tags.width_px, tags.height_px)
    focal_length_mm = tags.focal_length_mm or exif.number("Image.FocalLength", 0.5, 20_000.0)
    sensor, remarks = (None, ()) if pixels is None else sensor_told(exif, pixels.value, focal_length_mm)
    focal = focal_range_told(exif, focal_length_mm)
    widest, more_remarks = widest_told(exif, focal, focal_length_mm, tags.f_number)
    return KitFromPicture(
        path=path,
        camera=_told(tags.camera, exif, "Image.Model", "Make"),
        camera_serial=_told(tags.camera_serial, exif, "Photo.BodySerialNumber", "maker's serial number"),
        lens=_told(tags.lens, exif, "Photo.LensModel", "maker's lens tag"),
        pixels=pixels,
        sensor_mm=sensor,
        focal_range_mm=focal,
        widest=widest,
        focal_length_mm=_told(focal_length_mm, exif, "Photo.FocalLength", "FocalLength"),
        f_number=_told(tags.f_number, exif, "Photo.FNumber", "FNumber"),
        exposure_s=_told(tags.exposure_s, exif, "Photo.ExposureTime", "ShutterSpeedValue"),
        iso=_told(tags.iso, exif, "Photo.ISOSpeedRatings", "another tag for sensitivity"),
        remarks=(*remarks, *more_remarks, *_focal_remarks(focal, focal_length_mm), *_settings_remarks(tags)),
    )


def _exif(path: Path) -> ExifValues:
    # The whole file: one picture is read once in a kit's life, so there is nothing to save with its first part.
    data = read_whole(path)
    try:
        return read_exif(data)
    except exiv2.Exiv2Error:
        pass
    try:
        return read_exif(essential_segments(data))
    except exiv2.Exiv2Error as error:
        raise UnreadableFrame(path, "the file is damaged in its headers; copy it from the card again") from error


def _focal_remarks(focal: Told[tuple[float, float]] | None, focal_length_mm: float | None) -> tuple[str, ...]:
    if focal is None or focal_length_mm is None:
        return ()
    if focal.sure is Sure.ONE_SETTING:
        return (f"taken at {focal_length_mm:g} mm; if the lens zooms, its range has to be given",)
    if focal_length_mm > focal.value[1] * BEYOND_THE_LENS:
        return (f"taken at {focal_length_mm:g} mm, beyond the lens's range; was there a converter on it?",)
    return ()


def _settings_remarks(tags: Tags) -> tuple[str, ...]:
    remarks = []
    if tags.exposure_s is not None and tags.exposure_s < TYPICAL["shortest_s"]:
        remarks.append(f"taken at 1/{1 / tags.exposure_s:.0f} s, so the camera goes so short at least")
    if tags.iso is not None and not TYPICAL["lowest_iso"] <= tags.iso <= TYPICAL["highest_iso"]:
        how = "low" if tags.iso < TYPICAL["lowest_iso"] else "high"
        remarks.append(f"taken at ISO {tags.iso}, so the camera goes so {how} at least")
    if tags.f_number is not None and tags.f_number > TYPICAL["narrowest"]:
        remarks.append(f"taken at f/{tags.f_number:g}, so the lens closes so far at least")
    return tuple(remarks)


def _told(value: T | None, exif: ExifValues, key: str, otherwise: str) -> Told[T] | None:
    """Return the value with its tag's name: that of ``key`` where the file holds it."""
    if value is None:
        return None
    return Told(value, key.partition(".")[2] if key in exif else otherwise, Sure.EXACT)


def _pair(told: Told[tuple[T, T]] | None) -> tuple[T, T] | tuple[None, None]:
    return (None, None) if told is None else told.value


def _beyond(told: Told[float] | None, *, below: float = 0.0, above: float = float("inf")) -> float | None:
    return told.value if told is not None and (told.value < below or told.value > above) else None
