"""Listing: what a folder holds, with pairs and copies joined and each thing that cannot be read named once."""

import os
import random
import shutil
import tracemalloc
from pathlib import Path

import exiv2
import pytest

from stillwing.errors import InputError
from stillwing.frames.listing import list_frames, natural_key

from .made_files import (
    ASCII,
    DATA,
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


def sensor(seed=0):
    return drawn_rgb(64, 96, seed)[..., 1].astype("u2") * 200


def write(path, data):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    return path


def listed(folder):
    """Return the listing as names relative to ``folder``: files of each frame, copies of each frame, failures."""
    listing = list_frames(folder)

    def short(paths):
        return tuple(path.relative_to(folder).as_posix() for path in paths)

    frames = [short(frame.files) for frame in listing.frames]
    copies = {short(frame.files)[0]: short(frame.copies) for frame in listing.frames if frame.copies}
    failed = {short([failure.path])[0]: failure.reason for failure in listing.failed}
    assert len(failed) == len(listing.failed), "something was named twice"
    return frames, copies, failed


def test_frames_come_in_natural_order_from_all_folders(tmp_path):
    for name in ("b/shot_10.jpg", "b/shot_9.jpg", "a/2.JPG", "a/10.jpeg", "z.jpg"):
        write_jpeg(tmp_path / name, rgb=drawn_rgb(seed=len(name)), tags=taken(f"2024:06:01 10:00:{len(name):02}"))
    frames, _, failed = listed(tmp_path)
    assert frames == [("a/2.JPG",), ("a/10.jpeg",), ("b/shot_9.jpg",), ("b/shot_10.jpg",), ("z.jpg",)]
    assert not failed


def test_what_is_no_picture_by_name_is_passed_over(tmp_path):
    write_jpeg(tmp_path / "a.jpg")
    for name in ("notes.txt", "a.xmp", "a.mov", "jpg", "sheet.pdf", "a.jpg.part"):
        write(tmp_path / name, b"something")
    # Systems' own files, which end as pictures do.
    write(tmp_path / "._a.jpg", b"\0\5\x16\7" + bytes(100))
    write(tmp_path / ".Trashes/b.jpg", jpeg())
    assert listed(tmp_path) == ([("a.jpg",)], {}, {})


def test_an_empty_folder_holds_nothing(tmp_path):
    assert listed(tmp_path) == ([], {}, {})


def test_raw_and_jpeg_of_one_shot_are_one_frame(tmp_path):
    write_jpeg(tmp_path / "shot_0001.JPG", taken("2024:06:01 10:00:00"))
    write(tmp_path / "shot_0001.dng", dng(sensor()))
    write(tmp_path / "shot_0002.DNG", dng(sensor(1)))
    write_jpeg(tmp_path / "shot_0003.jpg", taken("2024:06:01 10:00:01"))
    frames, copies, failed = listed(tmp_path)
    assert frames == [("shot_0001.JPG", "shot_0001.dng"), ("shot_0002.DNG",), ("shot_0003.jpg",)]
    assert not copies and not failed
    assert list_frames(tmp_path).frames[0].path.name == "shot_0001.JPG"


def test_namesakes_from_different_times_are_two_frames(tmp_path):
    # The counter came round: two shots of one name, brought into one folder.
    write_jpeg(tmp_path / "shot_0001.jpg", taken("2024:06:01 10:00:00", serial="7"))
    write_jpeg(tmp_path / "shot_0001.png", data=png())
    exif = taken("2024:08:01 10:00:00", serial="7")
    add_tags(tmp_path / "shot_0001.png", exif)
    frames, _, _ = listed(tmp_path)
    assert frames == [("shot_0001.jpg",), ("shot_0001.png",)]


def add_tags(path, exif):
    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    for key, (_, text) in exif.items():
        image.exifData()[f"Exif.{key}"] = text
    image.writeMetadata()


def raw_of_a_shot(path, when, seed=0):
    """Write a DNG with the time, camera and serial number of a shot."""
    add_tags(write(path, dng(sensor(seed))), taken(when, "25", serial="7", model="20 MP camera"))


def test_a_raw_file_in_a_folder_of_its_own_joins_its_jpeg(tmp_path):
    exif = taken("2024:06:01 10:00:00", "25", serial="7", model="20 MP camera") | {"Image.Make": (ASCII, "Drawn")}
    write_jpeg(tmp_path / "jpeg/shot_0001.jpg", exif)
    raw_of_a_shot(tmp_path / "raw/shot_0001.dng", "2024:06:01 10:00:00")
    raw_of_a_shot(tmp_path / "raw/shot_0002.dng", "2024:06:01 10:00:05", seed=1)
    frames, _, failed = listed(tmp_path)
    assert frames == [("jpeg/shot_0001.jpg", "raw/shot_0001.dng"), ("raw/shot_0002.dng",)]
    assert not failed


def test_a_stripped_jpeg_takes_the_tags_of_its_raw_file(tmp_path):
    write_jpeg(tmp_path / "shot_0001.jpg")
    raw_of_a_shot(tmp_path / "shot_0001.dng", "2024:06:01 10:00:00")
    (frame,) = list_frames(tmp_path).frames
    assert frame.path.name == "shot_0001.jpg"
    assert (frame.tags.taken_at.second, frame.tags.taken_at.microsecond, frame.tags.has_subseconds) == (0, 250000, True)
    assert frame.tags.camera_serial == "7"
    assert (frame.tags.width_px, frame.tags.height_px) == (144, 96)  # the JPEG's own


def test_copies_in_another_folder_are_one_frame(tmp_path):
    exif = taken("2024:06:01 10:00:00", "25", serial="7")
    original = write_jpeg(tmp_path / "card/shot_0001.jpg", exif)
    write_jpeg(tmp_path / "card/shot_0002.jpg", taken("2024:06:01 10:00:01", "25", serial="7"), rgb=drawn_rgb(seed=2))
    for name in ("again/shot_0001.jpg", "again/deeper/shot_0001.jpg", "card/shot_0001 (1).jpg"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(original, tmp_path / name)
    frames, copies, _ = listed(tmp_path)
    assert len(frames) == 2
    ((name, others),) = copies.items()
    assert {name, *others} == {
        "card/shot_0001.jpg",
        "again/shot_0001.jpg",
        "again/deeper/shot_0001.jpg",
        "card/shot_0001 (1).jpg",
    }


def test_the_most_complete_copy_stands_for_the_shot(tmp_path):
    exif = taken("2024:06:01 10:00:00", "25", serial="7")
    original = write_jpeg(tmp_path / "z/card/shot_0001.jpg", exif)
    write(tmp_path / "z/card/shot_0001.dng", dng(sensor()))
    (tmp_path / "a").mkdir()
    shutil.copy(original, tmp_path / "a/shot_0001.jpg")
    frames, copies, _ = listed(tmp_path)
    assert frames == [("z/card/shot_0001.jpg", "z/card/shot_0001.dng")]
    assert copies == {"z/card/shot_0001.jpg": ("a/shot_0001.jpg",)}


def test_frames_that_are_alike_but_for_their_pixels_are_no_copies(tmp_path):
    # Same name, same tags, same size in bytes; one pixel differs.
    exif = taken("2024:06:01 10:00:00", "25", serial="7")
    data = bytearray(write_jpeg(tmp_path / "a/shot.jpg", exif).read_bytes())
    data[-40] ^= 1
    write(tmp_path / "b/shot.jpg", bytes(data))
    frames, copies, _ = listed(tmp_path)
    assert len(frames) == 2 and not copies


def test_wrong_endings_are_named_and_the_others_are_listed(tmp_path):
    write_jpeg(tmp_path / "a.jpg")
    write(tmp_path / "b.jpg", png())
    write(tmp_path / "c.jpg", b"The hawkers hovered at ten.\n" * 9)
    write(tmp_path / "d.ORF", jpeg(drawn_rgb(seed=4)))
    write(tmp_path / "e.jpg", b"")
    write(tmp_path / "f.jpg", bytes(9000))
    write(tmp_path / "g.jpg", b"BM" + bytes(100))
    write(tmp_path / "h.png", jpeg(drawn_rgb(seed=5)))
    frames, _, failed = listed(tmp_path)
    assert frames == [("a.jpg",)]
    assert failed == {
        "b.jpg": "the name says JPEG, but the file holds a PNG picture; rename it to end in .png",
        "c.jpg": "the name says JPEG, but the file holds plain text",
        "d.ORF": "the name says RAW, but the file holds a JPEG picture; rename it to end in .jpg",
        "e.jpg": "the file is empty (0 bytes); copy it from the card again",
        "f.jpg": "the name says JPEG, but the file holds nothing but zeros",
        "g.jpg": "the name says JPEG, but the file holds a BMP picture",
        "h.png": "the name says PNG, but the file holds a JPEG picture; rename it to end in .jpg",
    }


def test_a_folder_that_may_not_be_opened_is_named_once():
    with open_folder() as folder:
        for name in ("open/a.jpg", "closed/b.jpg", "closed/deeper/c.jpg"):
            write_jpeg(folder / name, rgb=drawn_rgb(seed=len(name)))
        (folder / "closed").chmod(0)
        with somebody_else():
            frames, _, failed = listed(folder)
    assert frames == [("open/a.jpg",)]
    assert list(failed) == ["closed"]
    assert "cannot be opened (Permission denied)" in failed["closed"]


def test_a_frame_that_may_not_be_read_is_named():
    with open_folder() as folder:
        write_jpeg(folder / "a.jpg")
        write_jpeg(folder / "b.jpg", rgb=drawn_rgb(seed=1)).chmod(0)
        with somebody_else():
            frames, _, failed = listed(folder)
    assert frames == [("a.jpg",)]
    assert failed == {"b.jpg": "permission denied; allow yourself to read it"}


@pytest.mark.parametrize("name", ["missing", "a.jpg"])
def test_what_is_no_folder_is_refused(tmp_path, name):
    write_jpeg(tmp_path / "a.jpg")
    with pytest.raises(InputError, match="no such folder" if name == "missing" else "is a file; name the folder"):
        list_frames(tmp_path / name)


def test_a_folder_that_cannot_be_opened_at_all_is_refused():
    with open_folder() as folder:
        (folder / "closed").mkdir(mode=0)
        with somebody_else(), pytest.raises(InputError, match="cannot be opened"):
            list_frames(folder / "closed")


def test_a_link_that_leads_back_is_named_once_and_ends(tmp_path):
    write_jpeg(tmp_path / "a/b/1.jpg")
    (tmp_path / "a/b/loop").symlink_to(tmp_path / "a")
    (tmp_path / "a/b/self").symlink_to(tmp_path / "a/b")
    (tmp_path / "a/top").symlink_to(tmp_path)
    frames, _, failed = listed(tmp_path)
    assert frames == [("a/b/1.jpg",)]
    assert set(failed) == {"a/b/loop", "a/b/self", "a/top"}
    assert all("leads back to a folder above it" in reason for reason in failed.values())


def test_links_between_two_folders_end(tmp_path):
    write_jpeg(tmp_path / "a/1.jpg")
    write_jpeg(tmp_path / "b/2.jpg", rgb=drawn_rgb(seed=1))
    (tmp_path / "a/to_b").symlink_to(tmp_path / "b")
    (tmp_path / "b/to_a").symlink_to(tmp_path / "a")
    assert listed(tmp_path) == ([("a/1.jpg",), ("b/2.jpg",)], {}, {})


def test_a_linked_folder_elsewhere_is_followed(tmp_path):
    write_jpeg(tmp_path / "elsewhere/1.jpg")
    (tmp_path / "here").mkdir()
    (tmp_path / "here/linked").symlink_to(tmp_path / "elsewhere")
    assert listed(tmp_path / "here") == ([("linked/1.jpg",)], {}, {})


def test_a_link_to_nothing_or_to_itself_is_named(tmp_path):
    write_jpeg(tmp_path / "a.jpg")
    (tmp_path / "gone.jpg").symlink_to(tmp_path / "no such.jpg")
    (tmp_path / "self.jpg").symlink_to(tmp_path / "self.jpg")
    (tmp_path / "nothing").symlink_to(tmp_path / "no such folder")
    frames, _, failed = listed(tmp_path)
    assert frames == [("a.jpg",)]
    assert failed == {
        "gone.jpg": "the file is no longer there; was the card pulled out, or the file moved?",
        "self.jpg": "the link leads back to itself; remove it",
    }


def test_a_linked_frame_is_a_copy(tmp_path):
    write_jpeg(tmp_path / "a/1.jpg")
    (tmp_path / "b").mkdir()
    (tmp_path / "b/1.jpg").symlink_to(tmp_path / "a/1.jpg")
    os.link(tmp_path / "a/1.jpg", tmp_path / "b/2.jpg")
    frames, copies, _ = listed(tmp_path)
    assert len(frames) == 1
    assert sum(len(others) for others in copies.values()) == 2


def test_pipes_and_folders_named_as_pictures(tmp_path):
    write_jpeg(tmp_path / "a.jpg/b.jpg")
    os.mkfifo(tmp_path / "c.jpg")
    assert listed(tmp_path) == ([("a.jpg/b.jpg",)], {}, {"c.jpg": "not a regular file; frames are plain files"})


def test_a_card_pulled_out_while_listing_costs_a_line_for_each_lost_frame(tmp_path, monkeypatch):
    for number in range(6):
        write_jpeg(tmp_path / f"{number}.jpg", rgb=drawn_rgb(seed=number))
    real_open, opened = os.open, []

    def open_until_pulled(path, *rest):
        opened.append(path)
        if Path(path).name in ("3.jpg", "4.jpg", "5.jpg"):
            raise OSError(5, "Input/output error", str(path))
        return real_open(path, *rest)

    monkeypatch.setattr(os, "open", open_until_pulled)
    frames, _, failed = listed(tmp_path)
    assert frames == [("0.jpg",), ("1.jpg",), ("2.jpg",)]
    assert set(failed) == {"3.jpg", "4.jpg", "5.jpg"}
    assert all("is the card still in" in reason for reason in failed.values())


def test_a_frame_that_vanishes_while_listing_is_named(tmp_path, monkeypatch):
    for number in range(3):
        write_jpeg(tmp_path / f"{number}.jpg", rgb=drawn_rgb(seed=number))
    real_open = os.open

    def open_and_lose(path, *rest):
        if Path(path).name == "0.jpg":
            (tmp_path / "1.jpg").unlink(missing_ok=True)
        return real_open(path, *rest)

    monkeypatch.setattr(os, "open", open_and_lose)
    frames, _, failed = listed(tmp_path)
    assert frames == [("0.jpg",), ("2.jpg",)]
    assert failed == {"1.jpg": "the file is no longer there; was the card pulled out, or the file moved?"}


def test_the_listing_does_not_depend_on_the_order_of_the_system(tmp_path, monkeypatch):
    exif = taken("2024:06:01 10:00:00", "25", serial="7")
    for name in ("b/1.jpg", "a/1.jpg", "c/2.jpg", "c/1.jpg"):
        write_jpeg(tmp_path / name, exif)
    write(tmp_path / "c/1.dng", dng(sensor()))
    first = list_frames(tmp_path)
    real_scandir = os.scandir

    class Shuffled:
        def __init__(self, path):
            self.entries = list(real_scandir(path))
            random.Random(3).shuffle(self.entries)

        def __enter__(self):
            return iter(self.entries)

        def __exit__(self, *_):
            return None

    monkeypatch.setattr(os, "scandir", Shuffled)
    assert list_frames(tmp_path) == first


def test_names_that_are_no_text_are_listed(tmp_path):
    name = os.fsdecode(b"shot_\xff\xfe.jpg")
    try:
        write_jpeg(tmp_path / "a.jpg").rename(tmp_path / name)
    except OSError:
        pytest.skip("this file system takes text names only")
    assert [frame.path.name for frame in list_frames(tmp_path).frames] == [name]


@pytest.mark.parametrize(
    ("names", "ordered"),
    [
        (["shot_10", "shot_9", "shot_1"], ["shot_1", "shot_9", "shot_10"]),
        (["b1", "a2", "a10", "1", "a"], ["1", "a", "a2", "a10", "b1"]),
        (["7²", "7", "٣"], ["7", "7²", "٣"]),
    ],
)
def test_natural_order(names, ordered):
    assert sorted(names, key=lambda name: natural_key(Path(name))) == ordered


@needs_data
def test_the_sample_folders_are_listed_as_they_are():
    listing = list_frames(DATA / "bursts")
    assert len(listing.frames) == 144 and not listing.failed
    assert all(frame.tags.taken_at is not None and frame.tags.has_subseconds for frame in listing.frames)
    listing = list_frames(DATA / "exif")
    assert [frame.path.name for frame in listing.frames] == [f"0{i}.jpg" for i in range(1, 9)]
    # Described as RAW files, the two are JPEGs inside; the metadata can be read, and the person is told.
    assert [failure.path.name for failure in listing.failed] == ["09.nef", "10.nef"]
    assert len(list_frames(DATA / "orientation").frames) == 16
    heif = list_frames(DATA / "heif")
    assert {failure.path.name for failure in heif.failed} == {
        "corrupted.heic",
        "corrupted.hif",
        "empty.heic",
        "truncated.heic",
    }


@needs_data
def test_listing_holds_tags_not_files():
    tracemalloc.start()
    listing = list_frames(DATA / "exif")
    kept, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(listing.frames) == 8
    assert kept < 400_000  # of 11 MB of files
    assert peak < 3_000_000


def test_files_are_left_as_they_were(tmp_path):
    exif = taken("2024:06:01 10:00:00", "25", serial="7")
    write_jpeg(tmp_path / "a/1.jpg", exif)
    write_jpeg(tmp_path / "b/1.jpg", exif)
    write(tmp_path / "b/1.dng", dng(sensor()))
    write(tmp_path / "b/2.jpg", b"no picture")
    before = fingerprint(tmp_path)
    for path in before:
        path.chmod(0o444)
    list_frames(tmp_path)
    assert fingerprint(tmp_path) == before
