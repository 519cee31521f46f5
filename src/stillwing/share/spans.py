"""Where each element of an XML text stands, so that one can be changed and every other byte stays as it is.

A tree that is parsed and written anew loses what its writer does not model: comments, prefixes, character references
in attributes, the order and spacing that another program relies on. Here the text is only cut and joined.
"""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.parsers import expat

__all__ = ["Attribute", "Edits", "Element", "NotXml", "decoded", "encoded", "scan"]

START_TAG = re.compile(rb"<[^\s/>]+((?:\s+[^\s=/>]+\s*=\s*(?:\"[^\"]*\"|'[^']*'))*)\s*(/?)>")
ATTRIBUTE = re.compile(rb"\s+([^\s=]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")
DECLARED_ENCODING = re.compile(rb"^\s*<\?xml[^>]*\sencoding\s*=\s*[\"']([A-Za-z0-9._-]+)[\"']")
BYTE_ORDER_MARKS = (
    # UTF-32 first: its mark begins with that of UTF-16.
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


class NotXml(ValueError):
    """The text is not well-formed XML, or uses what a sidecar has no business to use."""


@dataclass(frozen=True, slots=True)
class Attribute:
    """One attribute: its name as (namespace, local name), its value, and where both stand."""

    name: tuple[str, str]
    value: str
    start: int
    """Offset of the white space before it."""
    stop: int
    value_start: int
    value_stop: int


@dataclass(slots=True)
class Element:
    """One element: where its start tag and end tag stand, in bytes of the UTF-8 text."""

    name: tuple[str, str]
    """Namespace and local name."""
    written_name: bytes
    """Name with its prefix, as it stands in the text."""
    start: int
    inside: int
    """Offset behind the start tag."""
    is_empty: bool
    """Written as ``<name/>``."""
    namespaces: dict[str, str]
    """Namespaces in force within it, by prefix; the default one under an empty prefix."""
    attributes: tuple[Attribute, ...]
    children: list["Element"] = field(default_factory=list)
    text: str = ""
    end: int = 0
    """Offset of the end tag; that of ``inside`` for an empty element."""
    stop: int = 0
    """Offset behind the end tag."""

    def attribute(self, name: tuple[str, str]) -> Attribute | None:
        """Return the attribute of that name."""
        return next((one for one in self.attributes if one.name == name), None)

    def children_named(self, name: tuple[str, str]) -> list["Element"]:
        """Return the children of that name, in order."""
        return [child for child in self.children if child.name == name]

    def walk(self) -> Iterator["Element"]:
        """Give this element and all below it, in order of the text."""
        waiting = [self]
        while waiting:
            one = waiting.pop()
            yield one
            waiting.extend(reversed(one.children))

    def prefix_of(self, namespace: str) -> str | None:
        """Return a prefix that stands for ``namespace`` within the element."""
        return next((prefix for prefix, uri in self.namespaces.items() if uri == namespace and prefix), None)


@dataclass(slots=True)
class Edits:
    """Changes to a text, collected and then made at once."""

    text: bytes
    changes: list[tuple[int, int, bytes]] = field(default_factory=list)
    added: dict[int, tuple[Element, list[str]]] = field(default_factory=dict)

    def replace(self, start: int, stop: int, new: str) -> None:
        """Put ``new`` in place of the bytes from ``start`` to ``stop``."""
        self.changes.append((start, stop, new.encode()))

    def remove(self, start: int, stop: int) -> None:
        """Take out the bytes from ``start`` to ``stop``, and the white space before them."""
        self.changes.append((len(self.text[:start].rstrip()), stop, b""))

    def append_to(self, element: Element, *new: str) -> None:
        """Add ``new`` as the last children of ``element``, each on a line of its own unless it all stands on one."""
        self.added.setdefault(element.start, (element, []))[1].extend(new)

    def made(self) -> bytes:
        """Return the changed text."""
        pieces, at = [], 0
        additions = [self._addition(element, new) for element, new in self.added.values() if new]
        for start, stop, written in sorted([*self.changes, *additions]):
            if start < at:
                raise ValueError("two changes overlap")
            pieces += [self.text[at:start], written]
            at = stop
        return b"".join([*pieces, self.text[at:]])

    def _addition(self, element: Element, new: list[str]) -> tuple[int, int, bytes]:
        if element.is_empty:
            indent = self._indent(element.start)
            lines = "".join(f"\n{indent} {one}" for one in new)
            slash = self.text.rindex(b"/", element.start, element.inside)
            return slash, element.inside, f">{lines}\n{indent}</{element.written_name.decode()}>".encode()
        if b"\n" not in self.text[element.start : element.end]:
            return element.end, element.end, "".join(new).encode()
        at = max(element.inside, len(self.text[: element.end].rstrip()))
        has_own_line = b"\n" in self.text[at : element.end]
        indent = self._indent(element.end) if has_own_line else self._indent(element.start)
        beside = self._indent(element.children[-1].start) if element.children else ""
        lines = "".join(f"\n{beside or indent + ' '}{one}" for one in new)
        return at, at, (lines if has_own_line else f"{lines}\n{indent}").encode()

    def _indent(self, offset: int) -> str:
        """Return the white space at the head of the line in which ``offset`` stands."""
        line = self.text[self.text.rfind(b"\n", 0, offset) + 1 : offset]
        return line[: len(line) - len(line.lstrip())].decode()


def decoded(raw: bytes) -> tuple[bytes, str]:
    """Return ``raw`` as UTF-8 together with the name of its own encoding, for `encoded`.

    Raises
    ------
    NotXml
        If the bytes do not fit the encoding that they claim.
    """
    encoding = next((name for mark, name in BYTE_ORDER_MARKS if raw.startswith(mark)), None)
    if encoding is None and raw[:2] in (b"<\x00", b"\x00<"):
        encoding = "utf-16-le" if raw[:1] == b"<" else "utf-16-be"
    if encoding is None:
        declared = DECLARED_ENCODING.match(raw)
        encoding = declared[1].decode() if declared else "utf-8"
    try:
        return raw.decode(encoding).encode(), encoding
    except (UnicodeDecodeError, LookupError) as error:
        raise NotXml(f"its bytes are no valid {encoding}") from error


def encoded(text: bytes, encoding: str) -> bytes:
    """Return the UTF-8 ``text`` in ``encoding``; a character that it lacks becomes a character reference."""
    return text.decode().encode(encoding, "xmlcharrefreplace")


def scan(text: bytes) -> Element:
    """Return the root element of an XML text in UTF-8.

    Raises
    ------
    NotXml
        If the text is not well-formed, or declares a document type (which may make entities and attributes up).
    """
    scanner = _Scanner(text)
    parser = expat.ParserCreate("utf-8", " ")
    parser.ordered_attributes = True
    parser.buffer_text = True
    parser.StartNamespaceDeclHandler = scanner.namespace
    parser.StartElementHandler = lambda name, _: scanner.begin(name, parser.CurrentByteIndex)
    parser.EndElementHandler = lambda _: scanner.finish(parser.CurrentByteIndex)
    parser.CharacterDataHandler = scanner.characters
    parser.StartDoctypeDeclHandler = scanner.doctype
    try:
        parser.Parse(text, True)
    except expat.ExpatError as error:
        raise NotXml(f"line {error.lineno}: {expat.errors.messages[error.code]}") from error
    return scanner.root


class _Scanner:
    def __init__(self, text: bytes) -> None:
        self.text = text
        self.open: list[Element] = []
        self.declared: dict[str, str] = {}
        self.root: Element

    def doctype(self, *_: object) -> None:
        raise NotXml("it declares a document type, which a sidecar must not")

    def namespace(self, prefix: str | None, uri: str | None) -> None:
        self.declared[prefix or ""] = uri or ""

    def begin(self, name: str, start: int) -> None:
        outer = self.open[-1].namespaces if self.open else {"xml": "http://www.w3.org/XML/1998/namespace"}
        namespaces = {**outer, **self.declared} if self.declared else outer
        self.declared = {}
        tag = START_TAG.match(self.text, start)
        if tag is None:
            raise NotXml("a start tag cannot be made out")
        attributes = tuple(_attributes(self.text, tag.start(1), tag.end(1), namespaces))
        uri, _, local = name.rpartition(" ")
        written = self.text[start + 1 : tag.start(1)]
        element = Element(
            (uri, local), written, start, tag.end(), bool(tag[2]), namespaces, attributes, end=tag.end(), stop=tag.end()
        )
        if self.open:
            self.open[-1].children.append(element)
        else:
            self.root = element
        self.open.append(element)

    def finish(self, offset: int) -> None:
        element = self.open.pop()
        if not element.is_empty:
            element.end, element.stop = offset, self.text.index(b">", offset) + 1

    def characters(self, text: str) -> None:
        if self.open:
            self.open[-1].text += text


def _attributes(text: bytes, start: int, stop: int, namespaces: dict[str, str]) -> Iterator[Attribute]:
    for match in ATTRIBUTE.finditer(text, start, stop):
        prefix, _, local = match[1].decode().rpartition(":")
        if prefix == "xmlns" or match[1] == b"xmlns":
            continue
        value = 2 if match[2] is not None else 3
        yield Attribute(
            (namespaces[prefix] if prefix else "", local),
            _unescaped(match[value].decode()),
            match.start(),
            match.end(),
            match.start(value),
            match.end(value),
        )


def _unescaped(written: str) -> str:
    named = {"amp": "&", "lt": "<", "gt": ">", "quot": '"', "apos": "'"}

    def one(match: re.Match[str]) -> str:
        body = match[1]
        if body.startswith("#x"):
            return chr(int(body[2:], 16))
        return chr(int(body[1:])) if body.startswith("#") else named[body]

    return re.sub(r"&([^;]+);", one, re.sub(r"[\t\n\r]", " ", written))
