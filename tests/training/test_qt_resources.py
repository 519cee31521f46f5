import struct
import zlib

import pytest

from qt_resources import read_bundle

NAMES = ("pictures", "leaf.jpg", "note.txt")


def bundle_bytes(version=2, flags=1):
    """Write a bundle by Qt's own layout: root, one folder, in it one file packed by ``flags`` and one plain file."""
    leaf, note = b"leaf" * 50, b"note"
    packed = struct.pack(">I", len(leaf)) + zlib.compress(leaf)
    data = struct.pack(">I", len(packed)) + packed + struct.pack(">I", len(note)) + note
    names, offsets = b"", []
    for name in NAMES:
        offsets.append(len(names))
        names += struct.pack(">HI", len(name), 0) + name.encode("utf-16-be")
    tail = b"\0" * 8 if version >= 2 else b""
    tree = struct.pack(">IHII", 0, 2, 1, 1) + tail
    tree += struct.pack(">IHII", offsets[0], 2, 2, 2) + tail
    tree += struct.pack(">IHHHI", offsets[1], flags, 0, 0, 0) + tail
    tree += struct.pack(">IHHHI", offsets[2], 0, 0, 0, 4 + len(packed)) + tail
    start = 24
    head = b"qres" + struct.pack(">IIIII", version, start, start + len(tree), start + len(tree) + len(data), 0)
    return head + tree + data + names


@pytest.mark.parametrize("version", [1, 2, 3])
def test_files_come_out_by_their_paths_packed_or_plain(tmp_path, version):
    path = tmp_path / "a.rcc"
    path.write_bytes(bundle_bytes(version))
    assert read_bundle(path) == {"/pictures/leaf.jpg": b"leaf" * 50, "/pictures/note.txt": b"note"}


def test_a_packing_that_is_not_read_is_named(tmp_path):
    path = tmp_path / "a.rcc"
    path.write_bytes(bundle_bytes(flags=4))
    with pytest.raises(ValueError, match=r"/pictures/leaf\.jpg .* Zstandard"):
        read_bundle(path)


def test_another_file_is_refused(tmp_path):
    path = tmp_path / "a.rcc"
    path.write_bytes(b"PK\x03\x04 something else")
    with pytest.raises(ValueError, match="not a Qt resource bundle"):
        read_bundle(path)
