"""``stillwing sightings`` as a person uses it."""

import csv
import io
import json
from datetime import date

import pytest
from dwca.read import DwCAReader

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.sightings import sightings
from stillwing.fieldbook.traces import burst_summaries
from stillwing.records.coarsening import for_others

POND = ("--date", "2024-07-06", "--place", "TL 4558 5812", "--place-name", "mill pond", "--by", "A Person")
ARCHIVE = ("--contact", "A Person", "--licence", "https://example.org/by")
RARE = "White-faced Darter"


@pytest.fixture(autouse=True)
def _no_packs_of_ones_own(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def run(stillwing_here, book):
    return lambda *words, into=book: stillwing_here("sightings", *words, "--book", into)


@pytest.fixture
def two(run):
    """Keep a sighting of a rare species and one of a common one."""
    assert run("add", RARE, *POND, "--count", 2, "--remarks", "by the old gate").returncode == 0
    assert run("add", "Aeshna grandis", "--date", "2023-08-01", "--place", "TL 45 58").returncode == 0


def kept_in(path):
    with open_book(path) as opened:
        return [one.sighting for one in sightings(opened)]


def listed(run, *words):
    return json.loads(run("list", "--json", *words).stdout)


def test_a_typed_sighting_is_kept_whole(run, book):
    more = ("--count", 3, "--sex", "male", "--sex", "female", "--stage", "adult", "--doing", "egg laying")
    added = run("add", "brown hawker", *POND, *more, "--identified-by", "B Person", "--remarks", "late")
    assert added.returncode == 0
    assert "brown hawker is Aeshna grandis" in added.stderr
    assert "100 m square" not in added.stderr and "10 m square TL 4558 5812" in added.stderr
    (kept,) = kept_in(book)
    assert (kept.scientific_name, kept.name_as_written) == ("Aeshna grandis", "brown hawker")
    assert kept.when.begin == date(2024, 7, 6)
    assert (kept.count, kept.sexes, kept.stage, kept.doing) == (3, ("male", "female"), "adult", ("egg laying",))
    assert (kept.recorded_by, kept.identified_by, kept.remarks) == (("A Person",), ("B Person",), "late")
    assert (kept.where.name, kept.sensitive) == ("mill pond", False)
    assert (kept.where.latitude, kept.where.longitude) == pytest.approx((52.2, 0.13), abs=0.01)
    assert str(kept.id)[:8] in added.stdout


def test_a_name_that_no_pack_knows_stands_as_it_is_and_that_is_told(run, book):
    added = run("add", "Odonata", *POND)
    assert "no pack knows Odonata; it stands as the scientific name" in added.stderr
    assert kept_in(book)[0].scientific_name == "Odonata"


def test_a_rare_species_is_sensitive_unless_its_recorder_says_otherwise(run, book):
    first = run("add", RARE, *POND)
    assert "marked sensitive, since White-faced Darter is rare in Great Britain" in first.stderr
    second = run("add", RARE, *POND, "--not-sensitive")
    assert "not sensitive, as you say, though White-faced Darter is rare" in second.stderr
    run("add", "Brown Hawker", *POND, "--sensitive")
    assert sorted((one.name_as_written, one.sensitive) for one in kept_in(book)) == [
        ("Brown Hawker", True),
        (RARE, False),
        (RARE, True),
    ]


def test_a_burst_brings_day_count_and_pictures_and_what_is_typed_stands(own_outing, stillwing_here):
    _, path = own_outing
    with open_book(path) as opened:
        (burst,) = burst_summaries(opened, 1)
    words = ("add", "Brown Hawker", "--burst", burst.name, "--place", "TL 45 58", "--count", 2, "--book", path)
    added = stillwing_here("sightings", *words)
    assert added.returncode == 0 and added.stderr.startswith(f"{burst.name}: ")
    (kept,) = kept_in(path)
    assert (kept.count, kept.stage, kept.where.uncertainty_m) == (2, "adult", 713.0)
    assert (str(kept.when.begin)[:10], len(kept.pictures)) == (f"{burst.taken_at:%Y-%m-%d}", burst.n_keep)
    (told,) = json.loads(stillwing_here("sightings", "list", "--json", "--book", path).stdout)
    assert (told["outing"], told["bursts"], told["name"]) == ("outing", [burst.name], "Brown Hawker")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("add", "Odonata"), "a sighting has a day and a place"),
        (("add", "Odonata", *POND[:2]), "a sighting has a day and a place"),
        (("add", "Odonata", "--date", "yesterday", "--place-name", "pond"), "yesterday"),
        (("add", "Odonata", *POND, "--count", -1), "count is -1"),
        (("add", "Odonata", *POND, "--count", 0, "--sex", "male"), "none were seen"),
        (("add", "Odonata", *POND, "--burst", "B1"), "no outing yet"),
        (("change", "abc", "--count", 1), "no sighting begins with"),
        (("withdraw", "abc"), "no sighting begins with"),
        (("export", "x.json"), "as .csv or .zip"),
        (("export", "x.csv"), "nothing is written"),
        (("export", "x.csv", "--exact", "--square-km", 2), "exclude each other"),
        (("export", "x.csv", "--square-km", "nan"), "a square has 0.001 to 100 km"),
        (("export", "x.csv", "--contact", "A"), "write an archive"),
        (("export", "x.zip"), "give --contact and --licence"),
        (("export", "x.zip", "--contact", "A"), "give --licence"),
        (("import", "gone.csv"), "gone.csv cannot be read"),
        (("list", "--outing", "gone"), "gone"),
    ],
)
def test_what_cannot_be_used_costs_one_sentence(run, words, sentence):
    ended = run(*words)
    assert ended.returncode == 2 and sentence in ended.stderr
    assert "Traceback" not in ended.stderr and ended.stdout == ""


def test_the_list_is_by_year_and_the_latest_first(run, two):
    assert [one["scientific_name"] for one in listed(run)] == ["Leucorrhinia dubia", "Aeshna grandis"]
    assert [one["scientific_name"] for one in listed(run, "--year", 2023)] == ["Aeshna grandis"]
    assert "Brown Hawker" in run("list").stdout
    nothing = run("list", "--year", 1999)
    assert (nothing.returncode, nothing.stdout, nothing.stderr.strip()) == (0, "", "no such sighting is kept")


def test_a_change_leaves_the_rest_and_undo_brings_it_back(run, two, book):
    before = kept_in(book)[0]
    changed = run("change", str(before.id)[:8], "--count", 5, "--doing", "mating", "--clear", "remarks")
    assert changed.returncode == 0
    now = kept_in(book)[0]
    assert (now.id, now.count, now.doing, now.remarks) == (before.id, 5, ("mating",), "")
    assert (now.where, now.when, now.sensitive) == (before.where, before.when, True)
    assert run("undo").stderr.strip() == "taken back: 0 gone, 1 changed back, 0 there again"
    assert kept_in(book)[0] == before


def test_a_new_name_is_weighed_for_its_place_anew(run, two, book):
    hawker = kept_in(book)[1]
    run("change", str(hawker.id), "--name", RARE)
    assert kept_in(book)[1].sensitive
    run("change", str(hawker.id), "--not-sensitive")
    run("change", str(hawker.id), "--count", 1)
    assert not kept_in(book)[1].sensitive


def test_a_change_of_nothing_or_of_an_unknown_part_is_refused(run, two, book):
    key = str(kept_in(book)[0].id)
    assert "nothing is changed" in run("change", key).stderr
    wrong = run("change", key, "--clear", "wings")
    assert wrong.returncode == 2 and "one of count, sex, stage" in wrong.stderr


def test_what_is_withdrawn_is_gone_until_undo(run, two, book):
    key = str(kept_in(book)[0].id)
    gone = run("withdraw", key[:8])
    assert gone.stderr.startswith("Leucorrhinia dubia of 2024-07-06 withdrawn")
    assert len(kept_in(book)) == 1
    run("undo")
    assert len(kept_in(book)) == 2


def test_undo_of_nothing_says_so(run):
    assert run("undo").stderr.strip() == "nothing is left to take back"


@pytest.mark.parametrize(("name", "more"), [("s.csv", ()), ("s.zip", ARCHIVE)])
def test_what_is_exported_comes_into_another_book_the_sensitive_coarsened(run, two, book, tmp_path, name, more):
    file, other = tmp_path / name, tmp_path / "other.sqlite"
    sent = run("export", file, *more)
    assert sent.returncode == 0
    assert sent.stderr.splitlines() == [
        f"{file}: 2 sightings",
        "1 sensitive, given as a square without what else tells the place",
    ]
    came = run("import", file, into=other)
    assert came.returncode == 0 and "2 new, 0 changed, 0 known before" in came.stderr
    assert kept_in(other) == [for_others(one) for one in kept_in(book)]
    rare = kept_in(other)[0]
    assert rare.where.uncertainty_m > 7000 and rare.remarks == "" and "10 km square TL45" in rare.generalized
    assert "0 new, 0 changed, 2 known before" in run("import", file, into=other).stderr


def test_the_square_and_the_year_are_as_asked(run, two, tmp_path):
    file = tmp_path / "s.csv"
    run("export", file, "--square-km", 2, "--year", 2024)
    (row,) = csv.DictReader(io.StringIO(file.read_text(), newline=""))
    # Eastings 44 to 46 km, northings 58 to 60 km: the tetrad P, the third column's topmost.
    assert "2 km square TL45P" in row["dataGeneralizations"]
    assert float(row["coordinateUncertaintyInMeters"]) < 2000


def test_exact_places_leave_with_a_caution_and_replace_the_file(run, two, book, tmp_path):
    file = tmp_path / "s.csv"
    file.write_text("what was there before")
    sent = run("export", file, "--exact")
    assert "1 sensitive records go out with their exact places" in sent.stderr
    other = tmp_path / "other.sqlite"
    run("import", file, into=other)
    assert kept_in(other) == kept_in(book)


def test_an_independent_reader_reads_the_archive(run, two, tmp_path):
    file = tmp_path / "s.zip"
    run("export", file, *ARCHIVE, "--title", "Pond records", "--description", "Two summers")
    with DwCAReader(str(file)) as archive:
        assert archive.metadata.findtext("dataset/title") == "Pond records"
        assert archive.metadata.findtext("dataset/abstract/para") == "Two summers"
        assert archive.metadata.findtext("dataset/contact/individualName/surName") == "A Person"
        names = [row.data["http://rs.tdwg.org/dwc/terms/scientificName"] for row in archive]
    assert names == ["Leucorrhinia dubia", "Aeshna grandis"]


def test_ones_own_coarsened_export_leaves_exact_places_unless_they_are_to_go(run, two, book, tmp_path):
    file, exact = tmp_path / "s.csv", kept_in(book)
    run("export", file)
    came = run("import", file)
    assert "0 new, 0 changed, 2 known before" in came.stderr
    assert "1 place is told less exactly there than it is kept" in came.stderr and "--replace-exact" in came.stderr
    assert kept_in(book) == exact
    assert "0 new, 1 changed, 1 known before" in run("import", file, "--replace-exact").stderr
    assert kept_in(book) == [for_others(one) for one in exact]


def test_one_bad_file_of_two_keeps_all_out_and_every_mistake_is_told(run, two, tmp_path):
    good, bad, other = tmp_path / "good.csv", tmp_path / "bad.csv", tmp_path / "other.sqlite"
    run("export", good)
    rows = good.read_text().splitlines()
    bad.write_text(
        "\n".join([rows[0], *(row.replace("2024-07-06", "soon").replace("2023-08-01", "") for row in rows[1:])])
    )
    came = run("import", good, bad, into=other)
    assert came.returncode == 2
    told = came.stderr.splitlines()
    assert told[0].startswith(f"{bad}: line 2: ") and told[1].startswith(f"{bad}: line 3: ")
    assert told[2] == "stillwing: 2 mistakes; nothing is taken in"
    assert not other.exists()


def test_what_is_kept_without_being_understood_is_told_and_an_import_is_one_step(run, tmp_path, book):
    file = tmp_path / "theirs.csv"
    head = "occurrenceID,basisOfRecord,scientificName,eventDate,decimalLatitude,decimalLongitude,weather\n"
    rows = ("Aeshna grandis,2024-07-06,52.2,0.1,sunny\n", "Aeshna cyanea,2024-07-07,52.2,0.1,rain\n")
    ids = ("00000000-0000-4000-8000-000000000001", "00000000-0000-4000-8000-000000000002")
    file.write_text(
        head + "".join(f"urn:uuid:{one},HumanObservation,{row}" for one, row in zip(ids, rows, strict=True))
    )
    came = run("import", file)
    assert f"{file}: weather was kept as it stands" in came.stderr
    file.write_text(file.read_text().replace("sunny", "cloud"))
    again = run("import", file)
    assert "0 new, 1 changed, 1 known before" in again.stderr and "undo takes all of this back" in again.stderr
    run("undo")
    assert {dict(one.others)["weather"] for one in kept_in(book)} == {"sunny", "rain"}
    run("undo")
    assert kept_in(book) == []
