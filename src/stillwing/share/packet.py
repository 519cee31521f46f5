"""Our marks in an XMP packet (ISO 16684-1): a rating, keywords, a description; the rest of it stays byte for byte."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from xml.sax.saxutils import escape

from stillwing.errors import InputError
from stillwing.share.packetparts import (
    DC,
    NEW_PACKET,
    XMP,
    add_to_list,
    described,
    list_element,
    list_items,
    property_text,
    rdf_prefix,
    remove_value,
    replace_value,
)
from stillwing.share.spans import Edits, Element, NotXml, decoded, encoded

__all__ = [
    "DESCRIPTION_PREFIX",
    "KEYWORD_PREFIX",
    "Marks",
    "Merged",
    "can_be_written",
    "check_keywords",
    "marks_in",
    "merge",
    "writable",
]

KEYWORD_PREFIX = "stillwing "
"""Keywords that begin so are ours: a later run may take them away."""

DESCRIPTION_PREFIX = "stillwing: "
"""A description that begins so is ours: a later run may replace it."""

XML = "http://www.w3.org/XML/1998/namespace"

RATING, SUBJECT, DESCRIPTION = (XMP, "Rating"), (DC, "subject"), (DC, "description")
LANGUAGE = (XML, "lang")

NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class Marks:
    """What a packet is to say for us; ``None`` and an empty tuple take away what we said before, and only that."""

    rating: str | None
    """``xmp:Rating``, a number as text."""
    keywords: tuple[str, ...]
    """``dc:subject``."""
    description: str | None
    """``dc:description`` in the default language; begins with `DESCRIPTION_PREFIX`."""


@dataclass(frozen=True, slots=True)
class Merged:
    """A packet with our marks in it, and what of another's stood against them."""

    packet: bytes
    kept_rating: str | None
    """Rating that somebody else set and that was left, where it differs from ours."""
    kept_description: str | None
    """Description that somebody else wrote and that was left."""


def merge(packet: bytes | None, marks: Marks, *, last_rating: str | None = None, overrule: bool = False) -> Merged:
    """Return ``packet`` with our marks in place of earlier ones of ours, and nothing else changed.

    Parameters
    ----------
    packet : bytes or None
        The whole sidecar; ``None`` where there is none yet.
    marks : Marks
        What it is to say.
    last_rating : str, optional
        The rating that we wrote last; one that differs was set by somebody else and stays. Zero is "unrated".
    overrule : bool, default False
        Write the rating over one that somebody else set.

    Raises
    ------
    NotXml
        If the packet is damaged, or holds one of the three properties in a form that XMP does not know.

    Notes
    -----
    Our keywords are added to the list; those of others are never taken away. A description of somebody else stays, and
    ours is then not written.
    """
    text, encoding = decoded(packet) if packet is not None else (NEW_PACKET.encode(), "utf-8")
    edits, about = described(text)
    kept_rating = _set_rating(edits, about, marks.rating, last_rating, overrule=overrule)
    _set_keywords(edits, about, marks.keywords)
    kept_description = _set_description(edits, about, marks.description)
    return Merged(encoded(edits.made(), encoding), kept_rating, kept_description)


def marks_in(packet: bytes) -> Marks:
    """Return the rating of a packet, whoever set it, and the keywords and description that are ours.

    Raises
    ------
    NotXml
        As `merge`.
    """
    text, _ = decoded(packet)
    _, about = described(text)
    rating = _rating(about)
    keywords = tuple(li.text for li in list_items(about, SUBJECT) if li.text.startswith(KEYWORD_PREFIX))
    item = _default_description(about)
    ours = item is not None and item.text.startswith(DESCRIPTION_PREFIX)
    return Marks(rating, keywords, item.text if item is not None and ours else None)


def can_be_written(text: str) -> bool:
    """Tell whether XML can hold ``text``."""
    return NOT_IN_XML.search(text) is None


def check_keywords(keywords: Iterable[str]) -> None:
    """Refuse keywords that no packet can hold, or that would be taken for ours.

    Raises
    ------
    InputError
        If one is empty, cannot stand in XML, or begins like one of ours.
    """
    for keyword in keywords:
        if not keyword.strip() or not can_be_written(keyword):
            raise InputError(f"the keyword {keyword!r} is empty or holds characters that no sidecar can hold")
        if keyword.startswith(KEYWORD_PREFIX):
            raise InputError(f"the keyword {keyword!r} begins like those that stillwing writes itself; choose another")


def writable(text: str) -> str:
    """Return ``text`` with a mark in place of each character that XML cannot hold, such as a file's name may have."""
    return NOT_IN_XML.sub("\N{REPLACEMENT CHARACTER}", text)


def _set_rating(
    edits: Edits, about: list[Element], wanted: str | None, last: str | None, *, overrule: bool
) -> str | None:
    held = _rating(about) or ""
    is_set = bool(held.strip()) and not _is_same(held, "0")
    is_theirs = is_set and not (last is not None and _is_same(held, last))
    if is_theirs and not overrule:
        return None if wanted is not None and _is_same(held, wanted) else held
    if wanted is None:
        if is_set:
            remove_value(edits, about, RATING)
    elif _rating(about) is None:
        edits.append_to(about[0], property_text(about[0], RATING, escape(wanted)))
    elif not _is_same(held, wanted):
        replace_value(edits, about, RATING, wanted)
    return None


def _set_keywords(edits: Edits, about: list[Element], wanted: tuple[str, ...]) -> None:
    held_items = list_items(about, SUBJECT)
    held = {li.text for li in held_items}
    for li in held_items:
        if li.text.startswith(KEYWORD_PREFIX) and li.text not in wanted:
            edits.remove(li.start, li.stop)
    add_to_list(edits, about, SUBJECT, [keyword for keyword in dict.fromkeys(wanted) if keyword not in held])


def _set_description(edits: Edits, about: list[Element], wanted: str | None) -> str | None:
    description = list_element(about, DESCRIPTION)
    item = _default_description(about)
    if description is None:
        if wanted is not None:
            rdf = rdf_prefix(about[0])
            item_text = f'<{rdf}:li xml:lang="x-default">{escape(wanted)}</{rdf}:li>'
            edits.append_to(about[0], property_text(about[0], DESCRIPTION, f"<{rdf}:Alt>{item_text}</{rdf}:Alt>"))
        return None
    if item is None or not item.text.startswith(DESCRIPTION_PREFIX):
        items = list_items(about, DESCRIPTION)
        return (item or items[0]).text if items else ""
    if wanted is None:
        others = [li for li in list_items(about, DESCRIPTION) if li is not item]
        gone = item if others else description
        edits.remove(gone.start, gone.stop)
    elif item.text != wanted:
        edits.replace(item.inside, item.end, escape(wanted))
    return None


def _rating(about: list[Element]) -> str | None:
    for element in about:
        attribute = element.attribute(RATING)
        if attribute is not None:
            return attribute.value
        for child in element.children_named(RATING):
            if child.children:
                raise NotXml("its xmp:Rating is no plain number")
            return child.text.strip()
    return None


def _default_description(about: list[Element]) -> Element | None:
    description = list_element(about, DESCRIPTION)
    if description is None:
        return None
    items = list_items(about, DESCRIPTION)
    languages = [one.value if (one := li.attribute(LANGUAGE)) else "x-default" for li in items]
    return items[languages.index("x-default")] if "x-default" in languages else None


def _is_same(one: str, other: str) -> bool:
    try:
        return float(one) == float(other)
    except ValueError:
        return one.strip() == other.strip()
