"""The original in pieces: pixel for pixel what the file holds."""

from pathlib import Path

import numpy as np
import pytest
import simplejpeg

from stillwing.errors import UnknownThing, UnreadableFrame
from stillwing.web import originals
from stillwing.web.originals import TILE_PX, Originals

WIDTH, HEIGHT = 1200, 700


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    rgb = np.stack([x * 255 / WIDTH, y * 255 / HEIGHT, np.full_like(x, 90)], axis=-1).astype(np.uint8)
    path = tmp_path / "slope.jpg"
    path.write_bytes(simplejpeg.encode_jpeg(rgb, quality=98, colorsubsampling="444"))
    return path


def test_pieces_laid_side_by_side_are_the_picture(picture: Path) -> None:
    held = Originals()
    rows = [
        np.hstack([simplejpeg.decode_jpeg(held.tile(picture, column, row)) for column in range(3)]) for row in range(2)
    ]
    whole = np.vstack(rows)
    assert whole.shape == (HEIGHT, WIDTH, 3)
    told = simplejpeg.decode_jpeg(picture.read_bytes()).astype(int)
    # Two passes through JPEG at high quality; a piece out of its place would differ by far more.
    assert np.abs(whole - told).max() <= 6


def test_edge_pieces_are_smaller(picture: Path) -> None:
    edge = simplejpeg.decode_jpeg(Originals().tile(picture, 2, 1))
    assert edge.shape == (HEIGHT - TILE_PX, WIDTH - 2 * TILE_PX, 3)


@pytest.mark.parametrize(("column", "row"), [(3, 0), (0, 2), (-1, 0), (0, -1)])
def test_a_piece_outside_the_picture_does_not_exist(picture: Path, column: int, row: int) -> None:
    with pytest.raises(UnknownThing, match=r"slope\.jpg has no piece"):
        Originals().tile(picture, column, row)


def test_a_picture_is_decoded_once_for_all_its_pieces(picture: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    decode = originals.decode_region_rgb
    decoded = []
    monkeypatch.setattr(originals, "decode_region_rgb", lambda path, box: decoded.append(path) or decode(path, box))
    held = Originals()
    for column in range(3):
        held.tile(picture, column, 0)
    assert decoded == [picture]


def test_a_picture_that_is_gone_is_named(tmp_path: Path) -> None:
    with pytest.raises(UnreadableFrame, match=r"gone\.jpg: the original is not there"):
        Originals().tile(tmp_path / "gone.jpg", 0, 0)
