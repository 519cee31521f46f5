"""One moment: an event that somebody logged in the field with one tap, as the phone that made it keeps it.

A moment is a record of its own. Its id is made on the phone, so that it may arrive twice, or by two ways, and still is
one; of two versions of it the one that was changed later counts.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from stillwing.errors import InputError

__all__ = ["EARLIEST", "LATEST", "LONGEST_NOTE", "LONGEST_WORDS", "Moment", "MomentKind", "instant_text"]

LONGEST_WORDS, LONGEST_NOTE = 100, 1000
"""Characters of a name, and of a note (a choice, no source)."""
EARLIEST, LATEST = datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
"""Instants that a phone can mean; a clock that was never set says 1970."""
NIL = "00000000-0000-0000-0000-000000000000"

# RFC 9562, section 4: 8-4-4-4-12 hexadecimal digits, written in lower case.
_UUID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", re.ASCII)
# Control characters other than tab and line ends, and halves of characters that JSON can smuggle in.
_NO_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


class MomentKind(StrEnum):
    """What was tapped."""

    HOVER = "hover"
    PASS = "pass"
    PERCH = "perch"
    TAKE_OFF = "take-off"
    RETURN = "return"
    LANDING = "landing"
    BURST = "burst"
    """A burst was shot: ties the phone's clock to the camera's."""
    MOVED = "moved"
    """The photographer went to another stand."""
    CONDITIONS = "conditions"
    """Sun, wind or water changed; the note says how."""


@dataclass(frozen=True, slots=True)
class Moment:
    """One logged event. All instants are in UTC, to the millisecond, as the phone's clock said."""

    id: str
    """UUID made on the phone."""
    kind: MomentKind
    at: datetime
    device: str
    """UUID of the phone."""
    changed_at: datetime
    """Of two versions of one id the later one counts."""
    animal: str = ""
    site: str = ""
    stand: str = ""
    perch: str = ""
    note: str = ""
    until: datetime | None = None
    """End of a hover; ``None`` for all else, and where nobody tapped it."""
    undone: bool = False
    """Taken back: kept, never counted."""

    def __post_init__(self) -> None:
        """Refuse what no phone can have logged.

        Raises
        ------
        InputError
            If an id is no UUID, an instant is not one of this century in UTC to the millisecond, the end comes before
            the start or belongs to no hover, or words are too long or no text.
        """
        _check_id("id", self.id)
        _check_id("device", self.device)
        _check_instant("at", self.at)
        _check_instant("changed_at", self.changed_at)
        for name in ("animal", "site", "stand", "perch"):
            _check_words(name, getattr(self, name), LONGEST_WORDS)
        _check_words("note", self.note, LONGEST_NOTE)
        if self.until is not None:
            _check_instant("until", self.until)
            if self.kind is not MomentKind.HOVER:
                raise InputError(f"until is given for a {self.kind}; only a hover has an end")
            if self.until < self.at:
                raise InputError(
                    f"until is {instant_text(self.until)}, before at, which is {instant_text(self.at)}; "
                    "a hover ends after it began"
                )


def instant_text(instant: datetime) -> str:
    """Return an instant in UTC as ISO 8601 with milliseconds and Z; such texts are in order when their instants are.

    Examples
    --------
    >>> instant_text(datetime(2026, 6, 1, 10, tzinfo=UTC))
    '2026-06-01T10:00:00.000Z'
    """
    return instant.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"


def _check_id(name: str, value: str) -> None:
    if not _UUID.fullmatch(value) or value == NIL:
        raise InputError(f"{name} is {value[:60]!r}; it must be a UUID, such as '0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a'")


def _check_instant(name: str, value: datetime) -> None:
    if value.utcoffset() != timedelta(0) or value.microsecond % 1000:
        raise InputError(f"{name} is {value.isoformat()}; it must be in UTC, to the millisecond")
    if not EARLIEST <= value < LATEST:
        raise InputError(f"{name} is {instant_text(value)}; it must be from 2000 to 2099: is the phone's clock set")


def _check_words(name: str, value: str, longest: int) -> None:
    if len(value) > longest:
        raise InputError(f"{name} has {len(value)} characters; it may have up to {longest}")
    found = _NO_TEXT.search(value)
    if found:
        raise InputError(f"{name} holds U+{ord(found[0]):04X} at character {found.start() + 1}, which is no text")
