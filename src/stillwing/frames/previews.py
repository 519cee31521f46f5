"""Previews that cameras embed in their files, found without decoding the main picture.

In a JPEG they lie behind the main picture, where the multi-picture index (CIPA DC-007) or a maker's tag names the
place, or within Exif and the maker notes. RAW files keep them where libexiv2 or LibRaw knows.
"""

from collections.abc import Iterator
from pathlib import Path

import exiv2

from stillwing.frames.exif import ExifValues, read_exif
from stillwing.frames.files import HEAD_BYTES, MAX_FILE_BYTES, read_head, read_range, read_whole
from stillwing.frames.jpeg import jpeg_header, segments
from stillwing.frames.rawfiles import raw_thumbnail

__all__ = ["jpeg_preview", "raw_preview"]

SMALLEST_PX = 300
"""Longest side below which a thumbnail is too small for a first look."""

_MP_ENTRY_TAG = 0xB002
_LARGE_THUMBNAIL = 0x01
"""First byte of the type code: 0x010001 is VGA, 0x010002 full HD. Others are other views, depth or gain maps."""

_START = b"\xff\xd8\xff"
LARGEST_SHARE = 0.9
"""A "preview" wider than this share of the main picture is a second picture."""


def jpeg_preview(path: Path) -> bytes | None:
    """Return the largest useful preview in a JPEG file as JPEG bytes, not turned; ``None`` where there is none.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read.
    """
    head = read_head(path)
    main = jpeg_header(head)
    if main is None:
        return None
    long_side = max(main.width_px, main.height_px)
    indexed = _largest([_part(path, head, *place) for place in _in_index(head)], long_side)
    if indexed is not None:
        return indexed
    try:
        exif = read_exif(head)
        candidates = [*_in_tags(exif), *(_part(path, head, *place) for place in _in_maker_tags(exif, head))]
    except exiv2.Exiv2Error:
        return None
    return _largest(candidates, long_side)


def raw_preview(path: Path, long_side_px: int) -> bytes | None:
    """Return the largest preview in a RAW file that is smaller than the picture, as JPEG bytes, not turned.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read, or LibRaw does not know it.
    """
    try:
        preview = _largest(list(_in_tags(read_exif(read_whole(path)))), long_side_px)
    except exiv2.Exiv2Error:
        preview = None
    if preview is not None:
        return preview
    thumbnail = raw_thumbnail(path)
    return None if thumbnail is None else _largest([thumbnail], long_side_px)


def _largest(candidates: list[bytes], long_side_px: int) -> bytes | None:
    sizes = []
    for candidate in candidates:
        header = jpeg_header(candidate) if candidate.startswith(_START) else None
        side = 0 if header is None else max(header.width_px, header.height_px)
        sizes.append(side if SMALLEST_PX <= side <= LARGEST_SHARE * long_side_px else 0)
    return candidates[sizes.index(max(sizes))] if any(sizes) else None


def _in_index(head: bytes) -> list[tuple[int, int]]:
    """Return start and length of each large thumbnail that the multi-picture index names."""
    bases = (at + 8 for marker, at, _ in segments(head) if marker == 0xE2 and head[at + 4 : at + 8] == b"MPF\0")
    base = next(bases, 0)
    if not base or head[base : base + 4] not in (b"II*\0", b"MM\0*"):
        return []

    def number(at: int, size: int) -> int:
        return int.from_bytes(head[at : at + size], "little" if head[base : base + 2] == b"II" else "big")

    directory = base + number(base + 4, 4)
    found = []
    for entry in range(min(number(directory, 2), 64)):
        field = directory + 2 + 12 * entry
        if number(field, 2) == _MP_ENTRY_TAG:
            first = base + number(field + 8, 4)
            for picture in range(min(number(field + 4, 4) // 16, 16)):
                attribute, length, offset = (number(first + 16 * picture + 4 * part, 4) for part in range(3))
                if attribute >> 16 & 0xFF == _LARGE_THUMBNAIL and offset and length:
                    found.append((base + offset, length))
    return found


def _part(path: Path, head: bytes, start: int, length: int) -> bytes:
    return head[start : start + length] if start + length <= len(head) else read_range(path, start, length)


def _in_tags(exif: ExifValues) -> Iterator[bytes]:
    manager = exiv2.PreviewManager(exif.image)
    for properties in manager.getPreviewProperties():
        if properties.mimeType == "image/jpeg" and max(properties.width, properties.height) >= SMALLEST_PX:
            yield bytes(manager.getPreviewImage(properties).data())


def _in_maker_tags(exif: ExifValues, head: bytes) -> Iterator[tuple[int, int]]:
    """Yield start and length of the preview that one maker names by its place behind the main picture."""
    start = exif.count("OlympusCs.PreviewImageStart", 1, MAX_FILE_BYTES)
    length = exif.count("OlympusCs.PreviewImageLength", 1, MAX_FILE_BYTES)
    if start is not None and length is not None:
        # Counted from the maker note's beginning; `_largest` tests that a JPEG begins there.
        note = exif.count("MakerNote.Offset", 0, HEAD_BYTES) or 0
        yield head.find(b"Exif\0\0") + len(b"Exif\0\0") + note + start, length
