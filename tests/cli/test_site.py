"""``stillwing site`` as a person uses it."""

import json

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sites import site_named, sites
from stillwing.place.example import example_site
from stillwing.place.features import site_geojson

POINTS = "53.0000, -0.5000\n53.0000, -0.4990\n53.0007, -0.4990\n53.0007, -0.5000\n"


@pytest.fixture
def site(stillwing_here, book):
    """Give a function that runs the command on a field book of its own."""
    return lambda *words: stillwing_here("site", *words, "--book", book)


@pytest.fixture
def pit(site, tmp_path):
    """Store a square water."""
    path = tmp_path / "pit.txt"
    path.write_text(POINTS)
    run = site("add", path, "--zone", "Europe/London", "--name", "gravel pit", "--elevation", "35")
    assert run.returncode == 0, run.stderr
    return run


def kept(book, name=None):
    with open_book(book) as opened:
        return site_named(opened, name)


def test_a_site_is_stored_with_stands_along_its_bank(pit, book):
    stored = kept(book)
    assert (stored.site.name, stored.zone, stored.elevation_m) == ("gravel pit", "Europe/London", 35.0)
    # 290 m of bank, a stand every 10 m.
    assert len(stored.site.stands) == 29
    assert "gravel pit: 5,230 m² of water about 53.00035 N, 0.49950 W, 35 m above the sea, Europe/London" in pit.stdout
    assert pit.stderr.strip() == "gravel pit stored"


def test_stands_of_a_file_are_kept_and_not_proposed_anew(site, book, tmp_path):
    path = tmp_path / "pond.geojson"
    path.write_text(site_geojson(example_site()))
    assert site("add", path, "--zone", "Europe/London").returncode == 0
    # Positions are kept to a tenth of a millimetre.
    told = [(stand.name, stand.faces_deg, stand.reach) for stand in example_site().stands]
    assert [(stand.name, stand.faces_deg, stand.reach) for stand in kept(book).site.stands] == told
    assert kept(book).site.name == "mill pond"


def test_a_site_is_written_and_read_back(pit, site, book, tmp_path):
    for name in ("copy.geojson", "copy.gpx"):
        run = site("write", tmp_path / name)
        assert run.returncode == 0, run.stderr
    again = site("add", tmp_path / "copy.geojson", "--zone", "Europe/London", "--name", "again", "--elevation", "35")
    assert again.returncode == 0, again.stderr
    assert kept(book, "again").site.stands == kept(book, "gravel pit").site.stands
    assert json.loads(site("show", "again", "--json").stdout)["name"] == "again"
    assert "<wpt" in (tmp_path / "copy.gpx").read_text()
    refused = site("write", tmp_path / "copy.docx", "--site", "again")
    assert refused.returncode == 2 and "is written as .geojson or .gpx" in refused.stderr


def test_stands_are_pruned_added_and_proposed_anew(pit, site, book):
    assert site("prune", "north bank 2", "north bank 3").returncode == 0
    assert len(kept(book).site.stands) == 27
    run = site("stand", "52.99998, -0.4995", "--called", "willow", "--height", "0.8")
    assert run.returncode == 0, run.stderr
    willow = kept(book).site.stand("willow")
    assert willow.above_water_m == 0.8 and willow.reaches(0)
    assert site("stands", "--every", "20").returncode == 0
    assert len(kept(book).site.stands) < 20
    unknown = site("prune", "moon bank 1")
    assert unknown.returncode == 2 and "moon bank 1" in unknown.stderr


def test_perches_and_horizon_are_told(pit, site, book, tmp_path):
    assert site("perch", "53.0003, -0.4995", "--called", "reed", "--height", "0.4").returncode == 0
    assert site("horizon", "225, 15 deg; W, 30 m, 12 m").returncode == 0
    assert [entry.bearing_deg for entry in kept(book).site.horizon.entries] == [225, 270]
    lines = tmp_path / "horizon.txt"
    lines.write_text("N, 3 deg\n")
    shown = site("horizon", lines)
    assert "3.0° high" in shown.stdout and "reed" in shown.stdout
    assert site("horizon", "level").returncode == 0
    assert kept(book).site.horizon.entries == ()


def test_a_place_south_of_the_equator_is_no_option(site, book, tmp_path):
    path = tmp_path / "dam.txt"
    path.write_text("-33.9000, 18.5000\n-33.9000, 18.5010\n-33.8993, 18.5010\n-33.8993, 18.5000\n")
    assert site("add", path, "--zone", "Africa/Johannesburg").returncode == 0
    for word, place in (("stand", "-33.90002, 18.5005"), ("perch", "-33.8997, 18.5005")):
        run = site(word, place, "--called", "willow")
        assert run.returncode == 0, run.stderr
    stored = kept(book).site
    assert stored.perches[0].position.latitude_deg == -33.8997
    assert stored.stand("willow").reaches(0)
    wrong = site("stand", "-33.90002, 18.5005", "--caled", "willow")
    assert wrong.returncode == 2 and "called" in wrong.stderr


def test_a_horizon_longer_than_a_files_name_is_taken_as_words(pit, site, book):
    run = site("horizon", "; ".join(f"{bearing}, {bearing % 20} deg" for bearing in range(0, 360, 2)))
    assert run.returncode == 0, run.stderr
    assert len(kept(book).site.horizon.entries) == 180


@pytest.mark.parametrize("name", ["a\udcffb", "a\x01b"])
def test_a_name_that_no_file_could_hold_is_refused(pit, site, tmp_path, name):
    refused = site("add", tmp_path / "pit.txt", "--zone", "Europe/London", "--name", name)
    assert refused.returncode == 2 and refused.stderr.count("\n") == 1
    assert refused.stderr.startswith(f"stillwing: the site's name {name!r} holds ")
    assert "gravel pit" in site("list").stdout


def test_a_site_is_listed_and_dropped(pit, site, book):
    assert "gravel pit" in site("list").stdout
    assert site("drop", "GRAVEL PIT").stderr.strip() == "gravel pit dropped"
    with open_book(book) as opened:
        assert sites(opened) == ()
    assert "no site stored yet; add one with: stillwing site add FILE" in site("list").stderr


def test_a_site_far_from_its_zone_is_doubted_and_stored(site, book, tmp_path):
    path = tmp_path / "south.txt"
    path.write_text(POINTS.replace("53.", "-53."))
    run = site("add", path, "--zone", "Europe/London")
    assert run.returncode == 0
    assert "km from London; does its latitude lack a minus sign" in run.stderr


@pytest.mark.parametrize(
    ("content", "zone", "sentence"),
    [
        ("0, 0\n0, 0.001\n0.001, 0\n0.001, 0.001\n", "UTC", "the outline crosses itself near"),
        ("0, 0\n0, 0.001\n", "UTC", "bank.txt"),
        ("hello", "UTC", "bank.txt"),
        (POINTS, "Mars/Crater", "time zone 'Mars/Crater' is not known"),
    ],
)
def test_what_makes_no_site_is_told_in_one_sentence(site, book, tmp_path, content, zone, sentence):
    path = tmp_path / "bank.txt"
    path.write_text(content)
    run = site("add", path, "--zone", zone)
    assert run.returncode == 2 and sentence in run.stderr
    assert run.stderr.count("\n") == 1 and "Traceback" not in run.stderr
    assert site("add", tmp_path / "none.gpx", "--zone", "UTC").returncode == 2


def test_a_taken_name_is_refused_and_the_first_one_stays(pit, site, book, tmp_path):
    run = site("add", tmp_path / "pit.txt", "--zone", "Europe/London", "--name", "Gravel  PIT")
    assert run.returncode == 2 and "holds a site called 'gravel pit' already" in run.stderr
    assert kept(book).elevation_m == 35
