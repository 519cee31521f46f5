import multiprocessing
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from stillwing.errors import FieldBookError, SchemaTooNew
from stillwing.fieldbook import book as book_module
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook, default_book_path, open_book
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.outings import counts, open_outing, outings

from .invented import animal, burst_of, listed_outing, measured, measured_outing


def pragma(book: FieldBook, name: str) -> object:
    with book.reading() as connection:
        return connection.exec_driver_sql(f"PRAGMA {name}").scalar_one()


def test_a_new_book_is_made_with_the_folders_above_it(tmp_path):
    path = tmp_path / "a" / "b" / "book.sqlite"
    with open_book(path) as book:
        assert outings(book) == ()
    assert path.read_bytes().startswith(b"SQLite format 3")


def test_its_state_is_another_one_after_anything_was_stored_here_or_elsewhere(tmp_path, photos):
    path = tmp_path / "book.sqlite"
    with open_book(path) as book, open_book(path) as elsewhere:
        first = book.state()
        assert outings(book) == () and book.state() == first
        open_outing(book, "pond", photos)
        second = book.state()
        open_outing(elsewhere, "lake", photos)
        assert len({first, second, book.state()}) == 3
        assert len(outings(book)) == 2 and book.state() == book.state()


def test_what_was_stored_is_there_when_the_book_is_opened_again(tmp_path, photos):
    with open_book(tmp_path / "book.sqlite") as book:
        open_outing(book, "pond", photos)
    with open_book(tmp_path / "book.sqlite") as book:
        assert [one.name for one in outings(book)] == ["pond"]


def test_the_log_is_written_ahead_keys_are_checked_and_writers_wait(book):
    assert pragma(book, "journal_mode") == "wal"
    assert pragma(book, "foreign_keys") == 1
    assert pragma(book, "busy_timeout") == 30_000
    assert pragma(book, "application_id") == schema.APPLICATION_ID


def test_the_default_place_is_the_users_data_folder(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    if sys.platform == "linux":
        assert default_book_path() == tmp_path / "stillwing" / "fieldbook.sqlite"
        with open_book() as book:
            assert book.path == default_book_path()
    assert default_book_path().name == "fieldbook.sqlite"


@pytest.mark.parametrize(
    "content", [b"\xff\xd8\xff\xe0 a picture", b"SQLite", b"name,blur\n"], ids=["jpeg", "short", "csv"]
)
def test_a_file_of_another_kind_is_refused_and_left_as_it_is(tmp_path, content):
    path = tmp_path / "book.sqlite"
    path.write_bytes(content)
    with pytest.raises(FieldBookError, match=r"book\.sqlite is not a field book: it is no SQLite file; name another"):
        open_book(path)
    assert path.read_bytes() == content
    assert list(tmp_path.iterdir()) == [path]


def test_a_database_of_another_program_is_refused_and_left_as_it_is(tmp_path):
    path = tmp_path / "other.sqlite"
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE pictures (name TEXT)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(FieldBookError, match="is an SQLite file of another program"):
        open_book(path)
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_an_empty_file_becomes_a_book(tmp_path):
    path = tmp_path / "book.sqlite"
    path.touch()
    with open_book(path) as book:
        assert outings(book) == ()


def test_a_folder_in_the_books_place_is_named(tmp_path):
    with pytest.raises(FieldBookError, match="is a folder; a field book is one file, such as"):
        open_book(tmp_path)


def test_a_file_where_a_folder_should_be_is_named(tmp_path):
    (tmp_path / "file").write_text("here")
    with pytest.raises(FieldBookError, match="cannot be made there"):
        open_book(tmp_path / "file" / "book.sqlite")


def test_a_newer_book_is_refused_with_what_to_do_and_left_as_it_is(tmp_path):
    path = tmp_path / "book.sqlite"
    with open_book(path) as book, book.writing() as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '0999'")
    before = path.read_bytes()
    with pytest.raises(SchemaTooNew, match=r"newer stillwing \(schema 0999, .* update stillwing"):
        open_book(path)
    assert path.read_bytes() == before


def test_a_damaged_book_is_named(tmp_path, photos):
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:
        outing = measured_outing(book, photos, burst_of(photos, 40))
    damaged = bytearray(path.read_bytes())
    damaged[8192:] = b"\xa5" * (len(damaged) - 8192)
    path.write_bytes(damaged)
    with (
        pytest.raises(FieldBookError, match="the field book is damaged; put a copy from a backup"),
        open_book(path) as book,
    ):
        counts(book, outing.id)


def test_a_step_that_fails_stores_nothing_of_itself(book, photos):
    with pytest.raises(RuntimeError, match="halfway"), book.writing() as connection:
        connection.execute(schema.outing.insert().values(name="half", folder=photos, opened_at="now"))
        raise RuntimeError("halfway")
    assert outings(book) == ()


def test_a_reader_sees_one_state_while_another_writes(book, photos):
    with book.reading() as connection:
        before = connection.execute(schema.outing.select()).all()
        open_outing(book, "pond", photos)
        assert connection.execute(schema.outing.select()).all() == before
    assert len(outings(book)) == 1


def test_a_writer_waits_for_the_other(book, photos):
    holds = threading.Event()

    def hold() -> None:
        with open_book(book.path) as other, other.writing():
            holds.set()
            time.sleep(0.4)

    thread = threading.Thread(target=hold)
    thread.start()
    holds.wait()
    begun = time.monotonic()
    open_outing(book, "pond", photos)
    assert time.monotonic() - begun > 0.2
    thread.join()


def test_a_writer_that_waits_too_long_says_so(tmp_path, photos, monkeypatch):
    monkeypatch.setattr(book_module, "BUSY_TIMEOUT_S", 0.1)
    with (
        open_book(tmp_path / "book.sqlite") as book,
        open_book(book.path) as other,
        other.writing(),
        pytest.raises(FieldBookError, match="another program has been writing"),
    ):
        open_outing(book, "pond", photos)


def add_outings(path: Path, who: str, folder: Path) -> None:
    with open_book(path) as book:
        for i in range(20):
            open_outing(book, f"{who} {i}", folder)


def test_processes_that_make_and_write_one_book_at_once_all_get_through(tmp_path, photos):
    path = tmp_path / "book.sqlite"
    start = multiprocessing.get_context("spawn").Process
    processes = [start(target=add_outings, args=(path, who, photos)) for who in ("page", "run", "another")]
    for process in processes:
        process.start()
    for process in processes:
        process.join()
    assert [process.exitcode for process in processes] == [0, 0, 0]
    with open_book(path) as book:
        assert len(outings(book)) == 60


KILLED_WHILE_WRITING = """
import os, signal, sys
from pathlib import Path
from stillwing.fieldbook import schema
from stillwing.fieldbook.book import open_book
with open_book(Path(sys.argv[1])) as book, book.writing() as connection:
    for i in range(5000):
        connection.execute(schema.outing.insert().values(name=f"half {i}", folder=Path("/nowhere"), opened_at="now"))
    os.kill(os.getpid(), signal.SIGKILL)
"""


def test_a_process_killed_while_writing_leaves_what_was_stored_before(tmp_path, photos):
    path = tmp_path / "book.sqlite"
    with open_book(path) as book:
        open_outing(book, "whole", photos)
    killed = subprocess.run([sys.executable, "-c", KILLED_WHILE_WRITING, path], check=False)
    assert killed.returncode == -signal.SIGKILL
    with open_book(path) as book:
        assert [one.name for one in outings(book)] == ["whole"]


def test_a_full_disk_costs_the_step_and_nothing_else(small_disk, photos):
    bursts = [burst_of(photos, 10, first=10 * i, minutes=i) for i in range(100)]
    with open_book(small_disk / "book.sqlite") as book:
        outing = listed_outing(book, photos, *bursts[:30])
        with pytest.raises(FieldBookError, match="no space is left on the disk"):
            for burst in bursts[:30] * 30:
                store_chunk(book, outing.id, [measured(frame, animal()) for frame in burst.frames], code_version="1")
        held = counts(book, outing.id)
        assert held.n_measured % 10 == 0
        assert held.n_frames == 300
    with open_book(small_disk / "book.sqlite") as book:
        assert counts(book, outing.id) == held


class TestReadOnlyPlace:
    @pytest.fixture
    def read_only(self, small_disk, photos, mount_read_only):
        with open_book(small_disk / "book.sqlite") as book:
            measured_outing(book, photos, burst_of(photos, 3))
        mount_read_only(small_disk)
        return small_disk / "book.sqlite"

    def test_a_book_opens_for_reading(self, read_only):
        with open_book(read_only) as book:
            assert book.is_read_only
            assert counts(book, outings(book)[0].id).n_measured == 3

    def test_storing_says_why_it_cannot(self, read_only, photos):
        with (
            open_book(read_only) as book,
            pytest.raises(FieldBookError, match="read-only place; nothing can be stored"),
        ):
            open_outing(book, "second", photos)

    def test_no_book_can_be_made(self, small_disk, mount_read_only):
        mount_read_only(small_disk)
        with pytest.raises(FieldBookError, match="cannot be made there: the folder is read-only"):
            open_book(small_disk / "book.sqlite")

    def test_a_book_left_half_closed_says_so(self, small_disk, photos, mount_read_only):
        with open_book(small_disk / "book.sqlite") as book:
            open_outing(book, "pond", photos)
            for name in ("book.sqlite", "book.sqlite-wal"):
                shutil.copy(small_disk / name, small_disk / f"copy of {name}")
            assert (small_disk / "copy of book.sqlite-wal").stat().st_size > 0
        mount_read_only(small_disk)
        with pytest.raises(FieldBookError, match="half closed on a read-only place"):
            open_book(small_disk / "copy of book.sqlite")


as_a_user = pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may read and write everything")


@as_a_user
def test_a_book_that_may_not_be_read_is_named(tmp_path):
    path = tmp_path / "book.sqlite"
    open_book(path).close()
    path.chmod(0)
    with pytest.raises(FieldBookError, match="cannot be read: Permission denied"):
        open_book(path)


@as_a_user
@pytest.mark.parametrize("locked", ["file", "folder"])
def test_a_book_that_may_not_be_written_opens_for_reading(tmp_path, photos, locked):
    path = tmp_path / "place" / "book.sqlite"
    with open_book(path) as book:
        outing = measured_outing(book, photos, burst_of(photos, 3))
    place, mode = (path, 0o444) if locked == "file" else (path.parent, 0o555)
    place.chmod(mode)
    try:
        with open_book(path) as book:
            assert counts(book, outing.id).n_measured == 3
            with pytest.raises(FieldBookError, match="nothing can be stored in it"):
                open_outing(book, "second", photos)
    finally:
        place.chmod(0o755)


@as_a_user
def test_a_folder_that_may_not_be_written_is_named(tmp_path):
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(FieldBookError, match="cannot be made there: the folder is read-only"):
            open_book(tmp_path / "book.sqlite")
        with pytest.raises(FieldBookError, match="cannot be made there: Permission denied"):
            open_book(tmp_path / "inner" / "book.sqlite")
    finally:
        tmp_path.chmod(0o755)
