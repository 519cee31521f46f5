import csv
import io
import xml.etree.ElementTree as ET
import zipfile
from dataclasses import replace
from datetime import date

import pytest
from dwca.read import DwCAReader
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldbook.sightingstrategies import HAWKER, sightings
from stillwing.errors import InputError
from stillwing.fieldbook.sighting import Sighting
from stillwing.records.darwin_core import darwin_core_archive, simple_darwin_core
from stillwing.records.darwinmeta import Dataset
from stillwing.records.darwinreader import read_archive, read_simple
from stillwing.records.darwinterms import COLUMNS, MEDIA_COLUMNS, iri, local_name

DATASET = Dataset(
    "Dragonflies of a pond", "Records of one summer", "A Person", "https://example.org/by", date(2024, 9, 1)
)
MANY = st.lists(sightings(), max_size=4, unique_by=lambda sighting: sighting.id)


@given(MANY)
@settings(max_examples=60, deadline=None)
def test_simple_darwin_core_is_read_back_without_loss(written: list[Sighting]) -> None:
    assert read_simple(simple_darwin_core(written, coarse_side_m=None), "x.csv").sightings == tuple(written)


@given(MANY)
@settings(max_examples=40, deadline=None)
def test_an_archive_is_read_back_without_loss(written: list[Sighting]) -> None:
    content = darwin_core_archive(written, DATASET, coarse_side_m=None)
    assert read_archive(content, "x.zip").sightings == tuple(written)


@given(MANY)
@settings(max_examples=25, deadline=None)
def test_an_independent_reader_reads_what_was_written(
    tmp_path_factory: pytest.TempPathFactory, written: list[Sighting]
) -> None:
    path = tmp_path_factory.mktemp("archive") / "x.zip"
    path.write_bytes(darwin_core_archive(written, DATASET, coarse_side_m=None))
    table = csv.DictReader(io.StringIO(simple_darwin_core(written, coarse_side_m=None).decode(), newline=""))
    with DwCAReader(str(path)) as archive:
        assert archive.descriptor.core.type == "http://rs.tdwg.org/dwc/terms/Occurrence"
        assert archive.metadata.findtext("dataset/title") == DATASET.title
        for sighting, row, cells in zip(written, archive, table, strict=True):
            assert row.data == {iri(term): cells[local_name(term)] for term in COLUMNS}
            assert row.id == cells["occurrenceID"]
            assert len(row.extensions) == len(sighting.pictures)
            assert {part.data[iri("dcterms:title")].lstrip("'") for part in row.extensions} == {
                picture.lstrip("'") for picture in sighting.pictures
            }


def test_the_same_sightings_give_the_same_bytes() -> None:
    assert darwin_core_archive([HAWKER], DATASET) == darwin_core_archive([HAWKER], DATASET)
    assert simple_darwin_core([HAWKER]) == simple_darwin_core([HAWKER])


def test_the_cells_hold_the_standards_words() -> None:
    row = next(csv.DictReader(io.StringIO(simple_darwin_core([HAWKER]).decode())))
    held = {name: cell for name, cell in row.items() if cell}
    assert held == {
        "occurrenceID": HAWKER.id.urn,
        "basisOfRecord": "HumanObservation",
        "occurrenceStatus": "present",
        "scientificName": "Aeshna juncea",
        "kingdom": "Animalia",
        "identificationQualifier": "cf. juncea",
        "verbatimIdentification": "big blue hawker",
        "identificationVerificationStatus": "unverified",
        "eventDate": "2024-07-06T13:30:00+00:00",
        "decimalLatitude": "52.2053",
        "decimalLongitude": "-0.1218",
        "geodeticDatum": "EPSG:4326",
        "coordinateUncertaintyInMeters": "8.5",
        "locality": "Long Pond",
        "individualCount": "2",
        "sex": "male | female",
        "lifeStage": "adult",
        "behavior": "tandem | flying",
        "recordedBy": "A Person | B Person",
        "associatedMedia": "day one/0042.jpg | https://example.org/0043.jpg",
        "occurrenceRemarks": "'=SUM(A1) is no formula here",
        "dynamicProperties": '{"habitat": "bog pool", "stillwing:lifeStage": "teneral"}',
    }


@given(MANY)
@settings(max_examples=30, deadline=None)
def test_no_cell_of_words_runs_in_a_spreadsheet(written: list[Sighting]) -> None:
    for row in csv.DictReader(io.StringIO(simple_darwin_core(written, coarse_side_m=None).decode(), newline="")):
        for name, cell in row.items():
            assert not cell.startswith(("=", "+", "@"))
            assert not cell.startswith("-") or name in ("decimalLatitude", "decimalLongitude")


def test_a_sensitive_sighting_leaves_coarse_unless_told_otherwise() -> None:
    secret = replace(HAWKER, sensitive=True)
    for content in (simple_darwin_core([secret]), darwin_core_archive([secret], DATASET)):
        text = content if not zipfile.is_zipfile(io.BytesIO(content)) else b"".join(_parts(content).values())
        assert b"52.2053" not in text
        assert b"Long Pond" not in text
        assert b"0042.jpg" not in text
        assert b"TL25" in text
    assert b"52.2053" in simple_darwin_core([secret], coarse_side_m=None)


def test_one_identity_twice_is_refused() -> None:
    with pytest.raises(InputError, match="two sightings have the identity"):
        simple_darwin_core([HAWKER, HAWKER])


def test_the_describing_files_name_what_is_there() -> None:
    parts = _parts(darwin_core_archive([HAWKER], DATASET))
    assert list(parts) == ["meta.xml", "eml.xml", "occurrence.csv", "audiovisual.csv"]
    space = "{http://rs.tdwg.org/dwc/text/}"
    meta = ET.fromstring(parts["meta.xml"])
    for kind, terms, key in (("core", COLUMNS, 0), ("extension", MEDIA_COLUMNS, 1)):
        described = meta.find(f"{space}{kind}")
        assert described is not None
        assert [field.get("term") for field in described.findall(f"{space}field")] == [iri(term) for term in terms]
        file = described.findtext(f"{space}files/{space}location") or ""
        header = parts[file].decode().splitlines()[0].split(",")
        assert header[key:] == [local_name(term) for term in terms]


def _parts(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}
