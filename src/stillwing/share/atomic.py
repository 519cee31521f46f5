"""Writing a file so that it is there whole, or not at all, and what was there before stays until then."""

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from stillwing.errors import WriteFailed

__all__ = ["write_atomically", "written_atomically"]


def write_atomically(path: Path, content: bytes) -> None:
    """Write ``content`` to ``path``; see `written_atomically`."""
    with written_atomically(path) as draft:
        draft.write_bytes(content)


@contextmanager
def written_atomically(path: Path, *, only_new: bool = False) -> Iterator[Path]:
    """Give a draft in the same folder to write to; it takes the place of ``path`` when it is complete.

    A link is followed, so that the file it points to is replaced and the link stays. A file that is replaced hands its
    permissions on.

    Parameters
    ----------
    only_new : bool, default False
        Fail where there is a file by then, rather than replace it.

    Raises
    ------
    WriteFailed
        If the folder is missing or read-only, the disk is full, or a file may not grow so large; ``path`` is then as
        it was, and no draft is left.
    """
    # Two programs may write the same file at once; each has a draft of its own.
    place = Path(os.path.realpath(path))
    draft = place.with_name(f".stillwing-{secrets.token_hex(6)}.part")
    try:
        with _told_apart(path):
            draft.touch(exist_ok=False)
        with _told_apart(path):
            yield draft
        with _told_apart(path):
            _flush_to_disk(draft)
            if only_new:
                _put_if_new(draft, place)
            else:
                with suppress(FileNotFoundError):
                    draft.chmod(place.stat().st_mode & 0o7777)
                draft.replace(place)
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _put_if_new(draft: Path, place: Path) -> None:
    try:
        # Unlike a rename, a link never takes a file's place.
        place.hardlink_to(draft)
    except FileExistsError:
        raise
    except OSError:
        # Cards and sticks in FAT know no links; there the check and the rename are two steps.
        if place.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
        draft.rename(place)


@contextmanager
def _told_apart(path: Path) -> Iterator[None]:
    """Turn what the system says into one sentence about ``path``."""
    try:
        yield
    except OSError as error:
        raise WriteFailed(path, f"cannot be written: {error.strerror or error}") from error


def _flush_to_disk(file: Path) -> None:
    # Before the rename: else a power cut may leave the new name with nothing behind it.
    descriptor = os.open(file, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
