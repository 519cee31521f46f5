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
taken out. Where it is asked for, a photograph to keep or to spare that tells no position of its own is given the one
that a track tells (`share.packetposition`).
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stillwing.errors import WriteFailed
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import StandingChoice, standing_choices
from stillwing.fieldbook.sidecars import (
    SidecarEntry,
    SidecarWrite,
    close_entries,
    enter_sidecars,
    last_positions,
    last_ratings,
    last_step,
    next_step,
    strike_entries,
)
from stillwing.fieldbook.tracks import FramePosition, positions_for_sidecars
from stillwing.frames.chosen import Choice
from stillwing.share.atomic import write_atomically
from stillwing.share.packet import DESCRIPTION_PREFIX, KEYWORD_PREFIX, Marks, check_keywords, marks_in, merge, writable
from stillwing.share.packetposition import PlacedPacket, position_in, position_mark, put_position, restore_position
from stillwing.share.sidecarnames import sidecar_paths
from stillwing.share.spans import NotXml, decoded

__all__ = ["CHOICE_RATINGS", "Sidecar", "SidecarRun", "SidecarUndo", "undo_sidecars", "write_sidecars"]

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
    placed: FramePosition | None
    """Position that it gives for us; ``None`` where it gives none, and where positions were let be."""
    kept_position: str | None
    """Position that somebody else set and that was left, where ours is another."""


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
class _Run:
    """What one command is to do."""

    step: int
    overrule_ratings: bool
    ratings: Mapping[Path, str | None]
    """Written last, by sidecar."""
    places: Mapping[int, FramePosition] | None
    """Positions by frame; ``None`` where they are let be."""
    positions: Mapping[Path, str | None]
    """Written last, by sidecar."""


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
    with_positions: bool = False,
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
    with_positions : bool, default False
        Write where each frame to keep and to spare was taken, as a track tells it, and take out our positions that no
        track tells any more. A position that somebody else set stays. Otherwise positions are let be, ours too.
    dry_run : bool, default False
        Write nothing, and return what would be written.

    Raises
    ------
    InputError
        If a keyword is empty, cannot stand in XML, or begins like one of ours.
    FieldBookError
        If the book is read-only, without ``dry_run``.
    """
    check_keywords(keywords)
    choices = standing_choices(book, outing_id)
    places = {one.frame_id: one for one in positions_for_sidecars(book, outing_id)} if with_positions else None
    run = _Run(next_step(book, outing_id), overrule_ratings, last_ratings(book), places, last_positions(book))
    wanted: list[_Wanted] = []
    unchanged: list[Sidecar] = []
    failed: list[WriteFailed] = []
    for choice, paths in zip(choices, sidecar_paths([one.files for one in choices]), strict=True):
        marks, place = _marks(choice, keywords), _place(choice, run)
        for path in paths:
            try:
                before = _read(path)
                if before is None and marks == NOTHING_OF_OURS:
                    continue
                one = _merged(path, before, marks, place, run)
            except WriteFailed as error:
                failed.append(error)
                continue
            if one.packet == before:
                unchanged.append(one.sidecar)
            else:
                wanted.append(one)
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


def _marks(choice: StandingChoice, keywords: Sequence[str]) -> Marks:
    if choice.choice is Choice.LEAVE:
        return NOTHING_OF_OURS
    return Marks(
        CHOICE_RATINGS[choice.choice],
        (f"{KEYWORD_PREFIX}{choice.choice}", *(keyword.strip() for keyword in keywords)),
        f"{DESCRIPTION_PREFIX}{writable(choice.why)}",
    )


def _place(choice: StandingChoice, run: _Run) -> FramePosition | None:
    if run.places is None or choice.choice is Choice.LEAVE:
        return None
    return run.places.get(choice.frame_id)


def _merged(path: Path, before: bytes | None, marks: Marks, place: FramePosition | None, run: _Run) -> _Wanted:
    """Return a sidecar as it is to be, whether or not it is so already."""
    try:
        merged = merge(before, marks, last_rating=run.ratings.get(path), overrule=run.overrule_ratings)
        placed = _placed(merged.packet, path, place, run)
    except NotXml as error:
        raise WriteFailed(path, f"left as it is, for it is no sound XMP sidecar: {error}") from error
    sidecar = Sidecar(
        path,
        decoded(placed.packet)[0].decode(),
        before is None,
        merged.kept_rating,
        merged.kept_description,
        place if placed.ours else None,
        placed.kept,
    )
    write = SidecarWrite(
        step=run.step,
        path=path,
        before=before,
        after_sha256=hashlib.sha256(placed.packet).hexdigest(),
        rating=marks.rating,
        position=placed.ours,
    )
    return _Wanted(sidecar, write, placed.packet)


def _placed(packet: bytes, path: Path, place: FramePosition | None, run: _Run) -> PlacedPacket:
    if run.places is None:
        return PlacedPacket(packet, None, None)
    mark = None if place is None else position_mark(place.position, place.uncertainty_m)
    return put_position(packet, mark, last=run.positions.get(path))


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
            if entry.position is not None:
                earlier = None if entry.before is None else position_in(entry.before)
                packet = restore_position(packet, entry.position, earlier)
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
