"""Exif values as plain numbers and words, with what no camera can mean left out.

A tag holds whatever the maker, a converter or a broken card put there: 0/0, 4294967295, the year 0000. Each function
here returns ``None`` for a value that is absent, malformed or outside what the thing measured can be.
"""

import math
import re
from collections.abc import Iterator
from datetime import datetime, timedelta, timezone

import exiv2

__all__ = ["UNKNOWN_LONG", "ExifValues", "read_exif"]

UNKNOWN_LONG = 0xFFFFFFFF
"""Numerator that Exif 2.32 uses for "infinity" (SubjectDistance) and makers for "not known"."""

EARLIEST_YEAR, LATEST_YEAR = 1970, 2100
LARGEST_OFFSET = timedelta(hours=14)
"""The widest difference from UTC in civil use."""

_TIME = re.compile(r"(\d{4})[:/-](\d\d?)[:/-](\d\d?)[ T]+(\d\d?):(\d\d):(\d\d)")
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)")
_SILENT = False


class ExifValues:
    """The Exif tags of one file by libexiv2's names, without the leading "Exif."."""

    def __init__(self, image: exiv2.Image) -> None:
        self.image = image  # the values point into it
        self._found = {datum.key()[5:]: datum for datum in image.exifData()}

    def __contains__(self, key: str) -> bool:
        return key in self._found

    @property
    def native(self) -> exiv2.ExifData:
        """libexiv2's own collection, for its own lookups."""
        return self.image.exifData()

    @property
    def size_px(self) -> tuple[int, int]:
        """Stored width and height as the file's structure tells them; 0 where it does not."""
        return self.image.pixelWidth(), self.image.pixelHeight()

    def xmp_number(self, key: str) -> float | None:
        """Return an XMP property that is a number or a rational."""
        data = self.image.xmpData()
        if key not in data:
            return None
        match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)(?:/(\d+))?\s*", data[key].toString())
        if match is None or match[1] == str(UNKNOWN_LONG) or (match[2] is not None and int(match[2]) == 0):
            return None
        return float(match[1]) / float(match[2] or 1)

    def numbers(self, key: str) -> tuple[float, ...]:
        """Return all components, with NaN for a rational over zero; empty where the tag is absent."""
        datum = self._found.get(key)
        return () if datum is None else tuple(_components(datum))

    def number(self, key: str, low: float, high: float) -> float | None:
        """Return the first component where it lies within ``low`` to ``high``."""
        datum = self._found.get(key)
        if datum is None:
            return None
        value = next(_components(datum), math.nan)
        return value if low <= value <= high else None

    def count(self, key: str, low: int, high: int) -> int | None:
        """Return the first component as a whole number where it lies within ``low`` to ``high``."""
        value = self.number(key, low, high)
        return None if value is None else round(value)

    def numerator(self, key: str) -> int | None:
        """Return the first component's numerator, for makers whose denominator means nothing."""
        datum = self._found.get(key)
        if datum is None or not datum.count():
            return None
        return int(datum.toRational(0)[0]) & UNKNOWN_LONG

    def text(self, key: str) -> str | None:
        """Return a text without its padding; ``None`` where nothing printable is left."""
        datum = self._found.get(key)
        if datum is None:
            return None
        words = datum.toString().partition("\0")[0]
        return " ".join("".join(letter for letter in words if letter.isprintable()).split()) or None

    def printed(self, key: str) -> str | None:
        """Return libexiv2's own words for the value."""
        datum = self._found.get(key)
        return None if datum is None else str(datum.print(self.native)).strip()

    def time(self, key: str) -> datetime | None:
        """Return a time of day, naive, in whole seconds."""
        match = _TIME.match(self.text(key) or "")
        if match is None:
            return None
        try:
            year, month, day, hour, minute, second = map(int, match.groups())
            when = datetime(year, month, day, hour, minute, second)
        except ValueError:
            return None
        return when if EARLIEST_YEAR <= when.year <= LATEST_YEAR else None

    def subseconds(self, key: str) -> timedelta | None:
        """Return the fraction of a second; Exif writes its decimals, so that "066" is 0.066 s."""
        digits = (self.text(key) or "").strip()
        if not (digits.isascii() and digits.isdigit()):
            return None
        return timedelta(microseconds=int(digits[:6].ljust(6, "0")))

    def offset(self, key: str) -> timezone | None:
        """Return a difference from UTC, written as "+02:00"."""
        words = self.text(key) or ""
        if words == "Z":
            return timezone(timedelta(0))
        match = _OFFSET.fullmatch(words)
        if match is None:
            return None
        return zone(int(f"{match[1]}1") * (int(match[2]) * 60 + int(match[3])))


def zone(minutes: float) -> timezone | None:
    """Return the zone that lies ``minutes`` east of UTC, or ``None`` where no clock on Earth runs so."""
    if not math.isfinite(minutes) or abs(minutes) > LARGEST_OFFSET.total_seconds() / 60 or minutes % 15:
        return None
    return timezone(timedelta(minutes=minutes))


def read_exif(data: bytes) -> ExifValues:
    """Return the tags in the bytes of a file, or in its first part.

    Raises
    ------
    exiv2.Exiv2Error
        If libexiv2 finds no picture file in the bytes.
    """
    _silence()
    image = exiv2.ImageFactory.open(data)
    image.readMetadata()
    return ExifValues(image)


def _silence() -> None:
    """Keep libexiv2's remarks on odd tags off the screen; they would appear once per frame."""
    global _SILENT
    if not _SILENT:
        exiv2.LogMsg.setLevel(exiv2.LogMsg.Level.mute)
        _SILENT = True


def _components(datum: exiv2.Exifdatum) -> Iterator[float]:
    match datum.typeId():
        case exiv2.TypeId.unsignedRational | exiv2.TypeId.signedRational:
            for index in range(datum.count()):
                over, under = datum.toRational(index)
                yield over / under if under else math.nan
        case exiv2.TypeId.tiffFloat | exiv2.TypeId.tiffDouble:
            for index in range(datum.count()):
                yield float(datum.toFloat(index))
        case exiv2.TypeId.asciiString | exiv2.TypeId.string | exiv2.TypeId.comment:
            return
        case _:
            # Not toFloat: its 32 bits hold whole numbers to 16,777,216 only.
            for index in range(datum.count()):
                yield float(datum.toInt64(index))
