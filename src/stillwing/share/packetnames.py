"""Names of animals among the keywords of an XMP packet, told apart from the keywords of others.

The names stand in ``dc:subject``, as any keyword. Those that we added are listed once more, in ``stillwing:names`` of a
namespace of our own, so that a name goes again when the sighting changes, and a name that somebody else had put there
stays. Where another program drops that list, the names become somebody's own: they stay until taken out by hand.
"""

from collections.abc import Collection, Sequence

from stillwing.share.packetparts import DC, OURS, add_to_list, described, list_element, list_items
from stillwing.share.spans import Edits, Element, decoded, encoded

__all__ = ["names_in", "put_names", "restore_names"]

SUBJECT, NAMES = (DC, "subject"), (OURS, "names")


def put_names(packet: bytes, wanted: Sequence[str] | None, *, keywords: Collection[str] = ()) -> bytes:
    """Return ``packet`` with names in place of earlier ones of ours, and nothing else changed.

    Parameters
    ----------
    packet : bytes
        The whole sidecar.
    wanted : sequence of str or None
        Names it is to hold, such as `packet.check_keywords` lets pass; none takes ours out, ``None`` lets them be.
    keywords : collection of str, optional
        Keywords that a person gave. Where one is a name of ours too, it is theirs from now on.

    Raises
    ------
    NotXml
        If the packet is damaged, or its keywords or our list are no list.
    """
    text, encoding = decoded(packet)
    edits, about = described(text)
    listed = [li.text for li in list_items(about, NAMES)]
    if wanted is None:
        _list_only(edits, about, [name for name in listed if name not in keywords])
    else:
        names = list(dict.fromkeys(wanted))
        held = [li.text for li in list_items(about, SUBJECT)]
        _take_out(edits, about, {name for name in listed if name not in names and name not in keywords})
        add_to_list(edits, about, SUBJECT, [name for name in names if name not in held])
        ours = [name for name in names if name in listed or name not in held]
        _list_only(edits, about, [name for name in ours if name not in keywords])
    # Nothing to change gives the bytes as they came, even where their encoding could be written in another way.
    return encoded(edits.made(), encoding) if edits.changes or edits.added else packet


def names_in(packet: bytes) -> tuple[str, ...]:
    """Return the names that a packet lists as ours.

    Raises
    ------
    NotXml
        As `put_names`.
    """
    _, about = described(decoded(packet)[0])
    return tuple(li.text for li in list_items(about, NAMES))


def restore_names(packet: bytes, earlier: Sequence[str]) -> bytes:
    """Return ``packet`` with the names that were ours earlier in place of those that are now.

    Where the same ones are ours, nothing changes, even if somebody has taken one from the keywords since.

    Raises
    ------
    NotXml
        As `put_names`.
    """
    return packet if set(names_in(packet)) == set(earlier) else put_names(packet, earlier)


def _take_out(edits: Edits, about: list[Element], names: Collection[str]) -> None:
    """Take each name out of the keywords once: where it stands twice, somebody else has put it there too."""
    last = {li.text: li for li in list_items(about, SUBJECT) if li.text in names}
    for li in last.values():
        edits.remove(li.start, li.stop)


def _list_only(edits: Edits, about: list[Element], names: Sequence[str]) -> None:
    """Let our list hold these names and no others; an empty list goes as a whole."""
    found = list_element(about, NAMES)
    if found is not None and not names:
        edits.remove(found.start, found.stop)
        return
    items = list_items(about, NAMES)
    for li in items:
        if li.text not in names:
            edits.remove(li.start, li.stop)
    listed = {li.text for li in items}
    add_to_list(edits, about, NAMES, [name for name in names if name not in listed])
