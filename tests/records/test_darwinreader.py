import io
import zipfile
from datetime import date
from pathlib import Path

import pytest

import stillwing.records.darwinreader as module
from fieldbook.sightingstrategies import HAWKER
from stillwing.errors import BadTables, InputError
from stillwing.records.darwin_core import darwin_core_archive, simple_darwin_core
from stillwing.records.darwinmeta import Dataset
from stillwing.records.darwinreader import read_archive, read_darwin_core, read_simple

DATASET = Dataset("t", "d", "c", "https://example.org/by", date(2024, 9, 1))
ARCHIVE = darwin_core_archive([HAWKER], DATASET)
HEAD = "occurrenceID,basisOfRecord,scientificName,eventDate,locality,habitat\n"
META = """<archive xmlns="http://rs.tdwg.org/dwc/text/">
<core rowType="http://rs.tdwg.org/dwc/terms/Occurrence"
fieldsTerminatedBy="\\t" fieldsEnclosedBy="" ignoreHeaderLines="1">
<files><location>records.txt</location></files><id index="0"/>
<field index="1" term="http://rs.tdwg.org/dwc/terms/occurrenceID"/>
<field index="2" term="http://rs.tdwg.org/dwc/terms/scientificName"/>
<field index="3" term="http://rs.tdwg.org/dwc/terms/eventDate"/>
<field index="4" term="http://rs.tdwg.org/dwc/terms/locality"/>
<field default="HumanObservation" term="http://rs.tdwg.org/dwc/terms/basisOfRecord"/></core>
<extension rowType="http://rs.gbif.org/terms/1.0/Multimedia" fieldsTerminatedBy="\\t">
<files><location>media.txt</location></files><coreid index="0"/>
<field index="1" term="http://purl.org/dc/terms/identifier"/></extension>
<extension rowType="http://rs.tdwg.org/dwc/terms/MeasurementOrFact"><files><location>facts.txt</location></files>
<coreid index="0"/><field index="1" term="http://rs.tdwg.org/dwc/terms/measurementType"/></extension></archive>"""
FOREIGN = {
    "data/meta.xml": META,
    "data/records.txt": "id\toccurrenceID\tname\tdate\tplace\n7\ta:7\tAeshna juncea\t2024-07-06\tA pond\n",
    "data/media.txt": "7\thttps://example.org/7.jpg\n",
}


def zipped(parts: dict[str, str]) -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    return file.getvalue()


def test_a_file_is_read_by_the_ending_of_its_name(tmp_path: Path) -> None:
    for name, content in (("x.ZIP", ARCHIVE), ("x.csv", simple_darwin_core([HAWKER]))):
        (tmp_path / name).write_bytes(content)
        assert read_darwin_core(tmp_path / name).sightings == (HAWKER,)
    with pytest.raises(InputError, match="cannot be read"):
        read_darwin_core(tmp_path / "none.csv")


def test_what_is_kept_without_being_understood_is_told() -> None:
    taken = read_simple(f"{HEAD}a:1,HumanObservation,Aeshna juncea,2024-07-06,Pond,bog\n".encode(), "x.csv")
    assert taken.told == ("habitat was kept as it stands, since a sighting has no field for it",)


def test_a_datum_that_is_assumed_is_told() -> None:
    head = HEAD.replace("locality,habitat", "decimalLatitude,decimalLongitude")
    taken = read_simple(f"{head}a:1,HumanObservation,Aeshna juncea,2024-07-06,52.2,-0.1\n".encode(), "x.csv")
    assert taken.told == ("geodeticDatum is empty beside the coordinates of 1 records; EPSG:4326 (WGS 84) was assumed",)


def test_every_mistake_is_told_by_its_line_and_nothing_is_taken() -> None:
    good = "a:{},HumanObservation,Aeshna juncea,2024-07-06,Pond,\n"
    content = HEAD + good.format(1) + "a:2,HumanObservation,,2024-07-06,Pond,\n" + good.format(1) + "short\n"
    with pytest.raises(BadTables) as caught:
        read_simple(content.encode(), "x.csv")
    assert [mistake.split(":")[0] for mistake in caught.value.mistakes] == ["line 3", "line 4", "line 5"]
    assert "is that of line 2" in caught.value.mistakes[1]
    assert str(caught.value).startswith("x.csv cannot be used: (1) line 3: the scientific name is empty")


def test_an_archive_of_another_program_is_taken() -> None:
    taken = read_archive(zipped(FOREIGN), "x.zip")
    (sighting,) = taken.sightings
    assert (sighting.scientific_name, sighting.where.name) == ("Aeshna juncea", "A pond")
    assert sighting.pictures == ("https://example.org/7.jpg",)
    assert taken.told == (
        "facts.txt was left: rows of http://rs.tdwg.org/dwc/terms/MeasurementOrFact have no place in a sighting",
    )


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"data/meta.xml": None}, "holds 0 files meta.xml"),
        ({"data/records.txt": None}, "has no file data/records.txt"),
        ({"data/media.txt": "7\n"}, "media.txt, line 1: has 1 cells"),
        ({"data/meta.xml": META.replace("terms/Occurrence", "terms/Taxon")}, "sightings are rows of"),
        (
            {"data/meta.xml": META.replace("UTF-8", "x").replace("fieldsEnclosedBy", 'encoding="x" fieldsEnclosedBy')},
            "x",
        ),
    ],
)
def test_an_archive_that_cannot_be_used_is_told_in_one_sentence(change: dict[str, str | None], told: str) -> None:
    parts = {name: text for name, text in (FOREIGN | change).items() if text is not None}
    with pytest.raises(InputError) as caught:
        read_archive(zipped(parts), "x.zip")
    assert told in str(caught.value)


@pytest.mark.parametrize("cut", [0, 10, 700, -1])
def test_a_torn_archive_is_told_in_one_sentence(cut: int) -> None:
    with pytest.raises(InputError, match=r"x\.zip cannot be opened as a zip file"):
        read_archive(ARCHIVE[:cut], "x.zip")


@pytest.mark.parametrize("flipped", [0xFF, 0x40])
def test_a_damaged_archive_is_told_in_one_sentence_or_read_right(flipped: int) -> None:
    n_told = 0
    for place in range(0, len(ARCHIVE), 3):
        damaged = ARCHIVE[:place] + bytes([ARCHIVE[place] ^ flipped]) + ARCHIVE[place + 1 :]
        try:
            assert read_archive(damaged, "x.zip").sightings == (HAWKER,)
        except InputError as error:
            assert "\n" not in str(error)
            n_told += 1
    assert n_told > len(ARCHIVE) / 6


def test_an_archive_that_unpacks_to_too_much_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_BYTES", 1000)
    with pytest.raises(InputError, match="unpacks to"):
        read_archive(ARCHIVE, "x.zip")
