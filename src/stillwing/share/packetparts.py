"""Properties of the picture in an XMP packet: where they stand, and how one is added, replaced or taken out."""

from collections.abc import Sequence
from xml.sax.saxutils import escape

from stillwing.share.spans import Edits, Element, NotXml, scan

__all__ = [
    "DC",
    "EXIF",
    "NEW_PACKET",
    "OURS",
    "XMP",
    "add_to_list",
    "described",
    "list_element",
    "list_items",
    "property_text",
    "rdf_prefix",
    "remove_value",
    "replace_value",
]

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XMP = "http://ns.adobe.com/xap/1.0/"
DC = "http://purl.org/dc/elements/1.1/"
EXIF = "http://ns.adobe.com/exif/1.0/"
OURS = "stillwing:ns:sidecar/"
"""Namespace of what only we read; ends in a slash, as the XMP Specification wants it (a choice, no source)."""

RDF_DESCRIPTION, RDF_RDF, RDF_LI = (RDF, "Description"), (RDF, "RDF"), (RDF, "li")
RDF_ARRAYS = {(RDF, "Bag"), (RDF, "Seq"), (RDF, "Alt")}
USUAL_PREFIX = {XMP: "xmp", DC: "dc", RDF: "rdf", EXIF: "exif", OURS: "stillwing"}

NEW_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
    xmlns:xmp="http://ns.adobe.com/xap/1.0/"
    xmlns:dc="http://purl.org/dc/elements/1.1/"/>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>
"""
"""A packet that says nothing yet."""


def described(text: bytes) -> tuple[Edits, list[Element]]:
    """Return the text ready for edits, and the elements that hold the properties of the picture.

    Raises
    ------
    NotXml
        If the text is damaged or no XMP packet.
    """
    root = scan(text)
    rdf = next((element for element in root.walk() if element.name == RDF_RDF), None)
    if rdf is None:
        raise NotXml("it holds no rdf:RDF, so it is no XMP packet")
    edits = Edits(text)
    about = rdf.children_named(RDF_DESCRIPTION)
    if about:
        return edits, about
    prefix = rdf.prefix_of(RDF)
    declared = "" if prefix else f' xmlns:rdf="{RDF}"'
    name = f"{prefix or 'rdf'}:Description"
    edits.append_to(rdf, f'<{name} {prefix or "rdf"}:about=""{declared}/>')
    return described(edits.made())


def replace_value(edits: Edits, about: list[Element], name: tuple[str, str], value: str) -> None:
    """Put ``value`` in place of a plain value that is there, whichever way it is written."""
    for element in about:
        attribute = element.attribute(name)
        if attribute is not None:
            edits.replace(attribute.value_start, attribute.value_stop, escape(value))
            return
        for child in element.children_named(name):
            written = child.written_name.decode()
            if child.is_empty:
                slash = edits.text.rindex(b"/", child.start, child.inside)
                edits.replace(slash, child.inside, f">{escape(value)}</{written}>")
            else:
                edits.replace(child.inside, child.end, escape(value))
            return


def remove_value(edits: Edits, about: list[Element], name: tuple[str, str]) -> None:
    """Take out a property that is there, whichever way it is written."""
    for element in about:
        attribute = element.attribute(name)
        if attribute is not None:
            edits.remove(attribute.start, attribute.stop)
            return
        for child in element.children_named(name):
            edits.remove(child.start, child.stop)
            return


def list_element(about: list[Element], name: tuple[str, str]) -> Element | None:
    """Return the element of a property that is a list; ``None`` where there is none.

    Raises
    ------
    NotXml
        If the property is there and is no list.
    """
    for element in about:
        if element.attribute(name) is not None:
            raise _no_list(name)
        for child in element.children_named(name):
            if len(child.children) != 1 or child.children[0].name not in RDF_ARRAYS:
                raise _no_list(name)
            return child
    return None


def list_items(about: list[Element], name: tuple[str, str]) -> list[Element]:
    """Return the items of a property that is a list; none where there is none.

    Raises
    ------
    NotXml
        As `list_element`.
    """
    found = list_element(about, name)
    return [] if found is None else found.children[0].children_named(RDF_LI)


def add_to_list(edits: Edits, about: list[Element], name: tuple[str, str], new: Sequence[str]) -> None:
    """Add items to a property that is a list, which is made an unordered one where there is none."""
    if not new:
        return
    found = list_element(about, name)
    if found is None:
        rdf = rdf_prefix(about[0])
        items = "".join(f"<{rdf}:li>{escape(item)}</{rdf}:li>" for item in new)
        edits.append_to(about[0], property_text(about[0], name, f"<{rdf}:Bag>{items}</{rdf}:Bag>"))
        return
    array = found.children[0]
    prefix = array.prefix_of(RDF)
    rdf = f"{prefix}:" if prefix else ""
    edits.append_to(array, *(f"<{rdf}li>{escape(item)}</{rdf}li>" for item in new))


def property_text(within: Element, name: tuple[str, str], content: str) -> str:
    """Return a property element, declaring the prefixes that are not in force where it goes."""
    namespace, local = name
    prefix = within.prefix_of(namespace)
    declared = "" if prefix else f' xmlns:{USUAL_PREFIX[namespace]}="{namespace}"'
    if within.prefix_of(RDF) is None:
        declared += f' xmlns:rdf="{RDF}"'
    written = f"{prefix or USUAL_PREFIX[namespace]}:{local}"
    return f"<{written}{declared}>{content}</{written}>"


def rdf_prefix(within: Element) -> str:
    """Return the prefix for RDF within a property that `property_text` adds to the element."""
    return within.prefix_of(RDF) or "rdf"


def _no_list(name: tuple[str, str]) -> NotXml:
    return NotXml(f"its {USUAL_PREFIX[name[0]]}:{name[1]} is no list")
