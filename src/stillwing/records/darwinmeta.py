"""What describes a Darwin Core Archive: meta.xml, which says what stands where, and eml.xml, on the whole of it."""

import xml.etree.ElementTree as ET
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from stillwing.errors import InputError
from stillwing.fieldbook.sighting import check_licence
from stillwing.records.darwinterms import AUDIOVISUAL, COLUMNS, MEDIA_COLUMNS, OCCURRENCE, iri

__all__ = ["CORE_FILE", "EML_FILE", "MEDIA_FILE", "META_FILE", "Dataset", "Table", "eml_xml", "meta_xml", "read_meta"]

META_FILE, EML_FILE, CORE_FILE, MEDIA_FILE = "meta.xml", "eml.xml", "occurrence.csv", "audiovisual.csv"
TEXT_SPACE = "http://rs.tdwg.org/dwc/text/"
EML_SPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
IN_TEXT = f"{{{TEXT_SPACE}}}"
WRITTEN = {
    "encoding": "UTF-8",
    "fieldsTerminatedBy": ",",
    "linesTerminatedBy": "\\n",
    "fieldsEnclosedBy": '"',
    "ignoreHeaderLines": "1",
}
"""How our tables are written; the standard tells a line's end as a backslash and a letter."""
ESCAPES = {"\\t": "\t", "\\n": "\n", "\\r": "\r", "\\r\\n": "\r\n", "\\|": "|", "\\\\": "\\"}


@dataclass(frozen=True, slots=True)
class Dataset:
    """What is told about an export as a whole.

    Attributes
    ----------
    title, description : str
    contact : str
        Name of the person who answers for the records.
    licence : str
        Web address, for the whole.
    published : date
        Day of the export.
    language : str, default "en"
        Of the texts, by ISO 639.

    Raises
    ------
    InputError
        If a part is empty or more than a line, or the licence is no web address.
    """

    title: str
    description: str
    contact: str
    licence: str
    published: date
    language: str = "en"

    def __post_init__(self) -> None:
        for name in ("title", "description", "contact", "licence", "language"):
            text = getattr(self, name)
            if not text.strip() or not text.isprintable():
                raise InputError(f"the {name} of the dataset is {text!r}; it is one line of text and not empty")
        check_licence(self.licence)


@dataclass(frozen=True, slots=True)
class Table:
    """One table of an archive, as its meta.xml describes it.

    Attributes
    ----------
    row_type : str
        Address of what a row is.
    file : str
    encoding, delimiter, quote : str
        ``quote`` is empty where cells are never enclosed.
    n_header_lines : int
    key_column : int or None
        Of the occurrence's key, from 0.
    columns : tuple of (int, str)
        Each column's number from 0, and the address of its term.
    constants : tuple of (str, str)
        Terms that are the same in every row, or where a cell is empty, and their values.
    """

    row_type: str
    file: str
    encoding: str
    delimiter: str
    quote: str
    n_header_lines: int
    key_column: int | None
    columns: tuple[tuple[int, str], ...]
    constants: tuple[tuple[str, str], ...]


def meta_xml() -> bytes:
    """Return the meta.xml of what we write."""
    root = ET.Element("archive", {"xmlns": TEXT_SPACE, "metadata": EML_FILE})
    _described(root, "core", OCCURRENCE, CORE_FILE, "id", COLUMNS)
    _described(root, "extension", AUDIOVISUAL, MEDIA_FILE, "coreid", MEDIA_COLUMNS)
    return _written(root)


def eml_xml(dataset: Dataset, key: UUID) -> bytes:
    """Return the eml.xml of an export: who, what, when and under which licence, and no more than is known.

    Parameters
    ----------
    dataset : Dataset
    key : UUID
        Of this export's content.
    """
    root = ET.Element(
        "eml:eml", {"xmlns:eml": EML_SPACE, "packageId": key.urn, "system": "stillwing", "scope": "system"}
    )
    told = ET.SubElement(root, "dataset")
    ET.SubElement(told, "title").text = dataset.title
    _person(told, "creator", dataset.contact)
    _person(told, "metadataProvider", dataset.contact)
    ET.SubElement(told, "pubDate").text = dataset.published.isoformat()
    ET.SubElement(told, "language").text = dataset.language
    for name, text in (("abstract", dataset.description), ("intellectualRights", dataset.licence)):
        ET.SubElement(ET.SubElement(told, name), "para").text = text
    _person(told, "contact", dataset.contact)
    return _written(root)


def read_meta(content: bytes) -> tuple[Table, tuple[Table, ...]]:
    """Return the core table and the others that a meta.xml describes.

    Raises
    ------
    InputError
        If it is no meta.xml of a Darwin Core Archive.
    """
    if b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        raise InputError(f"{META_FILE} declares a document type; the standard's has none, and it is not opened")
    try:
        root = ET.fromstring(content)
    except (ET.ParseError, ValueError) as error:
        raise InputError(f"{META_FILE} is not well-formed XML: {error}") from error
    cores = root.findall(f"{IN_TEXT}core")
    if root.tag != f"{IN_TEXT}archive" or len(cores) != 1:
        raise InputError(f"{META_FILE} does not describe one core table in the space {TEXT_SPACE}")
    return _table(cores[0], "id"), tuple(_table(part, "coreid") for part in root.findall(f"{IN_TEXT}extension"))


def _described(root: ET.Element, kind: str, row_type: str, file: str, key: str, terms: Sequence[str]) -> None:
    table = ET.SubElement(root, kind, WRITTEN | {"rowType": row_type})
    ET.SubElement(ET.SubElement(table, "files"), "location").text = file
    ET.SubElement(table, key, {"index": "0"})
    # In the core the key is the occurrence's own column; in front of a picture it stands apart.
    first = 0 if kind == "core" else 1
    for column, term in enumerate(terms, first):
        ET.SubElement(table, "field", {"index": str(column), "term": iri(term)})


def _person(parent: ET.Element, role: str, name: str) -> None:
    person = ET.SubElement(ET.SubElement(parent, role), "individualName")
    ET.SubElement(person, "surName").text = name


def _written(root: ET.Element) -> bytes:
    ET.indent(root)
    text: bytes = ET.tostring(root, encoding="UTF-8", xml_declaration=True)
    return text + b"\n"


def _table(part: ET.Element, key: str) -> Table:
    files = [place.text or "" for place in part.iter(f"{IN_TEXT}location")]
    if len(files) != 1:
        raise InputError(f"{META_FILE} names {len(files)} files for one table; one is read")
    fields = part.findall(f"{IN_TEXT}field")
    if any(not field.get("term") for field in fields):
        raise InputError(f"{META_FILE} has a field without a term in {files[0]}")
    keyed = part.find(f"{IN_TEXT}{key}")
    quote = part.get("fieldsEnclosedBy", '"')
    return Table(
        row_type=part.get("rowType", ""),
        file=files[0].strip().removeprefix("./"),
        encoding=part.get("encoding", "UTF-8"),
        delimiter=_one_sign(part.get("fieldsTerminatedBy", ","), "fieldsTerminatedBy"),
        quote=_one_sign(quote, "fieldsEnclosedBy") if quote else "",
        n_header_lines=_number(part.get("ignoreHeaderLines", "0"), "ignoreHeaderLines"),
        key_column=None if keyed is None else _number(keyed.get("index", ""), "index"),
        columns=tuple(
            (_number(field.get("index", ""), "index"), field.get("term", "")) for field in fields if field.get("index")
        ),
        constants=tuple((field.get("term", ""), field.get("default", "")) for field in fields if field.get("default")),
    )


def _one_sign(text: str, name: str) -> str:
    sign = ESCAPES.get(text, text)
    if len(sign) != 1 or sign in "\r\n":
        raise InputError(f'{META_FILE} has {name}="{text}"; it is one sign, such as a comma or \\t')
    return sign


def _number(text: str, name: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 6):
        raise InputError(f'{META_FILE} has {name}="{text}"; it is a whole number from 0 on')
    return int(text)
