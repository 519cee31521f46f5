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
that a track tells (`share.packetposition`), and the keywords tell which animals the sightings name in it
(`share.packetnames`).
"""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from stillwing.errors import WriteFailed
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.choices import StandingChoice, standing_choices
from stillwing.fieldbook.framesightings import sightings_of_frames
from stillwing.fieldbook.sidecars import (
    SidecarEntry,
    close_entries,
    enter_sidecars,
    last_positions,
    last_ratings,
    last_step,
    next_step,
    strike_entries,
)
from stillwing.fieldbook.tracks import positions_for_sidecars
from stillwing.share.atomic import write_atomically
from stillwing.share.packet import check_keywords, marks_in, merge
from stillwing.share.packetnames import names_in, restore_names
from stillwing.share.packetposition import position_in, restore_position
from stillwing.share.sidecarmerge import NOTHING_OF_OURS, Sidecar, SidecarRules, WantedSidecar, merged_sidecar
from stillwing.share.sidecarnames import sidecar_paths
from stillwing.share.spans import NotXml

__all__ = ["SidecarRun", "SidecarUndo", "undo_sidecars", "write_sidecars"]


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


def write_sidecars(
    book: FieldBook,
    outing_id: int,
    *,
    keywords: Sequence[str] = (),
    overrule_ratings: bool = False,
    with_positions: bool = False,
    with_names: Mapping[int, Sequence[str]] | None = None,
    sensitive_positions: bool = False,
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
    with_names : mapping of int to sequence of str, optional
        Keywords by number of the frame that tell which animals it shows, as `records.picturenames.names_of_frames`
        gives them. They take the place of those that we wrote before; keywords of others stay. Otherwise names are let
        be, ours too.
    sensitive_positions : bool, default False
        Write the positions too of frames whose burst shows a sensitive sighting. Otherwise ours are taken out there.
    dry_run : bool, default False
        Write nothing, and return what would be written.

    Raises
    ------
    InputError
        If a keyword or name is empty, cannot stand in XML, or begins like one of ours.
    FieldBookError
        If the book is read-only, without ``dry_run``.
    """
    check_keywords([*keywords, *chain.from_iterable((with_names or {}).values())])
    asks_for_places = with_positions or with_names is not None
    rules = SidecarRules(
        step=next_step(book, outing_id),
        keywords=tuple(keywords),
        overrule_ratings=overrule_ratings,
        ratings=last_ratings(book),
        places={one.frame_id: one for one in positions_for_sidecars(book, outing_id)} if with_positions else None,
        positions=last_positions(book),
        names=with_names,
        sensitive=_sensitive(book, outing_id) if asks_for_places and not sensitive_positions else frozenset(),
    )
    merged, failed = _merge_all(standing_choices(book, outing_id), rules)
    wanted = [one for one in merged if one.packet != one.write.before]
    unchanged = tuple(one.sidecar for one in merged if one.packet == one.write.before)
    written = wanted if dry_run else _write_all(book, outing_id, wanted, failed)
    return SidecarRun(tuple(one.sidecar for one in written), unchanged, tuple(failed))


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


def _sensitive(book: FieldBook, outing_id: int) -> frozenset[int]:
    return frozenset(one.frame_id for one in sightings_of_frames(book, outing_id) if one.is_sensitive)


def _merge_all(choices: Sequence[StandingChoice], rules: SidecarRules) -> tuple[list[WantedSidecar], list[WriteFailed]]:
    """Return all sidecars as they are to be, so already or not, and why the others cannot be."""
    merged: list[WantedSidecar] = []
    failed: list[WriteFailed] = []
    for choice, paths in zip(choices, sidecar_paths([one.files for one in choices]), strict=True):
        for path in paths:
            try:
                one = merged_sidecar(path, _read(path), choice, rules)
            except WriteFailed as error:
                failed.append(error)
            else:
                merged += [] if one is None else [one]
    return merged, failed


def _write_all(
    book: FieldBook, outing_id: int, wanted: Sequence[WantedSidecar], failed: list[WriteFailed]
) -> list[WantedSidecar]:
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


def _write(wanted: WantedSidecar) -> None:
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
            packet = restore_names(packet, () if entry.before is None else names_in(entry.before))
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
