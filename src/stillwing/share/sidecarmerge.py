"""One sidecar as it is to be: what stands for a frame, merged into what other programs wrote."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from stillwing.errors import WriteFailed
from stillwing.fieldbook.choices import StandingChoice
from stillwing.fieldbook.sidecars import SidecarWrite
from stillwing.fieldbook.tracks import FramePosition
from stillwing.frames.chosen import Choice
from stillwing.share.packet import DESCRIPTION_PREFIX, KEYWORD_PREFIX, Marks, merge, writable
from stillwing.share.packetnames import put_names
from stillwing.share.packetposition import PlacedPacket, holds_position, position_mark, put_position
from stillwing.share.spans import NotXml, decoded

__all__ = ["CHOICE_RATINGS", "NOTHING_OF_OURS", "Sidecar", "SidecarRules", "WantedSidecar", "merged_sidecar"]

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
    names: tuple[str, ...]
    """Keywords that tell which animals the frame shows; none where names were let be."""
    held_back: FramePosition | None
    """Position that a track tells and that was left out, since a sighting there is sensitive."""
    shows_sensitive_place: bool
    """Whether it holds a position, whoever set it, though a sighting there is sensitive."""


@dataclass(frozen=True, slots=True)
class SidecarRules:
    """What one command is to do."""

    step: int
    keywords: tuple[str, ...]
    overrule_ratings: bool
    ratings: Mapping[Path, str | None]
    """Written last, by sidecar."""
    places: Mapping[int, FramePosition] | None
    """Positions by frame; ``None`` where they are let be."""
    positions: Mapping[Path, str | None]
    """Written last, by sidecar."""
    names: Mapping[int, Sequence[str]] | None
    """Keywords by frame that tell what it shows; ``None`` where they are let be."""
    sensitive: frozenset[int]
    """Frames whose position is nobody else's business."""


@dataclass(frozen=True, slots=True)
class WantedSidecar:
    """A sidecar that is to be written."""

    sidecar: Sidecar
    write: SidecarWrite
    packet: bytes


def merged_sidecar(
    path: Path, before: bytes | None, choice: StandingChoice, rules: SidecarRules
) -> WantedSidecar | None:
    """Return a sidecar as it is to be, whether or not it is so already; ``None`` where none is needed.

    Parameters
    ----------
    path : Path
    before : bytes or None
        The sidecar as it is; ``None`` where there is none.

    Raises
    ------
    WriteFailed
        If it is no sound XMP packet.
    """
    marks, place = _marks(choice, rules.keywords), _place(choice, rules)
    if before is None and marks == NOTHING_OF_OURS:
        return None
    names, is_sensitive = _names(choice, rules), choice.frame_id in rules.sensitive
    try:
        merged = merge(before, marks, last_rating=rules.ratings.get(path), overrule=rules.overrule_ratings)
        named = put_names(merged.packet, names, keywords=marks.keywords)
        placed = _placed(named, path, None if is_sensitive else place, rules)
    except NotXml as error:
        raise WriteFailed(path, f"left as it is, for it is no sound XMP sidecar: {error}") from error
    sidecar = Sidecar(
        path=path,
        text=decoded(placed.packet)[0].decode(),
        is_new=before is None,
        kept_rating=merged.kept_rating,
        kept_description=merged.kept_description,
        placed=place if placed.ours else None,
        kept_position=placed.kept,
        names=tuple(names or ()),
        held_back=place if is_sensitive else None,
        shows_sensitive_place=is_sensitive and holds_position(placed.packet),
    )
    write = SidecarWrite(
        step=rules.step,
        path=path,
        before=before,
        after_sha256=hashlib.sha256(placed.packet).hexdigest(),
        rating=marks.rating,
        position=placed.ours,
    )
    return WantedSidecar(sidecar, write, placed.packet)


def _marks(choice: StandingChoice, keywords: Sequence[str]) -> Marks:
    if choice.choice is Choice.LEAVE:
        return NOTHING_OF_OURS
    return Marks(
        CHOICE_RATINGS[choice.choice],
        (f"{KEYWORD_PREFIX}{choice.choice}", *(keyword.strip() for keyword in keywords)),
        f"{DESCRIPTION_PREFIX}{writable(choice.why)}",
    )


def _place(choice: StandingChoice, rules: SidecarRules) -> FramePosition | None:
    if rules.places is None or choice.choice is Choice.LEAVE:
        return None
    return rules.places.get(choice.frame_id)


def _names(choice: StandingChoice, rules: SidecarRules) -> Sequence[str] | None:
    if rules.names is None:
        return None
    return () if choice.choice is Choice.LEAVE else rules.names.get(choice.frame_id, ())


def _placed(packet: bytes, path: Path, place: FramePosition | None, rules: SidecarRules) -> PlacedPacket:
    if rules.places is None:
        return PlacedPacket(packet, None, None)
    mark = None if place is None else position_mark(place.position, place.uncertainty_m)
    return put_position(packet, mark, last=rules.positions.get(path))
