"""The tags that a camera writes into a frame, and where they go in the file."""

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

import exiv2

from stillwing.scene.camera import Camera

__all__ = ["Shot", "with_tags"]

MAKE = "stillwing scene"
CENTIMETRE = "3"
"""Unit of a resolution (Exif 2.32)."""


@dataclass(frozen=True, slots=True)
class Shot:
    """What differs from frame to frame. ``taken_at`` is aware and keeps milliseconds."""

    taken_at: datetime
    sequence_number: int
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    altitude_m: float | None = None


def with_tags(jpeg: bytes, camera: Camera, shot: Shot, thumbnail: bytes | None) -> bytes:
    """Return the JPEG file with Exif tags, and with ``thumbnail`` in its thumbnail directory."""
    image = exiv2.ImageFactory.open(jpeg)
    exif = exiv2.ExifData()
    offset = shot.taken_at.strftime("%z")
    when = shot.taken_at.strftime("%Y:%m:%d %H:%M:%S")
    milliseconds = f"{shot.taken_at.microsecond // 1000:03d}"
    ratio = Fraction(camera.exposure_s).limit_denominator(64000)
    text = {
        "Exif.Image.Make": MAKE,
        "Exif.Image.Model": camera.name,
        "Exif.Image.DateTime": when,
        "Exif.Image.Software": "stillwing",
        "Exif.Photo.DateTimeOriginal": when,
        "Exif.Photo.DateTimeDigitized": when,
        "Exif.Photo.SubSecTime": milliseconds,
        "Exif.Photo.SubSecTimeOriginal": milliseconds,
        "Exif.Photo.OffsetTimeOriginal": f"{offset[:3]}:{offset[3:]}",
        "Exif.Photo.BodySerialNumber": camera.serial,
        "Exif.Photo.LensModel": camera.lens,
    }
    numbers = {
        "Exif.Image.Orientation": "1",
        "Exif.Photo.ExposureTime": f"{ratio.numerator}/{ratio.denominator}",
        "Exif.Photo.FNumber": _rational(camera.f_number, 10),
        "Exif.Photo.ISOSpeedRatings": str(camera.iso),
        "Exif.Photo.FocalLength": _rational(camera.focal_length_mm, 10),
        "Exif.Photo.SubjectDistance": _rational(camera.focus_distance_m, 1000),
        "Exif.Photo.PixelXDimension": str(camera.width_px),
        "Exif.Photo.PixelYDimension": str(camera.height_px),
        "Exif.Photo.FocalPlaneXResolution": _resolution(camera),
        "Exif.Photo.FocalPlaneYResolution": _resolution(camera),
        "Exif.Photo.FocalPlaneResolutionUnit": CENTIMETRE,
        "Exif.Photo.ColorSpace": "1",
        "Exif.Photo.ExposureProgram": "1",
        "Exif.Photo.ImageUniqueID": f"{shot.sequence_number:032x}",
    }
    if shot.latitude_deg is not None and shot.longitude_deg is not None:
        text["Exif.GPSInfo.GPSLatitudeRef"] = "N" if shot.latitude_deg >= 0 else "S"
        text["Exif.GPSInfo.GPSLongitudeRef"] = "E" if shot.longitude_deg >= 0 else "W"
        numbers["Exif.GPSInfo.GPSLatitude"] = _degrees(abs(shot.latitude_deg))
        numbers["Exif.GPSInfo.GPSLongitude"] = _degrees(abs(shot.longitude_deg))
        numbers["Exif.GPSInfo.GPSAltitude"] = _rational(shot.altitude_m or 0.0, 10)
        numbers["Exif.GPSInfo.GPSAltitudeRef"] = "0"
    for key, value in (text | numbers).items():
        exif[key] = value
    if thumbnail is not None:
        exiv2.ExifThumb(exif).setJpegThumbnail(thumbnail)
    image.setExifData(exif)
    image.writeMetadata()
    io = image.io()
    io.open()
    with io.data() as written:
        return bytes(written)


def _rational(value: float, denominator: int) -> str:
    return f"{round(value * denominator)}/{denominator}"


def _resolution(camera: Camera) -> str:
    """Return the sensor's pixels in a centimetre."""
    return f"{camera.width_px * 1000}/{round(camera.sensor_width_mm * 100)}"


def _degrees(angle: float) -> str:
    whole = int(angle)
    minutes = int((angle - whole) * 60)
    seconds = (angle - whole - minutes / 60) * 3600
    return f"{whole}/1 {minutes}/1 {round(seconds * 100)}/100"
