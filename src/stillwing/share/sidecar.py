"""XMP sidecars: hand the standing choices to other software, in files beside the pictures, and take that back.

============  ============  ===========================================
choice        xmp:Rating    dc:subject
============  ============  ===========================================
keep          4             ``stillwing keep`` and the keywords given
spare         2             ``stillwing spare`` and the keywords given
leave         none          none
============  ============  ===========================================

``dc:description`` holds the reason. The numbers are our own convention: 5 and 3 stay free for a person to say "better"
and "worse", and 1 and -1 are left to them as well. A frame to leave gets no sidecar; what we wrote for it before is
taken out.

Names: ``NAME.xmp`` stands for all files of a shot, such as ``NAME.JPG`` and its RAW. Where ``NAME.xmp`` or
``NAME.JPG.xmp`` is there already, in whatever case, what is there is used: both, if there are both. Where two
shots in a folder differ by their ending only, each gets a ``NAME.ENDING.xmp``.
"""

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from stillwing.errors import InputError, WriteFailed
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import StandingChoice, standing_choices
from stillwing.fieldbook.sidecars import (
    SidecarEntry,
    SidecarWrite,
    close_entries,
    enter_sidecars,
    last_ratings,
    last_step,
    next_step,
    strike_entries,
)
from stillwing.frames.chosen import Choice
from stillwing.share.atomic import write_atomically
from stillwing.share.packet import DESCRIPTION_PREFIX, KEYWORD_PREFIX, Marks, can_be_written, marks_in, merge, writable
from stillwing.share.spans import NotXml, decoded

__all__ = ["CHOICE_RATINGS", "Sidecar", "SidecarRun", "SidecarUndo", "sidecar_paths", "undo_sidecars", "write_sidecars"]

CHOICE_RATINGS = {Choice.KEEP: "4", Choice.SPARE: "2"}
"""``xmp:Rating`` of a choice; a frame to leave gets none."""

NOTHING_OF_OURS = Marks(None, (), None)


@dataclass(frozen=True, slots=True)
class Sidecar:
    """One sidecar that was written, or would be."""

    path: Path
    text: str
    is_new: bool
    kept_rating: str | None
    """Rating that somebody else set and that was left, where it differs from ours."""
    kept_description: str | None
    """Description that somebody else wrote and that was left."""


@dataclass(frozen=True, slots=True)
class SidecarRun:
    """What one command did about sidecars."""

    written: tuple[Sidecar, ...]
    """With ``dry_run``, those that would be written."""
    unchanged: tuple[Sidecar, ...]
    """Those that say already what they should."""
    failed: tuple[WriteFailed, ...]


@dataclass(frozen=True, slots=True)
class SidecarUndo:
    """What was taken back."""

    restored: tuple[Path, ...]
    """Sidecars that are as they were before; those that were new are gone."""
    failed: tuple[WriteFailed, ...]


@dataclass(frozen=True, slots=True)
class _Wanted:
    """A sidecar that is to be written."""

    sidecar: Sidecar
    write: SidecarWrite
    packet: bytes


def write_sidecars(
    book: FieldBook,
    outing_id: int,
    *,
    keywords: Sequence[str] = (),
    overrule_ratings: bool = False,
    dry_run: bool = False,
) -> SidecarRun:
    """Write the standing choices of an outing into sidecars beside the frames.

    A sidecar that is there keeps everything in it that is not ours, byte for byte. A rating that somebody else set
    stays. A sidecar that cannot be written costs one failure, and is left as it was. What is written goes into the
    book's journal first, so that `undo_sidecars` can take it back.

    Parameters
    ----------
    keywords : sequence of str, optional
        Added to the keywords of frames to keep and to spare; never taken away again except by undo.
    overrule_ratings : bool, default False
        Write our rating over one that somebody else set.
    dry_run : bool, default False
        Write nothing, and return what would be written.

    Raises
    ------
    InputError
        If a keyword is empty, cannot stand in XML, or begins like one of ours.
    FieldBookError
        If the book is read-only, without ``dry_run``.
    """
    _check_keywords(keywords)
    choices = standing_choices(book, outing_id)
    ratings = last_ratings(book)
    step = next_step(book, outing_id)
    wanted: list[_Wanted] = []
    unchanged: list[Sidecar] = []
    failed: list[WriteFailed] = []
    for choice, paths in zip(choices, sidecar_paths([one.files for one in choices]), strict=True):
        marks = _marks(choice, keywords)
        for path in paths:
            try:
                before = _read(path)
                if before is None and marks == NOTHING_OF_OURS:
                    continue
                packet, sidecar = _merged(path, before, marks, ratings.get(path), overrule=overrule_ratings)
            except WriteFailed as error:
                failed.append(error)
                continue
            if packet == before:
                unchanged.append(sidecar)
            else:
                after = hashlib.sha256(packet).hexdigest()
                write = SidecarWrite(step=step, path=path, before=before, after_sha256=after, rating=marks.rating)
                wanted.append(_Wanted(sidecar, write, packet))
    written = wanted if dry_run else _write_all(book, outing_id, wanted, failed)
    return SidecarRun(tuple(one.sidecar for one in written), tuple(unchanged), tuple(failed))


def undo_sidecars(book: FieldBook, outing_id: int) -> SidecarUndo:
    """Take back the last `write_sidecars` of an outing that has not been taken back.

    A sidecar is put back as it was, or removed where there was none. Where another program has written it since, only
    our marks in it are taken back. One that cannot be written fails, and a further undo tries it again.
    """
    done: list[SidecarEntry] = []
    failed: list[WriteFailed] = []
    for entry in last_step(book, outing_id):
        try:
            _take_back(entry)
        except WriteFailed as error:
            failed.append(error)
        else:
            done.append(entry)
    close_entries(book, [entry.id for entry in done])
    return SidecarUndo(tuple(entry.path for entry in done), tuple(failed))


def sidecar_paths(shots: Sequence[Sequence[Path]]) -> list[tuple[Path, ...]]:
    """Return the sidecars of each shot, given the files of each; see the head of this module for how they are named."""
    names: dict[Path, dict[str, list[str]]] = {}
    claims = Counter(stem for files in shots for stem in {_stem(file) for file in files})
    return [_sidecars_of(files, claims, names) for files in shots]


def _sidecars_of(
    files: Sequence[Path], claims: Counter[tuple[Path, str]], names: dict[Path, dict[str, list[str]]]
) -> tuple[Path, ...]:
    there, usual = [], []
    for file in files:
        is_shared = claims[_stem(file)] > 1
        by_stem, by_name = f"{file.stem}.xmp", f"{file.name}.xmp"
        if file.parent not in names:
            names[file.parent] = _names_in(file.parent)
        listed = names[file.parent]
        for name in [by_name] if is_shared else [by_stem, by_name]:
            there += [file.with_name(one) for one in listed.get(name.lower(), [])]
        usual.append(file.with_name(by_name if is_shared else by_stem))
    return tuple(dict.fromkeys(there or usual))


def _stem(file: Path) -> tuple[Path, str]:
    return file.parent, file.stem.lower()


def _names_in(folder: Path) -> dict[str, list[str]]:
    """Return the sidecars in a folder by their name in lower case."""
    names: dict[str, list[str]] = {}
    try:
        for entry in sorted(folder.iterdir()):
            if entry.suffix.lower() == ".xmp":
                names.setdefault(entry.name.lower(), []).append(entry.name)
    except OSError:
        # The folder cannot be read; the attempt to write into it will say what is wrong with it.
        return {}
    return names


def _marks(choice: StandingChoice, keywords: Sequence[str]) -> Marks:
    if choice.choice is Choice.LEAVE:
        return NOTHING_OF_OURS
    return Marks(
        CHOICE_RATINGS[choice.choice],
        (f"{KEYWORD_PREFIX}{choice.choice}", *(keyword.strip() for keyword in keywords)),
        f"{DESCRIPTION_PREFIX}{writable(choice.why)}",
    )


def _merged(
    path: Path, before: bytes | None, marks: Marks, last_rating: str | None, *, overrule: bool
) -> tuple[bytes, Sidecar]:
    try:
        merged = merge(before, marks, last_rating=last_rating, overrule=overrule)
    except NotXml as error:
        raise WriteFailed(path, f"left as it is, for it is no sound XMP sidecar: {error}") from error
    text = decoded(merged.packet)[0].decode()
    return merged.packet, Sidecar(path, text, before is None, merged.kept_rating, merged.kept_description)


def _write_all(book: FieldBook, outing_id: int, wanted: Sequence[_Wanted], failed: list[WriteFailed]) -> list[_Wanted]:
    """Write sidecars, the journal first, and return those written; the others are added to ``failed``."""
    entries = enter_sidecars(book, outing_id, [one.write for one in wanted])
    written, struck = [], []
    for entry, one in zip(entries, wanted, strict=True):
        try:
            _write(one)
        except WriteFailed as error:
            failed.append(error)
            struck.append(entry)
        else:
            written.append(one)
    strike_entries(book, struck)
    return written


def _write(wanted: _Wanted) -> None:
    path = wanted.write.path
    if _read(path) != wanted.write.before:
        raise WriteFailed(path, "left as it is, for another program wrote it at the same time; run this again")
    write_atomically(path, wanted.packet)


def _take_back(entry: SidecarEntry) -> None:
    now = _read(entry.path)
    if now == entry.before:
        return
    if now is not None and hashlib.sha256(now).hexdigest() != entry.after_sha256:
        try:
            ours_before = NOTHING_OF_OURS if entry.before is None else marks_in(entry.before)
            packet = merge(now, ours_before, last_rating=entry.rating).packet
        except NotXml as error:
            raise WriteFailed(entry.path, f"left as it is, for it is no sound XMP sidecar any more: {error}") from error
        write_atomically(entry.path, packet)
    elif entry.before is None:
        try:
            entry.path.unlink()
        except OSError as error:
            raise WriteFailed(entry.path, f"cannot be removed: {error.strerror}") from error
    else:
        write_atomically(entry.path, entry.before)


def _read(path: Path) -> bytes | None:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise WriteFailed(path, f"left as it is, for it cannot be read: {error.strerror}") from error


def _check_keywords(keywords: Iterable[str]) -> None:
    for keyword in keywords:
        if not keyword.strip() or not can_be_written(keyword):
            raise InputError(f"the keyword {keyword!r} is empty or holds characters that no sidecar can hold")
        if keyword.startswith(KEYWORD_PREFIX):
            raise InputError(f"the keyword {keyword!r} begins like those that stillwing writes itself; choose another")
