"""Read the files inside a compiled Qt resource bundle (``.rcc``), formats 1 to 3.

The layout is the one that Qt's resource compiler writes: a header with the offsets of three tables
(tree, data, names), all big-endian. Plain and zlib-compressed entries are read; entries compressed
with Zstandard raise, because nothing used here needs them.
"""

import struct
import zlib
from collections.abc import Iterator
from pathlib import Path

FLAG_ZLIB = 1
FLAG_FOLDER = 2
FLAG_ZSTD = 4
NODE_BYTES_BEFORE_2 = 14
NODE_BYTES = 22


def read_bundle(path: Path) -> dict[str, bytes]:
    """Return every file of the bundle, keyed by its path inside, with a leading slash.

    Parameters
    ----------
    path : Path
        The ``.rcc`` file.

    Returns
    -------
    dict of str to bytes
        The files' contents.

    Raises
    ------
    ValueError
        If the file is no resource bundle, or an entry uses Zstandard.
    """
    raw = path.read_bytes()
    if raw[:4] != b"qres":
        raise ValueError(f"{path} is not a Qt resource bundle: it does not begin with 'qres'")
    version, tree, data, names = struct.unpack(">IIII", raw[4:20])
    node_bytes = NODE_BYTES if version >= 2 else NODE_BYTES_BEFORE_2

    def name_at(offset: int) -> str:
        (length,) = struct.unpack_from(">H", raw, names + offset)
        start = names + offset + 6
        return raw[start : start + 2 * length].decode("utf-16-be")

    def walk(index: int, folder: str) -> Iterator[tuple[str, bytes]]:
        at = tree + index * node_bytes
        name_offset, flags = struct.unpack_from(">IH", raw, at)
        here = folder if index == 0 else f"{folder}/{name_at(name_offset)}"
        if flags & FLAG_FOLDER:
            n_children, first = struct.unpack_from(">II", raw, at + 6)
            for child in range(first, first + n_children):
                yield from walk(child, here)
            return
        (data_offset,) = struct.unpack_from(">I", raw, at + 10)
        (length,) = struct.unpack_from(">I", raw, data + data_offset)
        body = raw[data + data_offset + 4 : data + data_offset + 4 + length]
        if flags & FLAG_ZSTD:
            raise ValueError(f"{here} in {path} is compressed with Zstandard, which is not read here")
        # Qt puts the unpacked size, four bytes, before the zlib stream.
        yield here, zlib.decompress(body[4:]) if flags & FLAG_ZLIB else body

    return dict(walk(0, ""))
