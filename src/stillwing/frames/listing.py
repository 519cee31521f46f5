"""The frames in a folder and below it: files found, tags read, pairs and copies joined.

A RAW file and the JPEG of the same shot are one frame; a file that lies there twice is one frame with a copy. What
cannot be read is named with its reason, and the listing goes on.
"""

import hashlib
import os
import re
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

SHARED = (
    "exposure_s",
    "f_number",
    "iso",
    "focal_length_mm",
    "focus_distance_m",
    "drive_mode",
    "sequence_number",
    "camera",
    "camera_serial",
    "lens",
    "latitude_deg",
    "longitude_deg",
    "altitude_m",
    "focus_mode",
)
"""What all files of a shot have in common; sizes and areas are each file's own."""

_DIGITS = re.compile(r"(\d+)", re.ASCII)


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
    frames = _join_folders(_join_copies(_join_pairs(files)))
    failed.sort(key=lambda failure: natural_key(failure.path))
    return Listing(tuple(sorted(frames, key=lambda frame: natural_key(frame.path))), tuple(failed))


def natural_key(path: Path) -> tuple[tuple[tuple[int, int, str], ...], ...]:
    """Return a sorting key that puts "frame_9" before "frame_10", folder by folder."""
    return tuple(
        tuple(
            (0, int(piece), piece) if piece.isascii() and piece.isdigit() else (1, 0, piece)
            for piece in _DIGITS.split(part)
        )
        for part in path.parts
    )


def _walk(top: Path) -> tuple[list[Path], list[UnreadableFrame]]:
    found: list[Path] = []
    failed: list[UnreadableFrame] = []
    seen: set[Path] = set()
    # Links wait until all real folders are known, so that a folder is listed under its own name.
    folders, links = [top], list[Path]()
    while folders or links:
        folder = folders.pop() if folders else links.pop(0)
        real = folder.resolve()
        if real in seen:
            continue
        seen.add(real)
        try:
            with os.scandir(folder) as listed:
                entries = sorted(listed, key=lambda entry: entry.name)
        except OSError as error:
            if folder == top:
                raise InputError(f"{folder}: the folder cannot be opened ({error.strerror})") from error
            failed.append(UnreadableFrame(folder, f"the folder cannot be opened ({error.strerror}); it is left out"))
            continue
        for entry in entries:
            path = folder / entry.name
            if entry.name.startswith("."):
                continue
            if entry.is_dir(follow_symlinks=False):
                folders.append(path)
            elif entry.is_symlink() and _leads_to_folder(path):
                if folder.resolve().is_relative_to(path.resolve()):
                    failed.append(UnreadableFrame(path, "the link leads back to a folder above it; remove the link"))
                else:
                    links.append(path)
            elif kind_of_name(path) is not None:
                found.append(path)
        links.sort(key=natural_key)
    return found, failed


def _leads_to_folder(link: Path) -> bool:
    try:
        return link.is_dir()
    except (OSError, RuntimeError):  # a link to itself: if its name is a picture's, it is tried and fails as a file
        return False


def _look(path: Path) -> _File:
    kind = check_kind(path, read_head(path, 512))
    tags = read_tags(path)
    try:
        n_bytes = path.stat().st_size
    except OSError as error:
        raise translate(path, error) from error
    return _File(path, kind, tags, n_bytes)


def _join_pairs(files: Iterable[_File]) -> Iterator[tuple[_File, ...]]:
    """Yield the files of each shot, the one to measure first: one folder, one name but for the ending, one moment."""
    by_name = defaultdict(list)
    for file in files:
        by_name[(file.path.parent, file.path.stem.lower())].append(file)
    for namesakes in by_name.values():
        shots: list[list[_File]] = []
        for file in sorted(namesakes, key=lambda file: (PREFERENCE.index(file.kind), natural_key(file.path))):
            for shot in shots:
                if file.kind not in {other.kind for other in shot} and _is_same_moment(shot[0].tags, file.tags):
                    shot.append(file)
                    break
            else:
                shots.append([file])
        yield from map(tuple, shots)


def _is_same_moment(one: Tags, other: Tags) -> bool:
    if one.taken_at is None or other.taken_at is None:
        return True
    apart = one.taken_at.replace(tzinfo=None) - other.taken_at.replace(tzinfo=None)
    return abs(apart.total_seconds()) <= PAIR_TOLERANCE_S


def _join_copies(shots: Iterable[tuple[_File, ...]]) -> Iterator[Frame]:
    """Yield one frame per shot; the same bytes elsewhere are its copies."""
    alike = defaultdict(list)
    for shot in shots:
        alike[(shot[0].n_bytes, shot[0].tags)].append(shot)
    for candidates in alike.values():
        # The most complete shot stands for the others, then the one nearest to the top.
        candidates.sort(key=lambda shot: (-len(shot), len(shot[0].path.parts), natural_key(shot[0].path)))
        copies: dict[bytes, list[tuple[_File, ...]]] = defaultdict(list)
        for shot in candidates:
            # Size and tags are equal by chance only where there are hardly any tags; the bytes decide.
            copies[_content(shot[0].path) if len(candidates) > 1 else b""].append(shot)
        for first, *others in copies.values():
            again = sorted((file.path for shot in others for file in shot), key=natural_key)
            yield Frame(tuple(file.path for file in first), _tags_of(first), tuple(again))


def _tags_of(shot: tuple[_File, ...]) -> Tags:
    """Return the tags of the first file, with what it lacks and another file of the shot tells: an edited JPEG may."""
    tags = shot[0].tags
    for other in shot[1:]:
        if tags.taken_at is None:
            tags = replace(tags, taken_at=other.tags.taken_at, has_subseconds=other.tags.has_subseconds)
        tags = replace(tags, **{name: getattr(other.tags, name) for name in SHARED if getattr(tags, name) is None})
    return tags


def _join_folders(frames: Iterable[Frame]) -> Iterator[Frame]:
    """Yield the frames, a RAW file joined to the JPEG of the same name, camera and moment in another folder."""
    alone: dict[tuple[object, ...], list[Frame]] = defaultdict(list)
    for frame in frames:
        alone[_moment(frame)].append(frame)
    for group in alone.values():
        raws = [frame for frame in group if kind_of_name(frame.path) is FileKind.RAW]
        others = [frame for frame in group if all(kind_of_name(file) is not FileKind.RAW for file in frame.files)]
        if group[0].tags.taken_at and group[0].tags.camera and len(raws) == len(others) == 1 and len(group) == 2:
            first, second = others[0], raws[0]
            yield Frame(first.files + second.files, first.tags, first.copies + second.copies)
        else:
            yield from group


def _moment(frame: Frame) -> tuple[object, ...]:
    tags = frame.tags
    return (
        frame.path.stem.lower(),
        tags.camera,
        tags.camera_serial,
        tags.taken_at,
        tags.exposure_s,
        tags.sequence_number,
    )


def _content(path: Path) -> bytes:
    """Return a digest of the file's bytes; a file that cannot be read any longer is like none."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "blake2b").digest()
    except OSError:
        return os.fsencode(path)
