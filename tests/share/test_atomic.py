import errno
import os
import stat
import subprocess

import pytest

from stillwing.errors import WriteFailed
from stillwing.share.atomic import write_atomically, written_atomically

from .conftest import fill_up, no_large_files


def test_a_file_is_written_whole(tmp_path):
    write_atomically(tmp_path / "a.xmp", b"new")
    assert (tmp_path / "a.xmp").read_bytes() == b"new"
    assert [path.name for path in tmp_path.iterdir()] == ["a.xmp"]


def test_a_new_file_may_be_read_by_whom_the_system_lets(tmp_path):
    mask = os.umask(0o022)
    try:
        write_atomically(tmp_path / "a.xmp", b"new")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "a.xmp").stat().st_mode) == 0o644


def test_a_file_replaced_hands_its_permissions_on(tmp_path):
    path = tmp_path / "a.xmp"
    path.write_bytes(b"old")
    path.chmod(0o640)
    write_atomically(path, b"new")
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode)) == (b"new", 0o640)


def test_a_link_stays_and_its_file_is_replaced(tmp_path):
    (tmp_path / "real.xmp").write_bytes(b"old")
    (tmp_path / "link.xmp").symlink_to("real.xmp")
    write_atomically(tmp_path / "link.xmp", b"new")
    assert (tmp_path / "link.xmp").is_symlink()
    assert (tmp_path / "real.xmp").read_bytes() == b"new"


@pytest.mark.parametrize(
    "failure", [RuntimeError("halfway"), KeyboardInterrupt(), OSError(errno.EIO, "Input/output error")]
)
def test_what_fails_halfway_leaves_the_old_file_and_no_draft(tmp_path, failure):
    path = tmp_path / "a.csv"
    path.write_bytes(b"old")
    expected = WriteFailed if isinstance(failure, OSError) else type(failure)
    with pytest.raises(expected), written_atomically(path) as draft:
        draft.write_bytes(b"half")
        raise failure
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("a.csv", b"old")]


def test_a_missing_folder_is_told(tmp_path):
    with pytest.raises(WriteFailed, match=r"none/a\.csv: cannot be written: No such file or directory"):
        write_atomically(tmp_path / "none" / "a.csv", b"new")


def test_a_full_disk_is_told_and_the_old_file_stays(small_disk):
    path = small_disk / "a.csv"
    path.write_bytes(b"old")
    fill_up(small_disk)
    with pytest.raises(WriteFailed, match="cannot be written: No space left on device"):
        write_atomically(path, b"x" * 100_000)
    assert path.read_bytes() == b"old"
    assert sorted(one.name for one in small_disk.iterdir()) == ["a.csv", "ballast"]


def test_a_file_that_may_not_grow_is_told(tmp_path):
    with pytest.raises(WriteFailed, match="cannot be written: File too large"), no_large_files():
        write_atomically(tmp_path / "a.csv", b"x" * 4000)
    assert list(tmp_path.iterdir()) == []


def test_a_read_only_place_is_told(small_disk):
    (small_disk / "a.csv").write_bytes(b"old")
    subprocess.run(["mount", "-o", "remount,ro", small_disk], check=True)
    with pytest.raises(WriteFailed, match="cannot be written: Read-only file system"):
        write_atomically(small_disk / "a.csv", b"new")
    assert (small_disk / "a.csv").read_bytes() == b"old"


def test_only_new_never_replaces_a_file_that_came_in_between(tmp_path):
    path = tmp_path / "a.jpg"
    with (
        pytest.raises(WriteFailed, match="cannot be written: File exists"),
        written_atomically(path, only_new=True) as draft,
    ):
        draft.write_bytes(b"ours")
        path.write_bytes(b"theirs")
    assert [(one.name, one.read_bytes()) for one in tmp_path.iterdir()] == [("a.jpg", b"theirs")]
