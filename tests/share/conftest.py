"""What the tests of sharing have in common: an outing in a field book, over small pictures that decode."""

import os
import resource
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from stillwing.fieldbook.book import FieldBook, open_book
from stillwing.fieldbook.choices import choose, store_proposals
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.fieldbook.outings import open_outing
from stillwing.fieldbook.traces import burst_summaries, trace
from stillwing.frames.chosen import Choice, Proposal
from stillwing.frames.frame import Burst, Frame
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, Cutout, FocusMap, MeasuredFrame, Origin
from stillwing.frames.tags import read_tags

BLURS_PX = (0.75, 1.25, 2.5, 1.0)


@dataclass(frozen=True)
class Held:
    """An outing in a book: four frames, proposed to keep, to keep, to leave and to spare."""

    book: FieldBook
    id: int
    folder: Path
    paths: tuple[Path, ...]

    def choose(self, number: int, choice: Choice | None) -> None:
        """Choose for one frame as a person."""
        frames = trace(self.book, burst_summaries(self.book, self.id)[0].id).frames
        choose(self.book, self.id, [frames[number].id], choice)

    def propose(self, *choices: Choice) -> None:
        """Propose for all frames, as a run does."""
        reasons = [f"{i + 1}. sharpest of 4, whole animal in frame" for i in range(4)]
        proposals = [
            Proposal(path, choice, reason, 500.0)
            for path, choice, reason in zip(self.paths, choices, reasons, strict=True)
        ]
        store_proposals(self.book, self.id, proposals, sharp_for="screen 400")


def animal_in(box: Box, blur_px: float) -> Animal:
    blur = Blur(blur_px, blur_px * 0.9, blur_px * 1.1, blur_px * 0.75, blur_px * 1.2, 30.0, BlurKind.MOTION)
    focus = FocusMap(box, 1, 2, (blur_px, float("nan")))
    corners = ((box.x_px, box.y_px), (box.x_px + box.width_px, box.y_px), (box.x_px, box.y_px + box.height_px))
    cutout = Cutout(box.x_px - 9.5, box.y_px - 9.5, 200.0, b"as JPEG \xff\xd8")
    edges = (1.0, 2.0, 3.0, 4.0)
    return Animal(box, 0.9, Origin.FOUND, blur, corners, 0.2, False, edges, 0.0, 0.1, 0.5, focus, cutout=cutout)


@pytest.fixture
def photos(tmp_path: Path) -> Path:
    return tmp_path / "photos"


@pytest.fixture
def book(tmp_path: Path) -> Iterator[FieldBook]:
    with open_book(tmp_path / "book.sqlite") as opened:
        yield opened


@pytest.fixture
def held(book: FieldBook, photos: Path, draw_burst) -> Held:
    return hold(book, photos, draw_burst(photos, BLURS_PX))


def hold(book: FieldBook, folder: Path, boxes: dict[Path, Box], *, name: str = "pond", raw: bool = False) -> Held:
    """Store drawn pictures as a measured outing; with ``raw``, each has a second file."""
    frames = []
    for path in boxes:
        others = (path.with_suffix(".ORF"),) if raw else ()
        for other in others:
            other.write_bytes(b"raw of " + path.name.encode())
        frames.append(Frame((path, *others), read_tags(path)))
    outing = open_outing(book, name, folder)
    store_listing(book, outing.id, folder, [Burst(frames[0].path.stem, tuple(frames))])
    measured = [
        MeasuredFrame(frame, 640, 480, (animal_in(box, blur_px),))
        for frame, box, blur_px in zip(frames, boxes.values(), BLURS_PX, strict=True)
    ]
    store_chunk(book, outing.id, measured, code_version="1")
    found = Held(book, outing.id, folder, tuple(boxes))
    found.propose(Choice.KEEP, Choice.KEEP, Choice.LEAVE, Choice.SPARE)
    return found


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Give a disk of 1 MiB of its own, which fills up in earnest."""
    place = tmp_path / "small_disk"
    place.mkdir()
    is_root = os.name == "posix" and os.geteuid() == 0
    if not is_root or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=1m", "none", place], check=False).returncode:
        pytest.skip("mounting a small disk needs root")
    yield place
    subprocess.run(["umount", "--lazy", place], check=True)


def fill_up(disk: Path) -> None:
    """Write until no byte is left."""
    with (disk / "ballast").open("wb", buffering=0) as file:
        try:
            while True:
                file.write(b"\0" * 4096)
        except OSError:
            return


@contextmanager
def no_large_files() -> Iterator[None]:
    """Let no file of this process grow beyond 2 kB, as a full quota would.

    No fixture, which would last until pytest has reported: its own output may be a file, and longer.
    """
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (2000, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
