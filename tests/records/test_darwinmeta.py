import xml.etree.ElementTree as ET
from datetime import date
from uuid import UUID

import pytest

from stillwing.errors import InputError
from stillwing.records.darwinmeta import Dataset, eml_xml, meta_xml, read_meta
from stillwing.records.darwinterms import AUDIOVISUAL, COLUMNS, MEDIA_COLUMNS, OCCURRENCE, iri

KEY = UUID("8952d9f4-ebb4-4747-8ba5-7495b6c9bda4")
PLAIN = meta_xml().decode()


def test_what_is_described_is_read_again() -> None:
    core, (pictures,) = read_meta(meta_xml())
    assert (core.row_type, core.file, core.key_column) == (OCCURRENCE, "occurrence.csv", 0)
    assert core.columns == tuple(enumerate(map(iri, COLUMNS)))
    assert (pictures.row_type, pictures.file, pictures.key_column) == (AUDIOVISUAL, "audiovisual.csv", 0)
    assert pictures.columns == tuple(enumerate(map(iri, MEDIA_COLUMNS), 1))
    assert (core.delimiter, core.quote, core.n_header_lines, core.encoding) == (",", '"', 1, "UTF-8")


def test_the_whole_is_described_with_what_is_known_and_no_more() -> None:
    dataset = Dataset("Title & more", "All < of it", "A Person", "https://example.org/by", date(2024, 9, 1))
    root = ET.fromstring(eml_xml(dataset, KEY))
    assert root.tag == "{https://eml.ecoinformatics.org/eml-2.2.0}eml"
    assert root.get("packageId") == KEY.urn
    # The order that the schema's sequence asks for (EML 2.2.0, eml-resource.xsd and eml-dataset.xsd, from memory).
    assert [part.tag for part in root[0]] == [
        *("title", "creator", "metadataProvider", "pubDate", "language", "abstract", "intellectualRights", "contact"),
    ]
    assert root.findtext("dataset/title") == "Title & more"
    assert root.findtext("dataset/abstract/para") == "All < of it"


@pytest.mark.parametrize("part", ["title", "description", "contact", "licence", "language"])
def test_a_dataset_tells_everything(part: str) -> None:
    told = {"title": "t", "description": "d", "contact": "c", "licence": "https://example.org/by", "language": "en"}
    with pytest.raises(InputError, match=f"the {part} of the dataset"):
        Dataset(**told | {part: " "}, published=date(2024, 9, 1))


def test_the_licence_of_a_dataset_is_a_web_address() -> None:
    with pytest.raises(InputError, match='the licence is "CC BY"; give its web address'):
        Dataset("t", "d", "c", "CC BY", date(2024, 9, 1))


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("</archive>", "", "not well-formed"),
        ("<archive", "<!DOCTYPE archive [<!ENTITY a 'b'>]>\n<archive", "declares a document type"),
        ("dwc/text/", "other/text/", "does not describe one core table"),
        ('fieldsTerminatedBy=","', 'fieldsTerminatedBy="ab"', "it is one sign"),
        ('ignoreHeaderLines="1"', 'ignoreHeaderLines="one"', "it is a whole number"),
        ("<location>occurrence.csv</location>", "", "names 0 files"),
        (f'term="{iri("dwc:sex")}"', "", "a field without a term"),
    ],
)
def test_a_description_that_cannot_be_used_is_told_in_one_sentence(before: str, after: str, told: str) -> None:
    assert before in PLAIN
    with pytest.raises(InputError, match=told):
        read_meta(PLAIN.replace(before, after).encode())
