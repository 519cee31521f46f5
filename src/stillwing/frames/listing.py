"""The frames in a folder and below it: files found, tags read, pairs and copies joined.

A RAW file and the JPEG of the same shot are one frame; a file that lies there twice is one frame with a copy. What cannot
be read is named with its reason, and the listing goes on.
"""

import hashlib
import os
import re
import stat
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from stillwing.errors import InputError, UnreadableFrame
from stillwing.frames.files import FileKind, check_kind, kind_of_name, read_head, translate
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.tags import read_tags

__all__ = ["Listing", "list_frames", "natural_key"]

PAIR_TOLERANCE_S = 2.0
"""Files of one name further apart in time are two shots: the counter of a camera comes round."""

PREFERENCE = (FileKind.JPEG, FileKind.HEIF, FileKind.PNG, FileKind.RAW)
"""Which file of a pair is measured: the one whose full-size pixels cost least."""

_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True)
class Listing:
    """What a folder holds."""

    frames: tuple[Frame, ...]
    """In the natural order of their paths."""
    failed: tuple[UnreadableFrame, ...]


@dataclass(frozen=True, slots=True)
class _File:
    path: Path
    kind: FileKind
    tags: Tags
    n_bytes: int
    identity: tuple[int, int]
    """Device and inode: two names of one file."""


def list_frames(folder: Path) -> Listing:
    """Return the frames in ``folder`` and the folders below it.

    Parameters
    ----------
    folder : Path
        Only read. Names that begin with a dot are passed over: systems keep their own files there.

    Returns
    -------
    Listing
        The same for the same files, in whatever order the system names them.

    Raises
    ------
    InputError
        If ``folder`` is missing, is not a folder or cannot be opened.

    Notes
    -----
    Files whose name ends as no picture's does are passed over in silence. Links to folders are followed once; one that
    leads back to a folder above it is named among the failures.
    """
    if not folder.is_dir():
        what = "is a file; name the folder that holds it" if folder.exists() else "no such folder"
        raise InputError(f"{folder}: {what}")
    paths, failed = _walk(folder)
    files = []
    for path in sorted(paths, key=natural_key):
        try:
            files.append(_look(path))
        except UnreadableFrame as failure:
            failed.append(failure)
    frames = _join_copies(_join_pairs(files))
    failed.sort(key=lambda failure: natural_key(failure.path))
    return Listing(tuple(sorted(frames, key=lambda frame: natural_key(frame.path))), tuple(failed))


def natural_key(path: Path) -> tuple[tuple[tuple[int, int, str], ...], ...]:
    """Return a sorting key that puts "frame_9" before "frame_10", folder by folder."""
    return tuple(
        tuple(
            (0, int(piece), piece) if piece.isdigit() and piece.isascii() else (1, 0, piece)
            for piece in _DIGITS.split(part)
        )
        for part in path.parts
    )


def _walk(top: Path) -> tuple[list[Path], list[UnreadableFrame]]:
    found: list[Path] = []
    failed: list[UnreadableFrame] = []
    seen: set[Path] = set()
    # Links wait until all real folders are known, so that a folder is listed under its own name.
    folders, links = [top], []
    while folders or links:
        folder = folders.pop() if folders else links.pop(0)
        real = folder.resolve()
        if real in seen:
            continue
        seen.add(real)
        try:
            entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError as error:
            if folder == top:
                raise InputError(f"{folder}: {error.strerror}; frames cannot be listed") from error
            failed.append(
                UnreadableFrame(folder, f"the folder cannot be opened ({error.strerror}); its frames are left out")
            )
            continue
        for entry in entries:
            path = folder / entry.name
            if entry.name.startswith("."):
                continue
            if not entry.is_symlink():
                if entry.is_dir(follow_symlinks=False):
                    folders.append(path)
                elif kind_of_name(path) is not None:
                    found.append(path)
            elif _leads_to_folder(path, failed):
                links.append(path)
            elif kind_of_name(path) is not None:
                found.append(path)
        links.sort(key=natural_key)
    return found, failed


def _leads_to_folder(link: Path, failed: list[UnreadableFrame]) -> bool:
    """Return whether a link leads to a folder worth entering; name it in ``failed`` where it leads back above itself."""
    try:
        target = link.resolve(strict=True)
    except (OSError, RuntimeError):
        return False  # a picture's name is tried, and fails, as a file
    if not target.is_dir():
        return False
    if link.parent.resolve().is_relative_to(target):
        failed.append(UnreadableFrame(link, "the link leads back to a folder above it; remove the link"))
        return False
    return True


def _look(path: Path) -> _File:
    kind = check_kind(path, read_head(path, 512))
    tags = read_tags(path)
    try:
        status = os.stat(path)
    except OSError as error:
        raise translate(path, error) from error
    return _File(path, kind, tags, status.st_size, (status.st_dev, status.st_ino))


def _join_pairs(files: Iterable[_File]) -> Iterator[tuple[_File, ...]]:
    """Yield the files of each shot, the one to measure first: same folder, same name but for the ending, same moment."""
    by_name = defaultdict(list)
    for file in files:
        by_name[(file.path.parent, file.path.stem.lower())].append(file)
    for namesakes in by_name.values():
        shots: list[list[_File]] = []
        for file in sorted(namesakes, key=lambda file: (PREFERENCE.index(file.kind), natural_key(file.path))):
            for shot in shots:
                if file.kind not in {other.kind for other in shot} and _same_moment(shot[0].tags, file.tags):
                    shot.append(file)
                    break
            else:
                shots.append([file])
        yield from map(tuple, shots)


def _same_moment(one: Tags, other: Tags) -> bool:
    if one.taken_at is None or other.taken_at is None:
        return True
    return (
        abs((one.taken_at.replace(tzinfo=None) - other.taken_at.replace(tzinfo=None)).total_seconds())
        <= PAIR_TOLERANCE_S
    )


def _join_copies(shots: Iterable[tuple[_File, ...]]) -> Iterator[Frame]:
    """Yield one frame per shot; the same bytes elsewhere are its copies, and a RAW file in another folder its second file."""
    alike = defaultdict(list)
    for shot in shots:
        alike[(shot[0].n_bytes, shot[0].tags)].append(shot)
    originals: list[tuple[tuple[_File, ...], list[Path]]] = []
    for candidates in alike.values():
        candidates.sort(key=lambda shot: (-len(shot), len(shot[0].path.parts), natural_key(shot[0].path)))
        kept: dict[object, tuple[tuple[_File, ...], list[Path]]] = {}
        for shot in candidates:
            # Tags and size are equal by chance only where there are none; the bytes decide.
            key = _content(shot[0].path) if len(candidates) > 1 else None
            if key in kept:
                kept[key][1].extend(file.path for file in shot)
            else:
                kept[key] = (shot, [])
        originals.extend(kept.values())
    for shot, copies in originals:
        yield Frame(tuple(file.path for file in shot), shot[0].tags, tuple(sorted(copies, key=natural_key)))


def _content(path: Path) -> bytes:
    """Return a digest of the file's bytes; a file that cannot be read any longer is alike to none."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "blake2b").digest()
    except OSError:
        return os.fsencode(path)
