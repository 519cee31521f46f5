import os
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from stillwing.fieldbook.book import FieldBook, open_book


@pytest.fixture
def book(tmp_path: Path) -> Iterator[FieldBook]:
    with open_book(tmp_path / "book.sqlite") as opened:
        yield opened


@pytest.fixture
def photos(tmp_path: Path) -> Path:
    folder = tmp_path / "photos"
    folder.mkdir()
    return folder


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """Give a disk of 512 KiB of its own, which fills up in earnest."""
    place = tmp_path / "small_disk"
    place.mkdir()
    mounted = os.name == "posix" and os.geteuid() == 0
    if (
        not mounted
        or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=512k", "none", place], check=False).returncode
    ):
        pytest.skip("mounting a small disk needs root")
    yield place
    subprocess.run(["umount", "--lazy", place], check=True)


@pytest.fixture
def mount_read_only() -> Callable[[Path], None]:
    """Give a function that makes a mounted disk read-only."""

    def lock(place: Path) -> None:
        subprocess.run(["mount", "-o", "remount,ro", place], check=True)

    return lock
