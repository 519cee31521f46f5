"""Files made to break decoders, damaged files, odd places: one sentence each, no crash, no hang, not a word printed."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from stillwing.errors import UnreadableFrame
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.measured import Box
from stillwing.frames.pixels import decode_luma, decode_preview_luma, decode_region_rgb, picture_rgb
from stillwing.frames.tags import read_tags

from .made_files import (
    ASCII,
    DATA,
    SHORT,
    dng,
    drawn_rgb,
    fingerprint,
    jpeg,
    needs_data,
    open_folder,
    png,
    somebody_else,
    taken,
    write_jpeg,
)

DOORS = {
    "tags": read_tags,
    "luma": lambda path: decode_luma(Frame((path,), Tags())),
    "preview": lambda path: decode_preview_luma(Frame((path,), Tags(width_px=600, height_px=400))),
    "region": lambda path: decode_region_rgb(Frame((path,), Tags()), Box(0, 0, 5, 5)),
    "picture": lambda path: picture_rgb(Frame((path,), Tags()), 64),
}

# Each file in a process of its own would cost half a second of imports; one process says which file it is at.
TRY_ALL = """
import json, sys
from pathlib import Path
from frames.test_hostile import DOORS
from stillwing.errors import UnreadableFrame
for name in sys.argv[1:]:
    for door, open_door in DOORS.items():
        print(json.dumps([name, door, "began"]), flush=True)
        try:
            open_door(Path(name))
            said = None
        except UnreadableFrame as failure:
            said = failure.reason
        print(json.dumps([name, door, "ended", said]), flush=True)
"""


def try_all(paths, seconds=120):
    """Return what each door said of each file, from a process that may crash or hang without taking the tests along."""
    tests = str(Path(__file__).resolve().parents[1])
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([tests, os.environ.get("PYTHONPATH", "")])}
    run = subprocess.run(
        [sys.executable, "-W", "error", "-c", TRY_ALL, *map(str, paths)],
        capture_output=True,
        text=True,
        timeout=seconds,
        env=environment,
        check=False,
    )
    lines = [json.loads(line) for line in run.stdout.splitlines()]
    assert run.returncode == 0, f"at {lines[-1] if lines else 'the start'}: {run.stderr[-2000:]}"
    assert run.stderr == ""
    return {(name, door): said[0] for name, door, _, *said in lines if said}


@needs_data
def test_files_of_fuzzers_get_a_sentence_or_a_picture():
    paths = sorted(path for path in (DATA / "hostile").iterdir() if path.suffix != "")
    assert len(paths) == 118
    before = fingerprint(DATA / "hostile")
    said = try_all(paths)
    assert len(said) == 118 * len(DOORS)
    assert fingerprint(DATA / "hostile") == before
    sentences = [sentence for sentence in said.values() if sentence is not None]
    assert all(sentence and "\n" not in sentence and len(sentence) < 200 for sentence in sentences)
    # All 28 BMP and GIF files are named as such or as no picture.
    for path in paths:
        if path.suffix in (".bmp", ".gif"):
            assert "JPEG, PNG, HEIF and RAW files can be read" in said[str(path), "luma"]
    # Most of the JPEGs are beyond repair; what does decode is whole by libjpeg's own account.
    refused = [path for path in paths if path.suffix == ".jpg" and said[str(path), "luma"] is not None]
    assert len(refused) >= 80


@needs_data
@pytest.mark.parametrize("name", ["corrupted.heic", "corrupted.hif", "empty.heic", "truncated.heic"])
def test_damaged_heif_files_are_refused(name):
    with pytest.raises(UnreadableFrame, match=r"damaged|empty"):
        read_tags(DATA / "heif" / name)


@needs_data
@pytest.mark.parametrize("name", ["corrupted.heic", "corrupted.hif", "empty.heic"])
def test_damaged_heif_pixels_are_refused(name):
    with pytest.raises(UnreadableFrame, match=r"damaged|empty|pip install"):
        decode_luma(Frame((DATA / "heif" / name,), Tags()))


def damaged(data, random_source):
    """Return ``data`` with a few bytes changed, a part cut out or the end cut off."""
    data = bytearray(data)
    match random_source.randrange(4):
        case 0:
            for _ in range(random_source.randrange(1, 12)):
                data[random_source.randrange(len(data))] = random_source.randrange(256)
        case 1:
            # The headers are the richer target.
            for _ in range(random_source.randrange(1, 6)):
                data[random_source.randrange(min(len(data), 700))] = random_source.choice([0, 1, 0x7F, 0x80, 0xFF])
        case 2:
            at = random_source.randrange(len(data))
            del data[at : at + random_source.randrange(1, 400)]
        case 3:
            del data[random_source.randrange(len(data)) :]
    return bytes(data)


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["jpg", "png", "dng", "heic", "notes"])
def test_random_damage_never_crashes(tmp_path, kind):
    # A JPEG with maker notes, whose offsets lead libexiv2 about; a DNG; what else there is.
    if kind == "heic":
        if not DATA.is_dir():
            pytest.skip("the sample pictures are not here; set STILLWING_DATA")
        whole = (DATA / "heif/zPug_3.heic").read_bytes()
    elif kind == "notes":
        if not DATA.is_dir():
            pytest.skip("the sample pictures are not here; set STILLWING_DATA")
        whole = (DATA / "exif/06.jpg").read_bytes()[:60_000]
    else:
        exif = taken("2024:06:01 10:18:05", "5", serial="7") | {
            "Image.Make": (ASCII, "OLYMPUS CORPORATION"),
            "OlympusCs.DriveMode": (SHORT, "1 5"),
        }
        whole = {
            "jpg": lambda: write_jpeg(tmp_path / "whole.jpg", exif).read_bytes(),
            "png": png,
            "dng": lambda: dng(drawn_rgb(64, 96)[..., 1].astype("u2") * 200, jpeg(drawn_rgb(64, 96))),
        }[kind]()
    random_source = random.Random(f"damage of {kind}")
    paths = []
    for number in range(60 if kind == "notes" else 120):
        path = tmp_path / f"{number:03}.{'jpg' if kind == 'notes' else kind}"
        path.write_bytes(damaged(whole, random_source))
        paths.append(path)
    said = try_all(paths)
    assert len(said) == len(paths) * len(DOORS)


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("a.jpg", b"", "the file is empty"),
        ("a.heic", b"", "the file is empty"),
        ("a.jpg", b"shot 14: blue hawker over the reeds\n" * 30, "plain text"),
        ("a.orf", b"\0" * 70000, "nothing but zeros"),
        ("a.jpg", b"PK\x03\x04" + bytes(50), "a ZIP archive"),
        ("a.png", b"GIF89a" + bytes(50), "a GIF picture"),
        ("a.txt", b"no picture", "plain text"),
    ],
)
def test_what_is_no_picture_gets_one_sentence_from_every_door(tmp_path, door, name, data, words):
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(UnreadableFrame, match=words) as failure:
        DOORS[door](path)
    assert failure.value.path == path


@pytest.mark.parametrize("door", DOORS)
def test_a_file_pulled_away_says_so_at_every_door(tmp_path, door):
    with pytest.raises(UnreadableFrame, match="no longer there"):
        DOORS[door](tmp_path / "a.jpg")


@pytest.mark.parametrize("door", DOORS)
def test_a_folder_named_as_a_picture_is_refused(tmp_path, door):
    (tmp_path / "a.jpg").mkdir()
    with pytest.raises(UnreadableFrame, match="not a regular file"):
        DOORS[door](tmp_path / "a.jpg")


@pytest.mark.parametrize("door", DOORS)
def test_a_pipe_named_as_a_picture_does_not_wait(tmp_path, door):
    os.mkfifo(tmp_path / "a.jpg")
    with pytest.raises(UnreadableFrame, match="not a regular file"):
        DOORS[door](tmp_path / "a.jpg")


def test_a_file_too_large_for_a_frame_is_not_read(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg())
    os.truncate(path, (1 << 30) + 1)  # sparse
    with pytest.raises(UnreadableFrame, match="1024 MiB is too large for a frame"):
        decode_luma(Frame((path,), Tags()))


def test_a_failing_card_is_named(tmp_path, monkeypatch):
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg())

    def fail(*_):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "open", fail)
    with pytest.raises(UnreadableFrame, match="the device failed while reading; is the card still in"):
        decode_luma(Frame((path,), Tags()))


def test_a_file_that_may_not_be_read_is_named():
    with open_folder() as folder:
        path = folder / "a.jpg"
        path.write_bytes(jpeg())
        path.chmod(0)
        with somebody_else(), pytest.raises(UnreadableFrame, match="permission denied"):
            read_tags(path)
