"""Keepers in a folder of their own: copied or hard-linked, all files of a shot together, with a list of checksums.

The list is a file ``SHA256SUMS`` that ``sha256sum -c SHA256SUMS`` checks. Nothing that lies in the folder is ever
overwritten: a shot whose name is taken by another gets ``-2``, ``-3`` ... behind its name, the same for all its files.
Running it again adds what is new and leaves the rest.
"""

import hashlib
import os
import re
import shutil
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from itertools import count
from pathlib import Path

from stillwing.errors import WriteFailed
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import standing_choices
from stillwing.fieldbook.paths import stored_path
from stillwing.frames.chosen import Choice
from stillwing.share.atomic import write_atomically, written_atomically
from stillwing.share.sidecarnames import sidecar_paths

__all__ = ["MANIFEST", "KeptFile", "KeptRun", "gather_keepers"]

MANIFEST = "SHA256SUMS"

MANIFEST_LINE = re.compile(rb"(\\?)([0-9a-fA-F]{64}) [ *](.+)")


@dataclass(frozen=True, slots=True)
class KeptFile:
    """One file in the folder of keepers."""

    source: Path
    place: Path
    sha256: str
    is_new: bool
    """Put there by this run; otherwise the same file lay there already."""


@dataclass(frozen=True, slots=True)
class KeptRun:
    """What one command put into the folder of keepers."""

    files: tuple[KeptFile, ...]
    manifest: Path
    failed: tuple[WriteFailed, ...]


@dataclass(frozen=True, slots=True)
class _Shot:
    """What goes together: the pictures of a shot, and its sidecars."""

    pictures: tuple[Path, ...]
    sidecars: tuple[Path, ...]

    def name_of(self, file: Path, number: int) -> str:
        """Return what a file of the shot is called in the folder; ``number`` sets apart shots of one name."""
        stem = self.pictures[0].stem
        if number == 1 or not file.name.lower().startswith(stem.lower()):
            return file.name
        return f"{file.name[: len(stem)]}-{number}{file.name[len(stem) :]}"


def gather_keepers(
    book: FieldBook, outing_id: int, folder: Path, *, link: bool = False, choices: Collection[Choice] = (Choice.KEEP,)
) -> KeptRun:
    """Put an outing's keepers into ``folder``, made if need be, and write the list of checksums.

    A copy is read back and compared with what was read from the original before it counts.

    Parameters
    ----------
    link : bool, default False
        Make hard links, which take no room, in place of copies: both names then stand for one file, so that whatever
        changes one changes the original too. Sidecars are copied all the same.
    choices : collection of Choice, optional
        What counts as a keeper.

    Returns
    -------
    KeptRun
        A file that could not be put there is among ``failed``, and the rest are there.
    """
    folder = stored_path(folder)
    manifest = folder / MANIFEST
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        return KeptRun((), manifest, (WriteFailed(folder, f"cannot be made: {error.strerror}"),))
    wanted = [one.files for one in standing_choices(book, outing_id) if one.choice in choices]
    taken: set[str] = {MANIFEST.lower()}
    files: list[KeptFile] = []
    failed: list[WriteFailed] = []
    for pictures, sidecars in zip(wanted, sidecar_paths(wanted), strict=True):
        shot = _Shot(pictures, tuple(path for path in sidecars if path.is_file()))
        number = _number_of(shot, folder, taken)
        for source in (*shot.pictures, *shot.sidecars):
            name = shot.name_of(source, number)
            taken.add(name.lower())
            try:
                files.append(_put(source, folder / name, link=link and source in shot.pictures))
            except WriteFailed as error:
                failed.append(error)
    if files:
        try:
            _write_manifest(manifest, files)
        except WriteFailed as error:
            failed.append(error)
    return KeptRun(tuple(files), manifest, tuple(failed))


def _number_of(shot: _Shot, folder: Path, taken: set[str]) -> int:
    """Return the lowest number under which no picture of the shot meets another file; 1 stands for the bare name."""
    for number in count(1):
        names = [shot.name_of(picture, number) for picture in shot.pictures]
        if not any(name.lower() in taken for name in names) and all(
            _is_free_for(picture, folder / name) for picture, name in zip(shot.pictures, names, strict=True)
        ):
            return number
    raise AssertionError("numbers do not end")


def _is_free_for(source: Path, place: Path) -> bool:
    if not os.path.lexists(place):
        return True
    try:
        return place.samefile(source) or (
            place.stat().st_size == source.stat().st_size and _sha256(place) == _sha256(source)
        )
    except OSError:
        # What cannot be read cannot be told to be the same; it keeps its name.
        return False


def _put(source: Path, place: Path, *, link: bool) -> KeptFile:
    try:
        if os.path.lexists(place):
            return _found_there(source, place)
        checksum = _sha256(source)
    except OSError as error:
        raise WriteFailed(place, f"not made, for {source} cannot be read: {error.strerror}") from error
    if link:
        _link(source, place)
    else:
        _copy(source, place, checksum)
    return KeptFile(source, place, checksum, is_new=True)


def _found_there(source: Path, place: Path) -> KeptFile:
    checksum = _sha256(place)
    if not place.samefile(source) and checksum != _sha256(source):
        raise WriteFailed(place, f"left as it is, for it differs from {source}")
    return KeptFile(source, place, checksum, is_new=False)


def _link(source: Path, place: Path) -> None:
    try:
        place.hardlink_to(source.resolve())
    except OSError as error:
        raise WriteFailed(place, f"cannot be linked: {error.strerror}; copy the keepers instead") from error


def _copy(source: Path, place: Path, checksum: str) -> None:
    with written_atomically(place, only_new=True) as draft:
        shutil.copyfile(source, draft)
        if _sha256(draft) != checksum:
            raise WriteFailed(place, f"not made, for the copy came out unlike {source}; the disk may be failing")
        # The time of the picture, not of the copy, is what programs sort by where a file has no tags.
        shutil.copystat(source, draft)
        draft.chmod(draft.stat().st_mode | 0o200)


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _write_manifest(manifest: Path, files: Iterable[KeptFile]) -> None:
    """Write the list, keeping the lines of files that an earlier run put there."""
    sums = dict(_listed(manifest))
    sums |= {os.fsencode(file.place.name): file.sha256.encode() for file in files}
    write_atomically(manifest, b"".join(_manifest_line(name, sums[name]) for name in sorted(sums)))


def _listed(manifest: Path) -> Iterator[tuple[bytes, bytes]]:
    try:
        lines = manifest.read_bytes().split(b"\n")
    except FileNotFoundError:
        return
    except OSError as error:
        raise WriteFailed(manifest, f"left as it is, for it cannot be read: {error.strerror}") from error
    for line in lines:
        if match := MANIFEST_LINE.fullmatch(line):
            name = match[3]
            if match[1]:
                name = re.sub(rb"\\(.)", lambda escape: ESCAPED[escape[1]], name)
            yield name, match[2]
        elif line.strip():
            raise WriteFailed(manifest, "left as it is, for it is no list of SHA-256 sums")


ESCAPED = {b"n": b"\n", b"r": b"\r", b"\\": b"\\"}


def _manifest_line(name: bytes, checksum: bytes) -> bytes:
    written = name
    for character, letter in ((b"\\", b"\\"), (b"\n", b"n"), (b"\r", b"r")):
        written = written.replace(character, b"\\" + letter)
    # A line that begins with a backslash tells that its name holds escapes.
    return (b"\\" if written != name else b"") + checksum + b"  " + written + b"\n"
