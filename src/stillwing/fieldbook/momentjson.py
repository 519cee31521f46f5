"""Moments as JSON: what a phone sends to the desk, and the file that leaves a phone.

A document is ``{"stillwing": "moments", "version": 1, "device": UUID, "moments": [...]}``. Each moment has the names of
`Moment`'s fields, instants in ISO 8601; ``id``, ``kind``, ``at`` and ``changed_at`` must be there, ``device`` is the
document's where a moment has none. Names that are not known are passed over.
"""

import json
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime

from stillwing.errors import InputError
from stillwing.fieldbook.moment import Moment, MomentKind, instant_text

__all__ = ["MOST_MOMENTS", "VERSION", "moment_to_json", "moments_from_json", "moments_to_json"]

VERSION = 1
MOST_MOMENTS = 10_000
"""In one document; a long day gives a few hundred (a choice, no source)."""
LARGEST_MB = 32
"""More than any document of that many moments with notes of usual length."""

WORDS = ("animal", "site", "stand", "perch", "note")


def moment_to_json(moment: Moment) -> dict[str, object]:
    """Return a moment as the object that `moments_from_json` takes back."""
    return {
        "id": moment.id,
        "kind": str(moment.kind),
        "at": instant_text(moment.at),
        "device": moment.device,
        "changed_at": instant_text(moment.changed_at),
        **{name: getattr(moment, name) for name in WORDS},
        "until": None if moment.until is None else instant_text(moment.until),
        "undone": moment.undone,
    }


def moments_to_json(moments: Iterable[Moment]) -> str:
    """Return the document that holds the moments, each with its own device."""
    written = [moment_to_json(moment) for moment in moments]
    document = {"stillwing": "moments", "version": VERSION, "moments": written}
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def moments_from_json(text: str | bytes, source: str = "the document") -> tuple[Moment, ...]:
    """Return the moments of a document, in its order.

    Instants with another offset from UTC are turned into UTC, fractions beyond milliseconds are cut off, and UUIDs in
    capitals are taken in lower case (RFC 9562, section 4).

    Parameters
    ----------
    text : str or bytes
        JSON; bytes in UTF-8.
    source : str
        As errors name it.

    Raises
    ------
    InputError
        If it is no such document, is larger than 32 MB, holds more than 10,000 moments, or a moment cannot be used; the
        message names that moment's place, counted from 1.
    """
    document = _object(_parsed(text, source), source)
    if document.get("stillwing") != "moments":
        raise InputError(f'{source} holds no moments; a file of moments begins with {{"stillwing": "moments"')
    version = document.get("version")
    if type(version) is not int or version != VERSION:
        raise InputError(f"{source} is of version {_told(version)}; this stillwing reads version {VERSION}")
    listed = document.get("moments")
    if not isinstance(listed, list):
        raise InputError(f"{source}: moments is {_told(listed)}; it must be a list")
    if len(listed) > MOST_MOMENTS:
        raise InputError(f"{source} holds {len(listed):,} moments; up to {MOST_MOMENTS:,} are taken at once")
    return tuple(
        _moment(one, document.get("device"), f"{source}: moment {place}") for place, one in enumerate(listed, 1)
    )


def _parsed(text: str | bytes, source: str) -> object:
    if len(text) > LARGEST_MB * 1_000_000:
        raise InputError(f"{source} is {len(text) / 1e6:,.0f} MB; moments are taken up to {LARGEST_MB} MB at once")
    try:
        written = text.decode("utf-8-sig") if isinstance(text, bytes) else text
        parsed: object = json.loads(written)
    except RecursionError as error:
        raise InputError(f"{source} is no JSON that can be read: it is nested too deeply") from error
    except ValueError as error:
        raise InputError(f"{source} is no JSON that can be read: {error}") from error
    return parsed


def _moment(value: object, device: object, place: str) -> Moment:
    written = {"device": device, **_object(value, place)}
    undone = written.get("undone", False)
    if not isinstance(undone, bool):
        raise InputError(f"{place}: undone is {_told(undone)}; it must be true or false")
    try:
        return Moment(
            id=_text(written, "id").lower(),
            kind=_kind(written),
            at=_instant(written, "at"),
            device=_text(written, "device").lower(),
            changed_at=_instant(written, "changed_at"),
            **{name: _text(written, name, "") for name in WORDS},
            until=None if written.get("until") is None else _instant(written, "until"),
            undone=undone,
        )
    except InputError as error:
        raise InputError(f"{place}: {error}") from error


def _object(value: object, source: str) -> Mapping[str, object]:
    if not isinstance(value, dict):
        raise InputError(f"{source} is {_told(value)}; it must be an object with names and values")
    return value


def _text(written: Mapping[str, object], name: str, usual: str | None = None) -> str:
    value = written.get(name)
    if value is None and usual is not None:
        return usual
    if not isinstance(value, str):
        raise InputError(f"{name} is {_told(value)}; it must be text")
    return value


def _kind(written: Mapping[str, object]) -> MomentKind:
    value = _text(written, "kind")
    try:
        return MomentKind(value)
    except ValueError as error:
        raise InputError(f"kind is {value[:40]!r}; it must be one of: {', '.join(MomentKind)}") from error


def _instant(written: Mapping[str, object], name: str) -> datetime:
    value = _text(written, name)
    try:
        instant = datetime.fromisoformat(value)
        if instant.tzinfo is None:
            raise InputError(f"{name} is {value[:40]!r}, which says no offset from UTC; end it with Z")
        instant = instant.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise InputError(
            f"{name} is {value[:40]!r}; it must be an instant, such as '2026-06-01T10:00:00.000Z'"
        ) from error
    return instant.replace(microsecond=instant.microsecond // 1000 * 1000)


def _told(value: object) -> str:
    return "missing" if value is None else json.dumps(value)[:40]
