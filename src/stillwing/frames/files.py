"""Files as they lie on the card: what kind each one is, and its bytes, opened for reading only.

Nothing is mapped into memory: a card pulled out while a mapped page is read ends the process, a plain read only fails.
"""

import errno
import os
import stat
from enum import StrEnum
from pathlib import Path

from stillwing.errors import UnreadableFrame

__all__ = [
    "HEAD_BYTES",
    "MAX_FILE_BYTES",
    "FileKind",
    "check_kind",
    "kind_of_bytes",
    "kind_of_name",
    "read_head",
    "read_range",
    "read_whole",
    "translate",
]

HEAD_BYTES = 256 * 1024
"""Enough for the tags of a camera JPEG: Exif (64 KiB at most), multi-picture index, colour profile, XMP."""

MAX_FILE_BYTES = 1 << 30
"""A larger file is no still frame; it is refused before it fills the memory."""


class FileKind(StrEnum):
    """The kinds of file that hold a frame."""

    JPEG = "JPEG"
    HEIF = "HEIF"
    PNG = "PNG"
    RAW = "RAW"


# fmt: off
RAW_SUFFIXES = frozenset([
    ".3fr", ".arw", ".cr2", ".cr3", ".crw", ".dcr", ".dng", ".erf", ".fff", ".iiq", ".kdc", ".mef", ".mos",
    ".mrw", ".nef", ".nrw", ".orf", ".pef", ".raf", ".raw", ".rw2", ".rwl", ".sr2", ".srf", ".srw", ".x3f",
])
# fmt: on
SUFFIX_KINDS = {
    ".jpg": FileKind.JPEG,
    ".jpeg": FileKind.JPEG,
    ".jpe": FileKind.JPEG,
    ".heic": FileKind.HEIF,
    ".heif": FileKind.HEIF,
    ".hif": FileKind.HEIF,
    ".png": FileKind.PNG,
} | dict.fromkeys(RAW_SUFFIXES, FileKind.RAW)

CONTENTS = {
    FileKind.JPEG: "JPEG picture; rename it to end in .jpg",
    FileKind.HEIF: "HEIF picture; rename it to end in .heic",
    FileKind.PNG: "PNG picture; rename it to end in .png",
    FileKind.RAW: "RAW or TIFF picture; give it the ending that its maker gave it",
}

_HEIF_BRANDS = (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"mif2", b"msf1")
_RAW_STARTS = (
    b"II*\0",
    b"MM\0*",
    b"IIRO",
    b"IIRS",
    b"MMOR",
    b"IIU\0",
    b"FUJIFILMCCD-RAW",
    b"FOVb",
    b"\0MRM",
    b"II\x1a\0",
)
_OTHER_STARTS = (
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"RIFF", "a WebP picture or a film"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a ZIP archive"),
    (b"\x1f\x8b", "a gzip archive"),
)


def kind_of_name(path: Path) -> FileKind | None:
    """Return the kind that the name's ending promises, or ``None`` for a file that is no frame."""
    return SUFFIX_KINDS.get(path.suffix.lower())


def kind_of_bytes(head: bytes) -> FileKind | None:
    """Return the kind that the first bytes show, or ``None`` where they show none of ours."""
    if head.startswith(b"\xff\xd8\xff"):
        return FileKind.JPEG
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return FileKind.PNG
    if head[4:8] == b"ftyp":
        if head[8:12] == b"crx ":
            return FileKind.RAW
        return FileKind.HEIF if head[8:12] in _HEIF_BRANDS else None
    return FileKind.RAW if head.startswith(_RAW_STARTS) else None


def check_kind(path: Path, head: bytes) -> FileKind:
    """Return the kind of a file whose name and first bytes agree.

    Raises
    ------
    UnreadableFrame
        If the file is empty, holds something else than its name promises, or is of a kind that holds no frame.
    """
    if not head:
        raise UnreadableFrame(path, "the file is empty (0 bytes); copy it from the card again")
    named, held = kind_of_name(path), kind_of_bytes(head)
    if held is not None and (held is named or named is None):
        return held
    if held is not None:
        raise UnreadableFrame(path, f"the name says {named}, but the file holds a {CONTENTS[held]}")
    what = _describe(head)
    if named is FileKind.RAW and what is None:
        # Makers invent new beginnings; LibRaw has the last word on whether it knows one.
        return FileKind.RAW
    if named is None:
        raise UnreadableFrame(path, f"{what or 'not a picture'}; JPEG, PNG, HEIF and RAW files can be read")
    raise UnreadableFrame(path, f"the name says {named}, but the file holds {what or 'no picture at all'}")


def read_head(path: Path, length: int = HEAD_BYTES) -> bytes:
    """Return the first ``length`` bytes of a regular file, fewer where it is shorter. [bytes]

    Raises
    ------
    UnreadableFrame
        If the file cannot be opened or read.
    """
    return _read(path, 0, length)


def read_range(path: Path, start: int, length: int) -> bytes:
    """Return ``length`` bytes from ``start`` on, fewer where the file ends before. [bytes]

    Raises
    ------
    UnreadableFrame
        If the file cannot be opened or read.
    """
    return _read(path, start, length)


def read_whole(path: Path) -> bytes:
    """Return all bytes of a regular file.

    Raises
    ------
    UnreadableFrame
        If the file cannot be opened or read, or is larger than `MAX_FILE_BYTES`.
    """
    return _read(path, 0, None)


def translate(path: Path, error: OSError) -> UnreadableFrame:
    """Return the one sentence that says what the system's ``error`` means for the person."""
    sentences = {
        errno.ENOENT: "the file is no longer there; was the card pulled out, or the file moved?",
        errno.EACCES: "permission denied; allow yourself to read it",
        errno.EPERM: "permission denied; allow yourself to read it",
        errno.ELOOP: "the link leads back to itself; remove it",
        errno.EIO: "the device failed while reading; is the card still in, and is it whole?",
        errno.ENODEV: "the device is gone; was the card pulled out?",
        errno.ENXIO: "the device is gone; was the card pulled out?",
        errno.ESTALE: "the network folder is gone; connect it again",
        errno.ENAMETOOLONG: "the name is too long for this system",
    }
    reason = sentences.get(error.errno or 0, f"cannot be read ({error.strerror or error})")
    return UnreadableFrame(path, reason)


def _read(path: Path, start: int, length: int | None) -> bytes:
    try:
        # Without O_NONBLOCK the opening of a named pipe would wait for a writer for ever.
        descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as error:
        raise translate(path, error) from error
    try:
        status = os.fstat(descriptor)
        if not stat.S_ISREG(status.st_mode):
            raise UnreadableFrame(path, "not a regular file; frames are plain files")
        if length is None and status.st_size > MAX_FILE_BYTES:
            size = f"{status.st_size / 2**20:.0f} MiB"
            raise UnreadableFrame(path, f"{size} is too large for a frame; the limit is {MAX_FILE_BYTES >> 20} MiB")
        with os.fdopen(descriptor, "rb", closefd=False) as file:
            file.seek(start)
            return file.read() if length is None else file.read(min(length, max(0, status.st_size - start)))
    except OSError as error:
        raise translate(path, error) from error
    finally:
        os.close(descriptor)


def _describe(head: bytes) -> str | None:
    for start, what in _OTHER_STARTS:
        if head.startswith(start):
            return what
    if head[4:8] == b"ftyp":
        return "a film or an unknown kind of picture"
    if not head[:512].strip(b"\0"):
        return "nothing but zeros"
    sample = head[:512]
    if b"\0" not in sample and sum(byte < 9 for byte in sample) == 0 and _is_text(sample):
        return "plain text"
    return None


def _is_text(sample: bytes) -> bool:
    try:
        sample.decode("utf-8")
    except UnicodeDecodeError as error:
        # The sample may end in the middle of a character.
        return error.start > len(sample) - 4
    return True
