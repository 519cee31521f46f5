"""Small pictures: cut where the box says, made once, kept by the file's identity."""

import os
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
import simplejpeg
from numpy.typing import NDArray

from stillwing.errors import UnreadableFrame, WriteFailed
from stillwing.frames.measured import Box
from stillwing.web import cutouts
from stillwing.web.cutouts import SIDES_PX, WHOLE_SIDE_PX, CutOuts, Subject, padded, reduced

WIDTH, HEIGHT = 2000, 1200
PATCH = Box(1200.0, 300.0, 100.0, 60.0)
"""A red patch on grey."""


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    rgb = np.full((HEIGHT, WIDTH, 3), 120, np.uint8)
    rgb[300:360, 1200:1300] = (230, 20, 20)
    path = tmp_path / "card" / "patch.jpg"
    path.parent.mkdir()
    path.write_bytes(simplejpeg.encode_jpeg(rgb, quality=95, colorsubsampling="444"))
    return path


@pytest.fixture
def cut_outs(tmp_path: Path) -> CutOuts:
    return CutOuts(tmp_path / "cache", workers=2)


def pixels(path: Path) -> NDArray[np.uint8]:
    return np.asarray(simplejpeg.decode_jpeg(path.read_bytes()))


def test_a_cut_out_shows_what_the_box_holds(picture: Path, cut_outs: CutOuts) -> None:
    shown = pixels(cut_outs.cut_out(Subject(picture, PATCH), "plate"))
    assert shown.shape == (60, 100, 3)
    assert np.abs(shown[5:-5, 5:-5].astype(int) - (230, 20, 20)).max() < 12


def test_a_large_cut_out_is_averaged_down_and_never_enlarged(picture: Path, cut_outs: CutOuts) -> None:
    large = Subject(picture, Box(0.0, 0.0, 2000.0, 1000.0))
    assert pixels(cut_outs.cut_out(large, "plate")).shape == (320, SIDES_PX["plate"], 3)
    assert pixels(cut_outs.cut_out(large, "lane")).shape == (84, SIDES_PX["lane"], 3)
    assert reduced(np.zeros((4, 5, 3), np.uint8), 640).shape == (4, 5, 3)


def test_one_decode_makes_both_sizes_and_the_second_time_none(
    picture: Path, cut_outs: CutOuts, monkeypatch: pytest.MonkeyPatch
) -> None:
    decoded = []

    def counting(path: Path, box: Box) -> NDArray[np.uint8]:
        decoded.append(path)
        return np.zeros((10, 10, 3), np.uint8)

    monkeypatch.setattr(cutouts, "decode_region_rgb", counting)
    subject = Subject(picture, PATCH)
    with ThreadPoolExecutor(8) as askers:
        paths = set(askers.map(lambda use: cut_outs.cut_out(subject, use), ["lane", "plate"] * 8))
    assert len(paths) == 2
    cut_outs.cut_out(subject, "lane")
    assert decoded == [picture]


def test_a_changed_file_gets_a_new_cut_out(picture: Path, cut_outs: CutOuts) -> None:
    before = cut_outs.cut_out(Subject(picture, PATCH), "plate")
    picture.write_bytes(simplejpeg.encode_jpeg(np.full((HEIGHT, WIDTH, 3), 9, np.uint8)))
    os.utime(picture, ns=(1, 1))
    after = cut_outs.cut_out(Subject(picture, PATCH), "plate")
    assert after != before
    assert pixels(after).max() < 20


def test_another_box_gets_another_cut_out(picture: Path, cut_outs: CutOuts) -> None:
    moved = Box(PATCH.x_px + 0.5, PATCH.y_px, PATCH.width_px, PATCH.height_px)
    assert cut_outs.cut_out(Subject(picture, PATCH), "lane") != cut_outs.cut_out(Subject(picture, moved), "lane")


def test_while_the_card_is_out_the_one_made_last_is_shown(picture: Path, cut_outs: CutOuts) -> None:
    made = cut_outs.cut_out(Subject(picture, PATCH), "plate")
    shutil.move(picture.parent, picture.parent.with_name("taken-out"))
    assert cut_outs.cut_out(Subject(picture, PATCH), "plate") == made
    with pytest.raises(UnreadableFrame, match="the original is not there; put back the card"):
        cut_outs.cut_out(Subject(picture, Box(0, 0, 50, 50)), "plate")


def test_a_file_that_is_no_picture_says_so_to_everyone_who_asks(tmp_path: Path, cut_outs: CutOuts) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"\xff\xd8\xff\xe0 no more")
    for _ in range(2):
        with pytest.raises(UnreadableFrame, match=r"broken\.jpg"):
            cut_outs.cut_out(Subject(broken, PATCH), "lane")
    assert list((tmp_path / "cache").rglob("*.jpg")) == []


def test_a_whole_picture_is_reduced_to_one_side(picture: Path, cut_outs: CutOuts) -> None:
    assert pixels(cut_outs.whole(picture)).shape == (960, WHOLE_SIDE_PX, 3)
    assert max(pixels(cut_outs.cut_out(Subject(picture, None), "plate")).shape) == SIDES_PX["plate"]


def test_a_folder_that_cannot_be_written_is_named(picture: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("a file, where a folder should be")
    with pytest.raises(WriteFailed, match="could not be kept"):
        CutOuts(blocked).cut_out(Subject(picture, PATCH), "lane")


def test_trimming_keeps_the_newest(tmp_path: Path, cut_outs: CutOuts) -> None:
    for age, name in enumerate(["new", "middle", "old"]):
        file = tmp_path / "cache" / "aa" / f"{name}.jpg"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(bytes(100))
        os.utime(file, (1000 - age, 1000 - age))
    assert cut_outs.trim(kept_bytes=250) == 1
    assert sorted(file.stem for file in (tmp_path / "cache").rglob("*.jpg")) == ["middle", "new"]


@pytest.mark.parametrize(
    "box", [Box(-3, -3, 40, 40), Box(1990, 1190, 10, 10), Box(0, 0, WIDTH, HEIGHT), Box(500.4, 300.6, 33.3, 10.1)]
)
def test_a_margin_stays_within_the_frame_and_on_whole_pixels(box: Box) -> None:
    wide = padded(box, WIDTH, HEIGHT)
    assert wide.x_px >= 0
    assert wide.y_px >= 0
    assert wide.x_px + wide.width_px <= WIDTH
    assert wide.y_px + wide.height_px <= HEIGHT
    assert wide.x_px <= max(box.x_px, 0)
    assert all(float(side).is_integer() for side in (wide.x_px, wide.y_px, wide.width_px, wide.height_px))
