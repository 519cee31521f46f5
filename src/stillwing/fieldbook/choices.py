"""Choices: what the tool proposes and what a person decides, kept apart; the person's always stands."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import func, select
from sqlalchemy.dialects.sqlite import insert

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.history import check_frames, record_choices
from stillwing.fieldbook.listing import known_frame_ids
from stillwing.fieldbook.paths import paths_from, stored_path
from stillwing.frames.chosen import Choice, Proposal

__all__ = ["StandingChoice", "choose", "standing_choices", "store_proposals", "why"]


@dataclass(frozen=True, slots=True)
class StandingChoice:
    """What stands for one frame: the person's choice where there is one, else the proposal."""

    frame_id: int
    burst_id: int
    burst_name: str
    files: tuple[Path, ...]
    choice: Choice
    is_by_hand: bool
    proposed: Choice | None
    """``None`` where a person chose before anything was proposed."""
    reason: str
    """The proposal's reason; empty without one."""
    usable_width_px: float

    @property
    def path(self) -> Path:
        """The file whose pixels are measured."""
        return self.files[0]

    @property
    def why(self) -> str:
        """Why this choice stands, in words."""
        return why(self.choice if self.is_by_hand else None, self.proposed, self.reason)


def store_proposals(book: FieldBook, outing_id: int, proposals: Sequence[Proposal], *, sharp_for: str) -> None:
    """Store the proposals of a run over a whole outing, in place of all earlier ones; a person's choices stay.

    Parameters
    ----------
    proposals : sequence of Proposal
        One per frame.
    sharp_for : str
        Output that "sharp enough" was set for, in words that can be parsed again.

    Raises
    ------
    UnknownThing
        If a proposal is for a file that the book does not hold.
    """
    proposal, outing = schema.proposal, schema.outing
    paths = [stored_path(one.path) for one in proposals]
    with book.writing() as connection:
        ids = known_frame_ids(connection, paths)
        connection.execute(proposal.delete().where(proposal.c.outing_id == outing_id))
        if proposals:
            connection.execute(
                insert(proposal),
                [
                    {
                        "outing_id": outing_id,
                        "frame_id": ids[path],
                        "choice": one.choice.value,
                        "reason": one.reason,
                        "usable_width_px": None if math.isnan(one.usable_width_px) else one.usable_width_px,
                    }
                    for path, one in zip(paths, proposals, strict=True)
                ],
            )
        connection.execute(
            outing.update()
            .where(outing.c.id == outing_id)
            .values(sharp_for=sharp_for, chosen_at=datetime.now(UTC).isoformat())
        )


def choose(book: FieldBook, outing_id: int, frame_ids: Sequence[int], choice: Choice | None) -> int:
    """Store a person's choice for one or more frames as one step, and return for how many of them it is new.

    ``None`` takes the person's choice away, so that the proposal stands again. No run ever changes what is stored
    here; `history.undo` takes the step back.

    Raises
    ------
    UnknownThing
        If the outing holds no such frame.
    """
    with book.writing() as connection:
        check_frames(connection, outing_id, frame_ids)
        return record_choices(connection, outing_id, frame_ids, choice)


def why(by_hand: Choice | None, proposed: Choice | None, reason: str) -> str:
    """Return why a choice stands, in words: the proposal's reason, unless a person decided otherwise."""
    if by_hand is None or by_hand is proposed:
        return reason
    return f"chosen by hand; proposed to {proposed}: {reason}" if proposed else "chosen by hand"


def standing_choices(book: FieldBook, outing_id: int, choice: Choice | None = None) -> tuple[StandingChoice, ...]:
    """Return what stands for each frame of an outing, in order of burst and frame; only ``choice`` where it is given.

    Frames for which nobody has chosen and nothing is proposed are left out.
    """
    member, burst, frame = schema.burst_frame, schema.burst, schema.frame
    proposal, person = schema.proposal, schema.person_choice
    stands = func.coalesce(person.c.choice, proposal.c.choice)
    query = (
        select(
            frame.c.id,
            burst.c.id.label("burst_id"),
            burst.c.name,
            frame.c.path,
            frame.c.other_files,
            stands.label("choice"),
            person.c.choice.label("by_hand"),
            proposal.c.choice.label("proposed"),
            proposal.c.reason,
            proposal.c.usable_width_px,
        )
        .select_from(member)
        .join(burst, burst.c.id == member.c.burst_id)
        .join(frame, frame.c.id == member.c.frame_id)
        .outerjoin(proposal, (proposal.c.outing_id == member.c.outing_id) & (proposal.c.frame_id == member.c.frame_id))
        .outerjoin(person, person.c.frame_id == member.c.frame_id)
        .where(member.c.outing_id == outing_id)
        .where(stands.is_not(None) if choice is None else stands == choice.value)
        .order_by(burst.c.taken_at, burst.c.id, member.c.number)
    )
    with book.reading() as connection:
        return tuple(
            StandingChoice(
                row.id,
                row.burst_id,
                row.name,
                (row.path, *paths_from(row.other_files)),
                Choice(row.choice),
                row.by_hand is not None,
                None if row.proposed is None else Choice(row.proposed),
                row.reason or "",
                math.nan if row.usable_width_px is None else row.usable_width_px,
            )
            for row in connection.execute(query)
        )
