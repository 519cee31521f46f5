"""Files for the tests of reading: drawn pictures with tags of our choosing, multi-picture JPEGs, a small DNG."""

import hashlib
import io
import os
import struct
import tempfile
from contextlib import contextmanager
from pathlib import Path

import cv2
import exiv2
import numpy as np
import pytest
import simplejpeg
from PIL import Image

DATA = Path(os.environ.get("STILLWING_DATA", Path(__file__).resolve().parents[2].parent / "shared" / "data"))

needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the sample pictures are not here; set STILLWING_DATA")

SENSOR_AT = 256 * 1024
"""Where the sensor data begin in a drawn RAW file: behind all directories and previews, as cameras write them."""

ASCII, SHORT, LONG = "asciiString", "unsignedShort", "unsignedLong"
RATIONAL, SRATIONAL = "unsignedRational", "signedRational"


def drawn_rgb(rows=96, cols=144, seed=0):
    """Return a smooth coloured picture, different in each corner, shape (rows, cols, 3)."""
    rng = np.random.default_rng(seed)
    coarse = rng.integers(20, 235, (4, 6, 3)).astype(np.float32)
    return np.clip(cv2.resize(coarse, (cols, rows), interpolation=cv2.INTER_CUBIC), 0, 255).astype(np.uint8)


def jpeg(rgb=None, quality=92):
    return simplejpeg.encode_jpeg(drawn_rgb() if rgb is None else np.ascontiguousarray(rgb), quality)


def pillow_jpeg(image, **options):
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", **options)
    return buffer.getvalue()


def write_jpeg(path, tags=None, *, rgb=None, data=None):
    """Write a JPEG with Exif tags given as {"Photo.FNumber": (RATIONAL, "28/10")}; libexiv2 makes the maker notes."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data or jpeg(rgb))
    if tags:
        image = exiv2.ImageFactory.open(str(path))
        image.readMetadata()
        exif = image.exifData()
        for key, (kind, text) in tags.items():
            value = exiv2.Value.create(getattr(exiv2.TypeId, kind))
            value.read(text)
            exif.add(exiv2.ExifKey(f"Exif.{key}"), value)
        image.writeMetadata()
    return path


def taken(when, subseconds=None, **more):
    """Return tags of a shot: ``when`` as Exif writes it, and any of serial, model, sequence, exposure, focal."""
    tags = {"Photo.DateTimeOriginal": (ASCII, when)}
    if subseconds is not None:
        tags["Photo.SubSecTimeOriginal"] = (ASCII, subseconds)
    for name, key, kind in (
        ("serial", "Photo.BodySerialNumber", ASCII),
        ("model", "Image.Model", ASCII),
        ("exposure", "Photo.ExposureTime", RATIONAL),
        ("focal", "Photo.FocalLength", RATIONAL),
    ):
        if name in more:
            tags[key] = (kind, more[name])
    return tags


def with_previews(main, previews, codes=(0x010001,)):
    """Return ``main`` followed by ``previews``, which a multi-picture index (CIPA DC-007) names by their type codes."""
    n_pictures = 1 + len(previews)
    segment_at = 2
    length = 4 + 8 + 2 + 12 * 3 + 4 + 16 * n_pictures
    base = segment_at + 4 + 4
    total_main = len(main) + 2 + 2 + length
    entries, offset = struct.pack("<IIIHH", 0x20030000, total_main, 0, 0, 0), total_main
    for preview, code in zip(previews, codes, strict=True):
        entries += struct.pack("<IIIHH", code, len(preview), offset - base, 0, 0)
        offset += len(preview)
    directory = struct.pack("<H", 3)
    directory += struct.pack("<HHI4s", 0xB000, 7, 4, b"0100")
    directory += struct.pack("<HHII", 0xB001, 4, 1, n_pictures)
    directory += struct.pack("<HHII", 0xB002, 7, 16 * n_pictures, 8 + 2 + 12 * 3 + 4)
    directory += struct.pack("<I", 0)
    body = b"MPF\0" + b"II*\0" + struct.pack("<I", 8) + directory + entries
    segment = b"\xff\xe2" + struct.pack(">H", len(body) + 2) + body
    assert len(segment) == 2 + 2 + length
    return main[:2] + segment + main[2:] + b"".join(previews)


def dng(mosaic, preview=None, orientation=1):
    """Return a DNG 1.4 of 16-bit uncompressed RGGB sensor data, with a JPEG preview as its first picture if given.

    ``mosaic`` has shape (rows, cols), 0 to 65535.
    """
    rows, cols = mosaic.shape
    blobs, at = b"", 8

    def put(data):
        nonlocal blobs, at
        start = at + len(blobs)
        blobs += data + b"\0" * (len(data) % 2)
        return start

    def field(tag, kind, values):
        code, form = {"B": (1, "B"), "A": (2, "B"), "S": (3, "H"), "L": (4, "I"), "R": (10, "i")}[kind]
        if kind == "R":
            packed, count = b"".join(struct.pack("<ii", round(v * 10000), 10000) for v in values), len(values)
        else:
            packed, count = struct.pack(f"<{len(values)}{form}", *values), len(values)
        value = packed.ljust(4, b"\0") if len(packed) <= 4 else struct.pack("<I", put(packed))
        return struct.pack("<HHI", tag, code, count) + value

    sensor = SENSOR_AT
    common = lambda: [  # noqa: E731
        field(50706, "B", [1, 4, 0, 0]),
        field(50708, "A", b"Drawn camera\0"),
        field(50721, "R", [1, 0, 0, 0, 1, 0, 0, 0, 1]),
        field(50728, "R", [1, 1, 1]),
        field(50778, "S", [21]),
    ]
    picture = lambda kind: [  # noqa: E731
        field(254, "L", [kind]),
        field(256, "L", [cols]),
        field(257, "L", [rows]),
        field(258, "S", [16]),
        field(259, "S", [1]),
        field(262, "S", [32803]),
        field(273, "L", [sensor]),
        field(277, "S", [1]),
        field(278, "L", [rows]),
        field(279, "L", [rows * cols * 2]),
        field(33421, "S", [2, 2]),
        field(33422, "B", [0, 1, 1, 2]),
        field(50714, "S", [0]),
        field(50717, "L", [65535]),
    ]
    name = [field(271, "A", b"Drawn\0"), field(272, "A", b"Drawn camera\0"), field(274, "S", [orientation])]

    def directory(fields):
        fields = sorted(fields, key=lambda entry: struct.unpack("<H", entry[:2])[0])
        return put(struct.pack("<H", len(fields)) + b"".join(fields) + struct.pack("<I", 0))

    if preview is None:
        first = directory(picture(0) + common() + name)
    else:
        height, width = simplejpeg.decode_jpeg_header(preview)[:2]
        raw = directory(picture(0))
        start = put(preview)
        shown = [
            field(254, "L", [1]),
            field(256, "L", [width]),
            field(257, "L", [height]),
            field(258, "S", [8, 8, 8]),
            field(259, "S", [7]),
            field(262, "S", [6]),
            field(273, "L", [start]),
            field(277, "S", [3]),
            field(278, "L", [height]),
            field(279, "L", [len(preview)]),
            field(330, "L", [raw]),
        ]
        first = directory(shown + common() + name)
    assert 8 + len(blobs) <= SENSOR_AT
    return (b"II*\0" + struct.pack("<I", first) + blobs).ljust(SENSOR_AT, b"\0") + mosaic.astype("<u2").tobytes()


def png(rgb=None):
    buffer = io.BytesIO()
    Image.fromarray(drawn_rgb() if rgb is None else rgb).save(buffer, "PNG")
    return buffer.getvalue()


def fingerprint(*folders):
    """Return size, time of change and SHA-256 of every file below ``folders``."""
    paths = sorted(path for folder in folders for path in folder.rglob("*") if path.is_file())
    return {
        path: (path.stat().st_size, path.stat().st_mtime_ns, hashlib.sha256(path.read_bytes()).hexdigest())
        for path in paths
    }


@contextmanager
def open_folder():
    """Give a folder that every user of the machine may enter."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        yield folder
        for path in folder.rglob("*"):
            if path.is_dir() and not path.is_symlink():
                path.chmod(0o755)


@contextmanager
def somebody_else():
    """Run as a user without rights: to root every file is readable."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)
