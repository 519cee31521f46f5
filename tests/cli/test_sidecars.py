from datetime import date
from uuid import UUID
from xml.etree import ElementTree

import exiv2
import pytest

from cli.conftest import fill
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import outings
from stillwing.fieldbook.sifting import SiftRun, sift
from stillwing.fieldbook.sighting import Sighting, Where
from stillwing.fieldbook.sightings import keep_sighting
from stillwing.fieldbook.sightingtime import When
from stillwing.fieldbook.sightingwords import Doing, SightedSex, Verification
from stillwing.fieldbook.traces import burst_summaries

XMP = "{http://ns.adobe.com/xap/1.0/}"


def sidecars(folder):
    return sorted(path.name for path in folder.glob("*.xmp"))


def test_keepers_get_a_sidecar_with_a_rating(stillwing, own_outing):
    folder, book = own_outing
    run = stillwing("sidecars", "--book", book)
    assert run.returncode == 0, run.stderr
    assert "A0001.xmp" in sidecars(folder)
    ratings = [one.text for one in ElementTree.parse(folder / "A0001.xmp").iter(f"{XMP}Rating")]
    assert ratings == ["4"]


def test_a_dry_run_prints_them_and_writes_none(stillwing, own_outing):
    folder, book = own_outing
    run = stillwing("sidecars", "--book", book, "--dry-run")
    assert run.returncode == 0
    assert str(folder / "A0001.xmp") in run.stdout
    assert "xmp:Rating" in run.stdout
    assert sidecars(folder) == []


def test_undo_puts_the_folder_back_as_it_was(stillwing, own_outing):
    folder, book = own_outing
    stillwing("sidecars", "--book", book, "--keyword", "pond")
    assert "pond" in (folder / "A0001.xmp").read_text()
    run = stillwing("sidecars", "--book", book, "--undo")
    assert run.returncode == 0
    assert sidecars(folder) == []


def test_a_rating_of_another_program_stays_unless_overruled(stillwing, own_outing):
    folder, book = own_outing
    stillwing("sidecars", "--book", book)
    sidecar = folder / "A0001.xmp"
    sidecar.write_text(sidecar.read_text().replace("<xmp:Rating>4<", "<xmp:Rating>5<"))
    kept = stillwing("sidecars", "--book", book, "--keyword", "pond")
    assert "keeps the rating 5" in kept.stderr
    assert "<xmp:Rating>5<" in sidecar.read_text()
    stillwing("sidecars", "--book", book, "--overrule-ratings")
    assert "<xmp:Rating>4<" in sidecar.read_text()


def test_a_sidecar_that_cannot_be_written_is_exit_code_4(stillwing, own_outing):
    folder, book = own_outing
    (folder / "A0001.xmp").write_text("this is no XML")
    run = stillwing("sidecars", "--book", book)
    assert run.returncode == 4
    assert sum("A0001.xmp" in line for line in run.stderr.splitlines()) == 1
    assert (folder / "A0001.xmp").read_text() == "this is no XML"


@pytest.mark.parametrize(
    "words", [["--undo", "--dry-run"], ["--undo", "--keyword", "x"], ["--undo", "--positions"], ["--undo", "--names"]]
)
def test_undo_goes_alone(stillwing, own_outing, words):
    _, book = own_outing
    run = stillwing("sidecars", "--book", book, *words)
    assert run.returncode == 2
    assert "--undo goes alone" in run.stderr


@pytest.fixture
def walk(stillwing_here, own_outing, tmp_path):
    """Take in a track that stood still at the time of the burst."""
    file = tmp_path / "walk.gpx"
    file.write_text(
        '<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        '<trkpt lat="52.20511" lon="0.119"><time>2024-07-14T10:30:00Z</time></trkpt></trkseg></trk></gpx>'
    )
    return stillwing_here("log", "track", file, "--camera-ahead-s", "0", "--book", own_outing[1])


def test_positions_are_written_on_request_and_told_with_their_track(stillwing_here, own_outing, walk):
    folder, book = own_outing
    assert walk.stderr.splitlines() == ["walk.gpx: 1 burst has a place"]
    plain = stillwing_here("sidecars", "--book", book)
    assert "GPS" not in (folder / "A0001.xmp").read_text() and "walk" not in plain.stderr
    shown = stillwing_here("sidecars", "--book", book, "--positions", "--dry-run")
    assert "52,12.3066N" in shown.stdout and "GPS" not in (folder / "A0001.xmp").read_text()
    run = stillwing_here("sidecars", "--book", book, "--positions")
    n_sidecars = len(sidecars(folder))
    assert run.returncode == 0
    # 4.9 m of the receiver and 0.1 s on foot from the point of the track, rounded up; the clock is told.
    assert f"{n_sidecars} with a position from walk.gpx, which may be off by 5 m" in run.stderr.splitlines()
    found = read_by_exiv2(folder / "A0001.xmp")
    assert found == {
        "GPSLatitude": "52,12.3066N",
        "GPSLongitude": "0,7.1400E",
        "GPSMapDatum": "WGS-84",
        "GPSHPositioningError": "50/10",
    }
    stillwing_here("sidecars", "--book", book, "--undo")
    assert read_by_exiv2(folder / "A0001.xmp") == {}


def read_by_exiv2(sidecar):
    """Return the properties of Exif as libexiv2's XMP toolkit reads them."""
    picture = exiv2.ImageFactory.open(str(sidecar))
    picture.readMetadata()
    told = {one.key(): str(one.value()) for one in picture.xmpData()}
    return {key.removeprefix("Xmp.exif."): value for key, value in told.items() if key.startswith("Xmp.exif.")}


def test_a_position_of_another_program_stays_and_is_told(stillwing_here, own_outing, walk):
    folder, book = own_outing
    stillwing_here("sidecars", "--book", book, "--positions")
    sidecar = folder / "A0001.xmp"
    sidecar.write_text(sidecar.read_text().replace("0,7.1400E", "0,7.9000E"))
    run = stillwing_here("sidecars", "--book", book, "--positions")
    assert f"{sidecar}: keeps the position 52,12.3066N 0,7.9000E that another program set" in run.stderr
    assert "0,7.9000E" in sidecar.read_text()


def test_without_a_track_there_is_no_position_and_that_is_told(stillwing_here, own_outing):
    folder, book = own_outing
    run = stillwing_here("sidecars", "--book", book, "--positions")
    assert run.returncode == 0
    assert "no track tells where these photographs were taken; take one in with: stillwing log track" in run.stderr
    assert read_by_exiv2(folder / "A0001.xmp") == {}


@pytest.fixture
def see(own_outing):
    """Give a function that keeps a sighting of the burst's animal."""

    def keep(**more):
        sighting = Sighting("Aeshna juncea", When(date(2024, 7, 14)), Where(name="pond"), UUID(int=1), **more)
        with open_book(own_outing[1]) as book:
            visit = outings(book)[0].id
            keep_sighting(book, sighting, outing_id=visit, bursts=[burst_summaries(book, visit)[0].id])

    return keep


def keywords(sidecar):
    """Return the keywords as libexiv2's XMP toolkit reads them, without that of the choice."""
    picture = exiv2.ImageFactory.open(str(sidecar))
    picture.readMetadata()
    data = picture.xmpData()
    subject = data["Xmp.dc.subject"].value()
    return [str(subject.toString(i)) for i in range(data["Xmp.dc.subject"].count())][1:]


def test_names_are_written_on_request_and_told_as_sure_as_they_are(stillwing_here, own_outing, see):
    folder, book = own_outing
    see(doing=(Doing.EGG_LAYING,), sexes=(SightedSex.FEMALE,))
    names = ["Aeshna juncea (unverified)", "Common Hawker (unverified)", "egg laying", "female"]
    assert stillwing_here("sidecars", "--book", book).returncode == 0
    assert keywords(folder / "A0001.xmp") == []
    shown = stillwing_here("sidecars", "--book", book, "--names", "--dry-run")
    assert f"<rdf:li>{names[1]}</rdf:li>" in shown.stdout and keywords(folder / "A0001.xmp") == []
    run = stillwing_here("sidecars", "--book", book, "--names")
    assert f"{len(sidecars(folder))} with {', '.join(names)}" in run.stderr.splitlines()
    assert keywords(folder / "A0001.xmp") == names
    see(qualifier="cf. juncea", sensitive=True)
    stillwing_here("sidecars", "--book", book, "--names")
    assert keywords(folder / "A0001.xmp") == ["Aeshna cf. juncea", "Common Hawker (uncertain)"]
    stillwing_here("sidecars", "--book", book, "--undo")
    assert keywords(folder / "A0001.xmp") == names


def test_where_no_sighting_shows_that_is_told(stillwing_here, own_outing, see):
    _, book = own_outing
    see(verification=Verification.REFUTED)
    run = stillwing_here("sidecars", "--book", book, "--names")
    assert run.returncode == 0
    assert "no sighting names an animal in these photographs" in run.stderr.splitlines()


def test_positions_of_a_sensitive_sighting_are_left_out_unless_asked_for(stillwing_here, own_outing, walk, see):
    folder, book = own_outing
    see(sensitive=True)
    run = stillwing_here("sidecars", "--book", book, "--names", "--positions")
    n_sidecars = len(sidecars(folder))
    assert (
        f"{n_sidecars} without a position, as a sighting there is sensitive; --sensitive-positions writes it"
        in run.stderr.splitlines()
    )
    assert "no track tells" not in run.stderr
    assert read_by_exiv2(folder / "A0001.xmp") == {}
    run = stillwing_here("sidecars", "--book", book, "--positions", "--sensitive-positions")
    assert "sensitive" not in run.stderr
    assert read_by_exiv2(folder / "A0001.xmp")["GPSLatitude"] == "52,12.3066N"
    run = stillwing_here("sidecars", "--book", book, "--names")
    told = f"{folder / 'A0001.xmp'}: holds a position, though a sighting there is sensitive; look before it is shared"
    assert told in run.stderr.splitlines()


def test_sensitive_positions_are_of_positions(stillwing_here, own_outing):
    run = stillwing_here("sidecars", "--book", own_outing[1], "--names", "--sensitive-positions")
    assert run.returncode == 2
    assert "--sensitive-positions widens --positions; give both" in run.stderr


def test_help_says_what_a_position_can_do(stillwing_here):
    told = " ".join(stillwing_here("sidecars", "--help").stdout.split())
    assert "A position goes wherever the picture and its sidecar go" in told


def test_sift_can_write_them_at_once(stillwing, own_outing):
    folder, book = own_outing
    stillwing("sift", folder, "--book", book, "--sharp-for", "screen 400", "--sidecars", "--dry-run")
    assert sidecars(folder) == []
    stillwing("sift", folder, "--book", book, "--sharp-for", "screen 400", "--sidecars")
    assert "A0001.xmp" in sidecars(folder)


def test_a_full_disk_costs_one_line_each_and_leaves_nothing_half_written(stillwing, small_disk, tmp_path, draw_burst):
    folder, book = small_disk / "outing", tmp_path / "book.sqlite"
    boxes = draw_burst(folder, (0.6, 1.4))
    sift(folder, book=book, sharp_for="screen 100", boxes=boxes, run=SiftRun(workers=1))
    fill(small_disk, 1_000_000)
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    full = stillwing("sidecars", "--book", book)
    assert full.returncode == 4
    assert "Traceback" not in full.stderr
    assert sum("space" in line for line in full.stderr.splitlines()) == len(full.stderr.splitlines()) - 1 > 0
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    (small_disk / "filler").unlink()
    assert stillwing("sidecars", "--book", book).returncode == 0
    assert "A0001.xmp" in sidecars(folder)
