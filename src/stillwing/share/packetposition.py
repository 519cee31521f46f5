"""A position in an XMP packet: the GPS properties of Exif, in the form that XMP gives them.

Latitude and longitude are written as "DDD,MM.mmmmk": degrees, minutes with their fraction, and N, S, E or W (the type
GPSCoordinate of the XMP Specification, 2005, chapter 4). With them go ``exif:GPSMapDatum`` and
``exif:GPSHPositioningError``, a ratio in metres (Exif 2.31, tag 31; from memory). Exif wants a GPSVersionID wherever
its GPS directory is; XMP has no such directory, so none is written.

A position is whole: if any of the four is there and is not ours, all are somebody else's and stay.
"""

import math
import re
from dataclasses import dataclass

from stillwing.place.position import Position
from stillwing.share.packetparts import EXIF, described, property_text, remove_value, replace_value
from stillwing.share.spans import Element, decoded, encoded

__all__ = [
    "PlacedPacket",
    "PositionMark",
    "holds_position",
    "position_in",
    "position_mark",
    "put_position",
    "restore_position",
]

LATITUDE, LONGITUDE = (EXIF, "GPSLatitude"), (EXIF, "GPSLongitude")
DATUM, ERROR = (EXIF, "GPSMapDatum"), (EXIF, "GPSHPositioningError")
WGS_84 = "WGS-84"
MINUTE_PARTS = 10_000
"""Of a minute: 0.2 m of latitude, a small part of what any receiver errs by."""
SAME_DEG = 1e-5
"""Another program may write a position anew with fewer digits; a metre is no new position (a choice, no source)."""
COORDINATE = re.compile(r"\s*(\d{1,3}),(\d{1,2}(?:\.\d+)?)(?:,(\d{1,2}(?:\.\d+)?))?([NSEWnsew])\s*")


@dataclass(frozen=True, slots=True)
class PositionMark:
    """A position as a packet says it."""

    latitude: str
    longitude: str
    error_m: str
    """A ratio such as ``49/10``."""

    @property
    def words(self) -> str:
        """Latitude and longitude, as in ``52,12.3000N 0,7.1400E``."""
        return f"{self.latitude} {self.longitude}"


@dataclass(frozen=True, slots=True)
class PlacedPacket:
    """A packet with a position in it, and what of another's stood against it."""

    packet: bytes
    ours: str | None
    """Words of our position in it; empty where ours was taken out, ``None`` where none of ours was or is."""
    kept: str | None
    """Position that somebody else set and that was left, where ours is another."""


def position_mark(position: Position, uncertainty_m: float) -> PositionMark:
    """Return a position as a packet says it; the uncertainty is rounded up to a decimetre.

    Examples
    --------
    >>> position_mark(Position(-0.119, 52.20511), 4.9)
    PositionMark(latitude='52,12.3066N', longitude='0,7.1400W', error_m='49/10')
    """
    # A hair off, so that 4.9 m does not become 5.0 by its last binary digit.
    tenths = math.ceil(uncertainty_m * 10 - 1e-6)
    return PositionMark(
        _coordinate(position.latitude_deg, "NS"), _coordinate(position.longitude_deg, "EW"), f"{tenths}/10"
    )


def put_position(packet: bytes, wanted: PositionMark | None, *, last: str | None) -> PlacedPacket:
    """Return ``packet`` with a position in place of an earlier one of ours, and nothing else changed.

    Parameters
    ----------
    packet : bytes
        The whole sidecar.
    wanted : PositionMark or None
        What it is to say; ``None`` takes ours out.
    last : str or None
        The words of the position that we wrote last. One that lies elsewhere was set by somebody else and stays.

    Raises
    ------
    NotXml
        If the packet is damaged.
    """
    text, encoding = decoded(packet)
    edits, about = described(text)
    held = _held(about)
    if held and not _is_at(held, last):
        is_against = wanted is not None and not _is_at(held, wanted.words)
        return PlacedPacket(packet, None, _words(held) if is_against else None)
    if wanted is None and not held:
        return PlacedPacket(packet, None, None)
    if wanted is None:
        for name in held:
            remove_value(edits, about, name)
        return PlacedPacket(encoded(edits.made(), encoding), "", None)
    values = {LATITUDE: wanted.latitude, LONGITUDE: wanted.longitude, DATUM: WGS_84, ERROR: wanted.error_m}
    for name, value in values.items():
        if name not in held:
            edits.append_to(about[0], property_text(about[0], name, value))
        elif held[name] != value:
            replace_value(edits, about, name, value)
    return PlacedPacket(encoded(edits.made(), encoding), wanted.words, None)


def holds_position(packet: bytes) -> bool:
    """Tell whether a packet says anything of where its picture was taken, whoever set it.

    Raises
    ------
    NotXml
        If the packet is damaged.
    """
    return not {LATITUDE, LONGITUDE}.isdisjoint(_held(described(decoded(packet)[0])[1]))


def position_in(packet: bytes) -> PositionMark | None:
    """Return the position of a packet, whoever set it; ``None`` where it says none, or only a part of one.

    Raises
    ------
    NotXml
        If the packet is damaged.
    """
    held = _held(described(decoded(packet)[0])[1])
    if not {LATITUDE, LONGITUDE, ERROR} <= held.keys():
        return None
    return PositionMark(held[LATITUDE], held[LONGITUDE], held[ERROR])


def restore_position(packet: bytes, written: str, earlier: PositionMark | None) -> bytes:
    """Return ``packet`` with the position that we wrote taken back, unless somebody has changed it since.

    Parameters
    ----------
    packet : bytes
    written : str
        Words of the position that we wrote; empty where we took ours out.
    earlier : PositionMark or None
        What of ours stood there before.

    Raises
    ------
    NotXml
        If the packet is damaged.
    """
    is_there = bool(_held(described(decoded(packet)[0])[1]))
    if is_there != bool(written):
        return packet
    return put_position(packet, earlier, last=written).packet


def _coordinate(degrees: float, signs: str) -> str:
    # Whole parts of a minute, so that 59.99999 minutes become a degree and not 60 minutes.
    parts = round(abs(degrees) * 60 * MINUTE_PARTS)
    whole, rest = divmod(parts, 60 * MINUTE_PARTS)
    return f"{whole},{rest / MINUTE_PARTS:.4f}{signs[degrees < 0]}"


def _held(about: list[Element]) -> dict[tuple[str, str], str]:
    """Return those of the four properties that are there, with their values."""
    held: dict[tuple[str, str], str] = {}
    for name in (LATITUDE, LONGITUDE, DATUM, ERROR):
        for element in about:
            attribute, children = element.attribute(name), element.children_named(name)
            if attribute is not None:
                held.setdefault(name, attribute.value)
            elif children:
                held.setdefault(name, children[0].text.strip())
    return held


def _is_at(held: dict[tuple[str, str], str], words: str | None) -> bool:
    """Tell whether a position that is held lies where ``words`` say."""
    if not words or held.get(DATUM, WGS_84).replace(" ", "-").upper() not in (WGS_84, "WGS84"):
        return False
    told = [_degrees(one) for one in words.split()]
    found = [_degrees(held.get(LATITUDE, "")), _degrees(held.get(LONGITUDE, ""))]
    # NaN, as a value in no known form gives, is near nothing.
    return all(abs(one - other) <= SAME_DEG for one, other in zip(told, found, strict=True))


def _degrees(coordinate: str) -> float:
    match = COORDINATE.fullmatch(coordinate)
    if match is None:
        return math.nan
    degrees = int(match[1]) + float(match[2]) / 60 + float(match[3] or 0) / 3600
    return -degrees if match[4] in "SWsw" else degrees


def _words(held: dict[tuple[str, str], str]) -> str:
    return " ".join(held[name] for name in (LATITUDE, LONGITUDE) if held.get(name)) or "in part"
