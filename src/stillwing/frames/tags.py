"""What a file says about its shot, from its headers alone; no pixel is decoded.

libexiv2 reads the tags from the first part of the file where that is enough. Values that no camera can mean become
``None``.
"""

import math
from datetime import datetime, timedelta, timezone
from pathlib import Path

import exiv2

from stillwing.errors import UnreadableFrame
from stillwing.frames.exif import ExifValues, read_exif
from stillwing.frames.files import HEAD_BYTES, FileKind, check_kind, kind_of_bytes, read_head, read_whole
from stillwing.frames.frame import Tags
from stillwing.frames.heif import heif_size
from stillwing.frames.jpeg import essential_segments, jpeg_header
from stillwing.frames.makernotes import (
    drive_mode,
    focus_area,
    focus_distance,
    focus_mode,
    sequence_number,
    serial_number,
    time_zone,
)
from stillwing.frames.orientation import rect_upright, sides_swapped

__all__ = ["read_tags"]

RAW_HEAD_BYTES = 2 * 1024 * 1024
"""RAW files keep their tags and small previews before the sensor data; those that do not are read whole."""

TIMES = (
    ("Photo.DateTimeOriginal", "Photo.SubSecTimeOriginal", "Photo.OffsetTimeOriginal"),
    ("Image.DateTimeOriginal", "Photo.SubSecTimeOriginal", "Photo.OffsetTimeOriginal"),
    ("Photo.DateTimeDigitized", "Photo.SubSecTimeDigitized", "Photo.OffsetTimeDigitized"),
    ("Image.DateTime", "Photo.SubSecTime", "Photo.OffsetTime"),
)

SHORTEST_S, LONGEST_S = 1e-6, 86400.0
LARGEST_ISO = 10_000_000
ISO_OVERFLOW = 65535
"""Written where the sensitivity does not fit 16 bits; the true one stands in the longer tags of Exif 2.3."""
LARGEST_SIDE_PX = 200_000


def read_tags(path: Path) -> Tags:
    """Return what the file's headers say about the shot.

    Parameters
    ----------
    path : Path
        A JPEG, HEIF, PNG or RAW file; opened for reading only.

    Returns
    -------
    Tags
        Sizes and areas are those of the upright picture. ``None`` where the file says nothing believable.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read, is empty, holds no picture, or is damaged in its structure.

    Notes
    -----
    The time is the start of exposure: DateTimeOriginal with SubSecTimeOriginal and OffsetTimeOriginal of Exif 2.32,
    else the maker's own zone; a file that gives no zone has a naive time.
    """
    exif, kind, data = _read(path)
    orientation = exif.count("Image.Orientation", 1, 8) or 1
    stored_width, stored_height = _stored_size(exif, kind, data, orientation)
    width, height = (stored_height, stored_width) if sides_swapped(orientation) else (stored_width, stored_height)
    area = focus_area(exif, stored_width, stored_height)
    taken_at, has_subseconds = _time(exif)
    latitude, longitude = _position(exif)
    return Tags(
        taken_at=taken_at,
        has_subseconds=has_subseconds,
        exposure_s=_exposure(exif),
        f_number=exif.number("Photo.FNumber", 0.5, 128.0),
        iso=_iso(exif),
        focal_length_mm=exif.number("Photo.FocalLength", 0.5, 20_000.0),
        focus_distance_m=focus_distance(exif),
        drive_mode=drive_mode(exif),
        sequence_number=sequence_number(exif),
        # libheif turns the picture itself, by the container's own boxes.
        orientation=1 if kind is FileKind.HEIF else orientation,
        width_px=width or None,
        height_px=height or None,
        camera=_camera(exif),
        camera_serial=serial_number(exif),
        lens=_lens(exif),
        focus_area_px=None if area is None else rect_upright(area, stored_width, stored_height, orientation),
        latitude_deg=latitude,
        longitude_deg=longitude,
        altitude_m=_altitude(exif),
        focus_mode=focus_mode(exif),
    )


def _read(path: Path) -> tuple[ExifValues, FileKind, bytes]:
    head = read_head(path)
    # The contents decide here: tags are worth reading from a file with the wrong ending, pixels are another matter.
    kind = kind_of_bytes(head) or check_kind(path, head)
    if kind is FileKind.RAW and len(head) == HEAD_BYTES:
        head = read_head(path, RAW_HEAD_BYTES)
    is_whole = len(head) < (RAW_HEAD_BYTES if kind is FileKind.RAW else HEAD_BYTES)
    if is_whole or kind is FileKind.JPEG or (kind is FileKind.RAW and _directory_within(head)):
        try:
            return read_exif(head), kind, head
        except exiv2.Exiv2Error as error:
            if is_whole:
                return _read_essentials(path, kind, head, error)
    data = read_whole(path)
    try:
        return read_exif(data), kind, data
    except exiv2.Exiv2Error as error:
        return _read_essentials(path, kind, data, error)


def _read_essentials(
    path: Path, kind: FileKind, data: bytes, error: exiv2.Exiv2Error
) -> tuple[ExifValues, FileKind, bytes]:
    """Return the tags of a JPEG whose other segments, such as a broken colour profile, libexiv2 stumbles over."""
    if kind is FileKind.JPEG and jpeg_header(data) is not None:
        try:
            return read_exif(essential_segments(data)), kind, data
        except exiv2.Exiv2Error:
            pass
    raise _damaged(path, kind) from error


def _damaged(path: Path, kind: FileKind) -> UnreadableFrame:
    return UnreadableFrame(path, f"the {kind} file is damaged in its headers; copy it from the card again")


def _stored_size(exif: ExifValues, kind: FileKind, data: bytes, orientation: int) -> tuple[int, int]:
    """Return the stored picture's width and height, 0 where they are not known or absurd. [px]"""
    # Exif in a HEIF file may tell the size that the picture had before it was edited.
    upright_size = heif_size(data) if kind is FileKind.HEIF else None
    if upright_size is not None:
        size = upright_size[::-1] if sides_swapped(orientation) else upright_size
    else:
        size = exif.size_px
    width, height = (side if 0 < side <= LARGEST_SIDE_PX else 0 for side in size)
    return width, height


def _directory_within(head: bytes) -> bool:
    """Return whether a TIFF-like file's first directory lies in its first part."""
    order = {b"II": "little", b"MM": "big"}.get(head[:2])
    return order is not None and int.from_bytes(head[4:8], "little" if order == "little" else "big") < len(head) // 2


def _time(exif: ExifValues) -> tuple[datetime | None, bool]:
    for time_key, fraction_key, offset_key in TIMES:
        when = exif.time(time_key)
        if when is None:
            continue
        fraction = exif.subseconds(fraction_key)
        offset = exif.offset(offset_key) or exif.offset("Photo.OffsetTimeOriginal") or _older_zone(exif)
        return (when + (fraction or timedelta(0))).replace(tzinfo=offset), fraction is not None
    return None, False


def _older_zone(exif: ExifValues) -> timezone | None:
    return exif.offset("Photo.OffsetTime") or time_zone(exif)


def _exposure(exif: ExifValues) -> float | None:
    exposure = exif.number("Photo.ExposureTime", SHORTEST_S, LONGEST_S)
    if exposure is not None:
        return exposure
    apex = exif.number("Photo.ShutterSpeedValue", -16.0, 20.0)
    return None if not apex else math.exp2(-apex)


def _iso(exif: ExifValues) -> int | None:
    iso = exif.count("Photo.ISOSpeedRatings", 1, LARGEST_ISO)
    if iso is not None and iso != ISO_OVERFLOW:
        return iso
    for key in ("RecommendedExposureIndex", "StandardOutputSensitivity", "ISOSpeed", "ExposureIndex"):
        iso = exif.count(f"Photo.{key}", 1, LARGEST_ISO)
        if iso is not None and iso != ISO_OVERFLOW:
            return iso
    return None


def _camera(exif: ExifValues) -> str | None:
    make, model = exif.text("Image.Make"), exif.text("Image.Model")
    if make is None or model is None:
        return model or make
    return model if model.lower().startswith(make.split()[0].lower()) else f"{make} {model}"


def _lens(exif: ExifValues) -> str | None:
    lens = exif.text("Photo.LensModel")
    if lens is None:
        datum = exiv2.lensName(exif.native)
        lens = None if datum is None else str(datum.print(exif.native)).strip()
    # libexiv2 prints a number in brackets for a lens that it does not know.
    return None if not lens or lens.strip("-0 ") == "" or lens.startswith("(") or lens.isdigit() else lens


def _position(exif: ExifValues) -> tuple[float | None, float | None]:
    if exif.text("GPSInfo.GPSStatus") == "V":
        return None, None
    latitude = _angle(exif, "GPSInfo.GPSLatitude", "S", 90.0)
    longitude = _angle(exif, "GPSInfo.GPSLongitude", "W", 180.0)
    # Some cameras write 0, 0 for "no fix"; that point is open sea.
    if latitude is None or longitude is None or (latitude == 0 and longitude == 0):
        return None, None
    return latitude, longitude


def _angle(exif: ExifValues, key: str, negative: str, largest: float) -> float | None:
    parts = exif.numbers(key)
    if not 1 <= len(parts) <= 3 or not all(part >= 0 for part in parts):
        return None
    angle = sum(part / 60.0**power for power, part in enumerate(parts))
    if angle > largest:
        return None
    return -angle if (exif.text(f"{key}Ref") or "").upper().startswith(negative) else angle


def _altitude(exif: ExifValues) -> float | None:
    altitude = exif.number("GPSInfo.GPSAltitude", 0.0, 9000.0)
    if altitude is None:
        return None
    return -altitude if exif.count("GPSInfo.GPSAltitudeRef", 1, 1) else altitude
