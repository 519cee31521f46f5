"""What makers write in their own notes, by the names that libexiv2 gives their tags.

Only tags whose unit and meaning are known are read. Each table is tried in order; the first believable value wins.
Formulas and codes are those of libexiv2 0.28, whose printed values are the tests' outside truth.
"""

import math
import re
from collections.abc import Callable
from datetime import timezone

from stillwing.frames.exif import UNKNOWN_LONG, ExifValues, zone
from stillwing.frames.orientation import Rect

__all__ = [
    "drive_mode",
    "focus_area",
    "focus_distance",
    "focus_mode",
    "sequence_number",
    "serial_number",
    "time_zone",
]

NEAREST_M, FARTHEST_M = 0.01, 5000.0
"""Focus distances outside this are codes for "unknown" or "infinity"."""

SERIAL_KEYS = (
    "Photo.BodySerialNumber",
    "Image.CameraSerialNumber",
    "Canon.SerialNumber",
    "Nikon3.SerialNumber",
    "Nikon3.SerialNO",
    "OlympusEq.SerialNumber",
    "OlympusEq.InternalSerialNumber",
    "Olympus2.SerialNumber2",
    "Olympus.SerialNumber2",
    "Fujifilm.SerialNumber",
    "Panasonic.InternalSerialNumber",
    "Pentax.SerialNumber",
    "PentaxDng.SerialNumber",
    "Sony2.SerialNumber",
    "Sony1.SerialNumber",
    "Sigma.SerialNumber",
)

SEQUENCE_KEYS = (
    "Sony2010e.SequenceImageNumber",
    "SonyMisc3c.SequenceImageNumber",
    "Sony2.SequenceNumber",
    "Sony1.SequenceNumber",
    "Fujifilm.SequenceNumber",
    "Panasonic.SequenceNumber",
    "CanonRawB.RawBurstImageNum",
    "CanonSi.Sequence",
    "Casio2.SequenceNumber",
)

DRIVE_KEYS = (
    "CanonCs.DriveMode",
    "Nikon3.ShootingMode",
    "Fujifilm.DriveSetting",
    "Fujifilm.Continuous",
    "Panasonic.BurstMode",
    "SonyMisc3c.ReleaseMode2",
    "Sony2.ReleaseMode",
    "Sony1.ReleaseMode",
    "Sony2Cs.DriveMode",
    "Sony1Cs.DriveMode",
    "Sony1MltCsNew.DriveMode",
    "MinoltaCsNew.DriveMode",
    "MinoltaCsOld.DriveMode",
    "Pentax.DriveMode",
    "PentaxDng.DriveMode",
    "Casio2.ReleaseMode",
    "Casio2.DriveMode",
    "Sigma.DriveMode",
)

# Order matters: "Continuous, exposure bracketing" is bracketing, and a self-timer's single shot is the timer's.
DRIVE_WORDS = (
    (re.compile(r"bracket|hdr", re.IGNORECASE), "bracketing"),
    (re.compile(r"contin|burst|sequen|infinite|^(high|low|on)\b", re.IGNORECASE), "continuous"),
    (re.compile(r"self-timer|delay", re.IGNORECASE), "self-timer"),
    (re.compile(r"\bsingle|^normal|^off", re.IGNORECASE), "single"),
)

FOCUS_KEYS = (
    "CanonCs.FocusMode",
    "Nikon3.Focus",
    "OlympusCs.FocusMode",
    "Panasonic.FocusMode",
    "Fujifilm.FocusMode",
    "Sony2Fp.FocusMode",
    "Sony1.FocusMode3",
    "Sony1.FocusMode",
    "Sony1.FocusMode2",
    "Pentax.Focus",
    "PentaxDng.Focus",
)

# Order matters: focus that follows is continuous too, and a lens turned by hand after one shot's focus is one shot's.
FOCUS_WORDS = (
    (re.compile(r"track|C-AF\+TR", re.IGNORECASE), "tracking"),
    (re.compile(r"\bAF-?C\b|C-AF|contin|servo", re.IGNORECASE), "continuous"),
    (re.compile(r"\bAF-?S\b|S-AF|single|one.?shot", re.IGNORECASE), "single"),
    (re.compile(r"manual|\bMF\b", re.IGNORECASE), "manual"),
)

DRIVE_CODES = {0: "single", 1: "continuous"} | dict.fromkeys((2, 3, 4, 5), "bracketing")
"""First number of the drive mode that libexiv2 gives no words for."""


def focus_distance(exif: ExifValues) -> float | None:
    """Return the distance that the lens was focused at, or ``None`` where it is unknown or infinite. [m]"""
    for rule in (
        _standard_distance,
        _upper_and_lower_distance,
        _steps_distance,
        _millimetres_distance,
        _rational_distance,
    ):
        distance = rule(exif)
        if distance is not None and NEAREST_M <= distance <= FARTHEST_M:
            return distance
    return None


def serial_number(exif: ExifValues) -> str | None:
    """Return the body's serial number as the camera prints it; ``None`` where it is missing or blank zeros."""
    for key in SERIAL_KEYS:
        words = exif.text(key)
        if words is None:
            continue
        serial = re.sub(r"^(NO|SN)\s*[=.:]\s*", "", words, flags=re.IGNORECASE).strip()
        if serial.strip("0 -_") and not re.fullmatch(r"[fFxX]+|4294967295|(255 ?)+|(0 ?)+", serial):
            return serial
    return None


def sequence_number(exif: ExifValues) -> int | None:
    """Return the frame's number within its burst, or ``None`` where the maker gives none or it was a single shot."""
    for key in SEQUENCE_KEYS:
        number = exif.count(key, 1, 60000)
        if number is not None:
            return number
    # Two makers' arrays: the drive mode first, the shot's number within it second.
    for key in ("OlympusCs.DriveMode", "Olympus2.SpecialMode", "Olympus.SpecialMode"):
        values = exif.numbers(key)
        if len(values) >= 2 and values[0] > 0 and 1 <= values[1] <= 60000:
            return int(values[1])
    return None


def drive_mode(exif: ExifValues) -> str | None:
    """Return "single", "continuous", "bracketing" or "self-timer", or ``None`` where the notes do not say."""
    for key in DRIVE_KEYS:
        printed = exif.printed(key) or ""
        for pattern, word in DRIVE_WORDS:
            if pattern.search(printed):
                return word
    for key, words in (
        ("OlympusCs.DriveMode", DRIVE_CODES),
        ("Olympus2.SpecialMode", {0: "single", 2: "continuous"}),
        ("Olympus.SpecialMode", {0: "single", 2: "continuous"}),
    ):
        values = exif.numbers(key)
        if values and values[0] in words:
            return words[int(values[0])]
    return None


def focus_mode(exif: ExifValues) -> str | None:
    """Return "single", "continuous", "tracking" or "manual", or ``None`` where the notes do not say."""
    for key in FOCUS_KEYS:
        printed = exif.printed(key) or ""
        for pattern, word in FOCUS_WORDS:
            if pattern.search(printed):
                return word
    return None


def time_zone(exif: ExifValues) -> timezone | None:
    """Return the camera clock's zone with daylight saving, from makers who wrote it before Exif had a tag for it."""
    for place, summer, summer_minutes in (
        ("NikonWt.Timezone", "NikonWt.DaylightSavings", 60),
        ("CanonTi.TimeZone", "CanonTi.DaylightSavings", 1),  # holds 60 when it is on
    ):
        minutes = exif.number(place, -14 * 60, 14 * 60)
        if minutes is not None:
            return zone(minutes + summer_minutes * (exif.number(summer, 0, 60) or 0))
    return None


def focus_area(exif: ExifValues, width: int, height: int) -> Rect | None:
    """Return left, top, width and height of the area that the camera focused on, in the stored picture. [px]

    A point without a size has a width and height of 0. ``width`` and ``height`` are the stored picture's. [px]
    """
    if width <= 0 or height <= 0:
        return None
    for rule in AREA_RULES:
        area = rule(exif, width, height)
        if area is not None and area[2] <= width and area[3] <= height:
            centre_x, centre_y = area[0] + area[2] / 2, area[1] + area[3] / 2
            if 0 < centre_x < width and 0 < centre_y < height:
                return area
    return None


def _standard_distance(exif: ExifValues) -> float | None:
    for key in ("Photo.SubjectDistance", "Image.SubjectDistance"):
        if exif.numerator(key) not in (None, 0, UNKNOWN_LONG):
            return exif.number(key, NEAREST_M, FARTHEST_M)
    return None


def _upper_and_lower_distance(exif: ExifValues) -> float | None:
    # Centimetres; both bounds of the focus scale's step, 65535 for infinity.
    upper = _unsigned(exif, "CanonFi.FocusDistanceUpper")
    lower = _unsigned(exif, "CanonFi.FocusDistanceLower")
    if upper and upper < 65000:
        return (upper + (lower or upper)) / 2 / 100
    subject = _unsigned(exif, "CanonSi.SubjectDistance")
    return subject / 100 if subject and subject < 65000 and upper is None else None


def _steps_distance(exif: ExifValues) -> float | None:
    # A byte on a logarithmic scale: 40 steps per decade from 1 cm; 0 is unknown.
    for key in ("NikonLd4.FocusDistance", "NikonLd3.FocusDistance", "NikonLd2.FocusDistance"):
        step = exif.number(key, 1, 254)
        if step is not None:
            return 0.01 * 10 ** (step / 40)
    return None


def _millimetres_distance(exif: ExifValues) -> float | None:
    # The denominator of this maker's rational varies between bodies and means nothing: the numerator is in mm.
    for read, key in (
        (exif.numerator, "OlympusFi.FocusDistance"),
        (exif.numerator, "Casio2.ObjectDistance"),
        (exif.numerator, "Casio.ObjectDistance"),
        (exif.numerator, "MinoltaCsNew.FocusDistance"),
        (exif.numerator, "MinoltaCsOld.FocusDistance"),
    ):
        millimetres = read(key)
        if millimetres and millimetres != UNKNOWN_LONG:
            return millimetres / 1000
    return None


def _rational_distance(exif: ExifValues) -> float | None:
    for key in ("Nikon3.FocusDistance", "Nikon1.FocusDistance"):
        distance = exif.number(key, NEAREST_M, FARTHEST_M)
        if distance is not None:
            return distance
    return exif.xmp_number("Xmp.aux.ApproximateFocusDistance")


def _unsigned(exif: ExifValues, key: str) -> int | None:
    values = exif.numbers(key)
    return int(values[0]) & 0xFFFF if values and math.isfinite(values[0]) else None


def _standard_area(exif: ExifValues, width: int, height: int) -> Rect | None:
    values = exif.numbers("Photo.SubjectArea") or exif.numbers("Photo.SubjectLocation")
    match values:
        case (x, y):
            return x, y, 0.0, 0.0
        case (x, y, diameter):
            return _around(x, y, diameter, diameter)
        case (x, y, wide, high):
            return _around(x, y, wide, high)
    return None


def _location_area(exif: ExifValues, width: int, height: int) -> Rect | None:
    # Width and height of the picture that the place refers to, then the place, from the top left.
    for group in ("Sony2", "Sony1"):
        values = exif.numbers(f"{group}.FocusLocation")
        if len(values) == 4 and min(values) > 0:
            across, down = width / values[0], height / values[1]
            size = exif.numbers(f"{group}.FocusFrameSize")
            if len(size) == 6:  # newer bodies write three little-endian numbers as six bytes
                size = tuple(low + 256 * high for low, high in zip(size[::2], size[1::2], strict=True))
            wide, high = (size[0], size[1]) if len(size) == 3 and size[2] > 0 else (0.0, 0.0)
            return _around(values[2] * across, values[3] * down, wide * across, high * down)
    return None


def _packed_area(exif: ExifValues, width: int, height: int) -> Rect | None:
    # Four bytes x1, y1, x2, y2 in 255ths of the picture; the first area in use.
    for packed in exif.numbers("OlympusCs.AFAreas"):
        if packed > 0:
            x1, y1, x2, y2 = int(packed).to_bytes(4, "big")
            if x2 >= x1 and y2 >= y1:
                return x1 / 255 * width, y1 / 255 * height, (x2 - x1) / 255 * width, (y2 - y1) / 255 * height
    return None


def _contrast_area(exif: ExifValues, width: int, height: int) -> Rect | None:
    # Centre and size in pixels of a picture whose size stands beside; all zero with phase detection.
    for group in ("NikonAf22", "NikonAf2"):
        names = ("AFImageWidth", "AFImageHeight", "AFAreaXPosition", "AFAreaYPosition", "AFAreaWidth", "AFAreaHeight")
        values = [exif.number(f"{group}.{name}", 1, 65534) for name in names]
        known = [value for value in values if value is not None]
        if len(known) == len(names):
            across, down = width / known[0], height / known[1]
            return _around(known[2] * across, known[3] * down, known[4] * across, known[5] * down)
    return None


def _points_in_focus(exif: ExifValues, width: int, height: int) -> Rect | None:
    # From the picture's centre, x to the right and y upwards on the bodies with interchangeable lenses.
    if "EOS" not in (exif.text("Image.Model") or ""):
        return None
    wide, high = exif.number("Canon.AFImageWidth", 1, 65534), exif.number("Canon.AFImageHeight", 1, 65534)
    columns = [
        exif.numbers(f"Canon.{name}") for name in ("AFXPositions", "AFYPositions", "AFAreaWidths", "AFAreaHeights")
    ]
    words = exif.numbers("Canon.AFPointsInFocus")
    if wide is None or high is None or not all(columns):
        return None
    used = [i for i, _ in enumerate(columns[0]) if i // 16 < len(words) and int(words[i // 16]) >> i % 16 & 1]
    areas = [(columns[0][i], -columns[1][i], columns[2][i], columns[3][i]) for i in used if i < min(map(len, columns))]
    if not areas:
        return None
    left, top = min(x - w / 2 for x, _, w, _ in areas), min(y - h / 2 for _, y, _, h in areas)
    right, below = max(x + w / 2 for x, _, w, _ in areas), max(y + h / 2 for _, y, _, h in areas)
    across, down = width / wide, height / high
    return width / 2 + left * across, height / 2 + top * down, (right - left) * across, (below - top) * down


def _relative_point(exif: ExifValues, width: int, height: int) -> Rect | None:
    values = exif.numbers("Panasonic.AFPointPosition")
    if len(values) == 2 and all(0 < value < 1 for value in values):
        return values[0] * width, values[1] * height, 0.0, 0.0
    return None


def _pixel_point(exif: ExifValues, width: int, height: int) -> Rect | None:
    values = exif.numbers("Fujifilm.FocusPoint")
    return (values[0], values[1], 0.0, 0.0) if len(values) == 2 and min(values) > 0 else None


AREA_RULES: tuple[Callable[[ExifValues, int, int], Rect | None], ...] = (
    _standard_area,
    _location_area,
    _packed_area,
    _contrast_area,
    _points_in_focus,
    _relative_point,
    _pixel_point,
)


def _around(x: float, y: float, width: float, height: float) -> Rect:
    return x - width / 2, y - height / 2, width, height
