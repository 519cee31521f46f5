"""Opening the field book: one SQLite file, made or migrated on the way, shared by several processes."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Lock
from types import TracebackType
from urllib.parse import quote

import platformdirs
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, IntegrityError
from sqlalchemy.pool import QueuePool

from stillwing.errors import FieldBookError, SchemaTooNew
from stillwing.fieldbook.paths import stored_path
from stillwing.fieldbook.schema import APPLICATION_ID, SCHEMA_REVISION

__all__ = ["FieldBook", "default_book_path", "open_book"]

BUSY_TIMEOUT_S = 30.0
"""How long a write waits for another process; a chunk's transaction takes milliseconds."""

SQLITE_HEADER = b"SQLite format 3\x00"
MIGRATIONS = Path(__file__).parent / "migrations"


class FieldBook:
    """An open field book. Made by `open_book`; safe to use from several threads.

    Nothing is kept in memory between calls, so that two processes (pages and a run) see each other's work at once.
    Open it in each process for itself: an SQLite connection must not be carried over a fork.
    """

    def __init__(self, path: Path, engine: Engine, *, is_read_only: bool) -> None:
        self.path, self.is_read_only = path, is_read_only
        self._engine = engine
        self._watching: Connection | None = None
        self._watch_lock = Lock()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Give a connection that sees one unchanging state of the book."""
        with _explained(self.path), self._engine.connect() as connection:
            connection.exec_driver_sql("BEGIN")
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Give a connection whose writes are stored together at the end, or not at all."""
        if self.is_read_only:
            raise FieldBookError(f"{self.path}: the field book lies on a read-only place; nothing can be stored in it")
        with _explained(self.path), self._engine.connect() as connection:
            # IMMEDIATE: wait for the other writer now, because a read that turns into a write cannot wait later.
            connection.exec_driver_sql("BEGIN IMMEDIATE")
            # Whatever ends the block early is rolled back when the connection goes back to the pool.
            yield connection
            connection.exec_driver_sql("COMMIT")

    def state(self) -> int:
        """Return a number that is another one after anything was stored, by this process or by any other.

        What was read before it was asked for may be older than what it stands for; what is read afterwards never is.

        Notes
        -----
        SQLite's ``data_version`` of a connection of its own, which never writes: a connection does not count its own
        changes (https://www.sqlite.org/pragma.html#pragma_data_version).
        """
        with _explained(self.path), self._watch_lock:
            if self._watching is None:
                self._watching = self._engine.connect()
            return int(self._watching.exec_driver_sql("PRAGMA data_version").scalar_one())

    def close(self) -> None:
        """Close all connections; the last process to close folds the write-ahead log into the file."""
        with self._watch_lock:
            if self._watching is not None:
                self._watching.close()
                self._watching = None
        self._engine.dispose()

    def __enter__(self) -> "FieldBook":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def default_book_path() -> Path:
    """Return where the field book lies unless the caller names another: the platform's folder for a user's data."""
    return platformdirs.user_data_path("stillwing", appauthor=False) / "fieldbook.sqlite"


def open_book(path: Path | None = None) -> FieldBook:
    """Open the field book at ``path``, making it when absent and migrating it when old.

    On a read-only place an existing book opens for reading only (`FieldBook.is_read_only`).

    Parameters
    ----------
    path : Path, optional
        The book's file; `default_book_path` without it.

    Returns
    -------
    FieldBook
        Also a context manager, which closes it.

    Raises
    ------
    SchemaTooNew
        If a newer stillwing wrote the book.
    FieldBookError
        If the file is no field book, is damaged, cannot be made, or is old and read-only. The file is left as it is.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder, open_book(Path(folder) / "book.sqlite") as book:
    ...     book.is_read_only
    False
    """
    path = stored_path(path or default_book_path())
    if path.is_dir():
        raise FieldBookError(f"{path} is a folder; a field book is one file, such as {path / 'fieldbook.sqlite'}")
    revision = _stored_revision(path)
    is_read_only = not _can_write(path)
    if is_read_only and revision != SCHEMA_REVISION:
        raise FieldBookError(
            f"{path}: the field book was written by an older stillwing and lies on a read-only place; "
            "copy it where it can be written, and open it there"
        )
    engine = _read_only_engine(path) if is_read_only else _engine(path)
    book = FieldBook(path, engine, is_read_only=is_read_only)
    if revision != SCHEMA_REVISION:
        try:
            _migrate(book)
        except BaseException:
            book.close()
            raise
    return book


def _stored_revision(path: Path) -> str | None:
    """Return the schema revision of the file at ``path``; ``None`` where there is no book yet."""
    try:
        with path.open("rb") as file:
            header = file.read(len(SQLITE_HEADER))
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise FieldBookError(f"{path}: the field book cannot be read: {error.strerror}") from error
    if not header:
        return None
    if header != SQLITE_HEADER:
        raise FieldBookError(f"{path} is not a field book: it is no SQLite file; name another file for the book")
    with _explained(path):
        engine = _engine(path, is_probe=True) if _can_write(path) else _read_only_engine(path)
        try:
            with engine.connect() as connection:
                return _revision_of(connection, path)
        finally:
            engine.dispose()


def _revision_of(connection: Connection, path: Path) -> str | None:
    application_id = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
    n_tables = connection.exec_driver_sql("SELECT count(*) FROM sqlite_master").scalar_one()
    if n_tables == 0:
        return None
    if application_id != APPLICATION_ID:
        raise FieldBookError(
            f"{path} is not a field book: it is an SQLite file of another program; name another file for the book"
        )
    revision = str(connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one())
    if int(revision) > int(SCHEMA_REVISION):
        raise SchemaTooNew(
            f"{path}: the field book was written by a newer stillwing (schema {revision}, this one knows up to "
            f"{SCHEMA_REVISION}); update stillwing, or name another file for the book"
        )
    return revision


def _can_write(path: Path) -> bool:
    """Tell whether the book and the log files beside it can be written, or made."""
    if path.exists():
        return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FieldBookError(f"{path}: the field book cannot be made there: {error.strerror}") from error
    if not os.access(path.parent, os.W_OK):
        raise FieldBookError(f"{path}: the field book cannot be made there: the folder is read-only")
    return True


def _engine(path: Path, *, is_probe: bool = False) -> Engine:
    def connect() -> sqlite3.Connection:
        # isolation_level None: transactions begin where `reading` and `writing` say so, and hold schema changes too.
        connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S, isolation_level=None, check_same_thread=False)
        if not is_probe:
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        return connection

    return _engine_of(connect)


def _read_only_engine(path: Path) -> Engine:
    uri = f"file:{quote(os.fsencode(path))}?mode=ro"

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(
            uri, uri=True, timeout=BUSY_TIMEOUT_S, isolation_level=None, check_same_thread=False
        )
        try:
            connection.execute("SELECT count(*) FROM sqlite_master")
        except sqlite3.OperationalError:
            connection.close()
            wal = path.with_name(path.name + "-wal")
            if wal.exists() and wal.stat().st_size > 0:
                raise
            # In WAL mode SQLite wants files beside the book; with an empty log, nobody can be writing there.
            connection = sqlite3.connect(f"{uri}&immutable=1", uri=True, isolation_level=None, check_same_thread=False)
        return connection

    return _engine_of(connect)


def _engine_of(connect: object) -> Engine:
    engine = create_engine("sqlite://", creator=connect, poolclass=QueuePool, pool_size=4, max_overflow=12)
    event.listen(engine, "reset", lambda connection, record, state: _leave_transaction(connection))
    return engine


def _leave_transaction(connection: sqlite3.Connection) -> None:
    # SQLite has left it by itself after some errors, such as a full disk.
    if connection.in_transaction:
        connection.execute("ROLLBACK")


def _migrate(book: FieldBook) -> None:
    # Imported here: Alembic costs more to import than an up-to-date book costs to open.
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    with book.writing() as connection:
        # Another process may have migrated the book while this one waited for it.
        if _revision_of(connection, book.path) == SCHEMA_REVISION:
            return
        connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


@contextmanager
def _explained(path: Path) -> Iterator[None]:
    """Turn what SQLite says about the file into one sentence; a broken rule of ours stays an exception."""
    try:
        yield
    except IntegrityError:
        raise
    except (DatabaseError, sqlite3.DatabaseError) as error:
        origin = error.orig if isinstance(error, DatabaseError) else error
        code = getattr(origin, "sqlite_errorcode", 0) & 0xFF
        sentence = SENTENCES.get(code)
        if sentence is None:
            raise
        raise FieldBookError(f"{path}: {sentence}") from error


SENTENCES = {
    sqlite3.SQLITE_BUSY: f"another program has been writing to the field book for {BUSY_TIMEOUT_S:.0f} s; try again",
    sqlite3.SQLITE_LOCKED: "another program holds the field book; try again",
    sqlite3.SQLITE_READONLY: "the field book has become read-only; nothing more can be stored in it",
    sqlite3.SQLITE_IOERR: "the disk that holds the field book does not answer; this step was not stored",
    sqlite3.SQLITE_FULL: "no space is left on the disk that holds the field book; this step was not stored",
    sqlite3.SQLITE_CANTOPEN: "the field book cannot be opened; it may have been left half closed on a read-only place",
    sqlite3.SQLITE_CORRUPT: "the field book is damaged; put a copy from a backup in its place",
    sqlite3.SQLITE_NOTADB: "this is not a field book, or its first bytes are damaged; name another file for the book",
}
"""What SQLite's primary result codes mean to the person, see https://www.sqlite.org/rescode.html."""
