"""Properties of the picture in an XMP packet: where they stand, and how one is added, replaced or taken out."""

from xml.sax.saxutils import escape

from stillwing.share.spans import Edits, Element, NotXml, scan

__all__ = [
    "DC",
    "EXIF",
    "NEW_PACKET",
    "RDF",
    "XMP",
    "described",
    "property_text",
    "rdf_prefix",
    "remove_value",
    "replace_value",
]

RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
XMP = "http://ns.adobe.com/xap/1.0/"
DC = "http://purl.org/dc/elements/1.1/"
EXIF = "http://ns.adobe.com/exif/1.0/"

RDF_DESCRIPTION, RDF_RDF = (RDF, "Description"), (RDF, "RDF")
USUAL_PREFIX = {XMP: "xmp", DC: "dc", RDF: "rdf", EXIF: "exif"}

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
