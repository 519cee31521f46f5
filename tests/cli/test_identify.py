"""``stillwing identify`` as a person uses it."""

import json
import shutil

import pytest

from stillwing.animals.catalogue import Group
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.looks import Look, keep_look, look_of
from stillwing.fieldbook.traces import burst_summaries
from stillwing.records.pack import own_packs_folder, pack_folders

REGION = ("--region", "britain-and-ireland")
DARTER = ("--date", "2024-08-10", "--length", "33-", "--group", "dragonfly", "--seen", "abdomen colour=red")


@pytest.fixture(autouse=True)
def _no_packs_of_ones_own(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


@pytest.fixture
def identify(stillwing_here, book):
    return lambda *words: stillwing_here("identify", *words, "--book", book)


@pytest.fixture
def burst(own_outing, stillwing_here):
    """Give a sifted outing's book, the burst's name and number, and a function that identifies its animal."""
    _, path = own_outing
    with open_book(path) as opened:
        (found,) = burst_summaries(opened, 1)
    return path, found, lambda *words: stillwing_here("identify", "--burst", found.name, *words, "--book", path)


def look_in(path, burst_id):
    with open_book(path) as opened:
        return look_of(opened, burst_id)


def test_what_is_typed_alone_names_the_likeliest_with_reasons_and_what_to_look_at(identify, book):
    run = identify(*REGION, *DARTER)
    assert run.returncode == 0
    first, doubt = run.stdout.splitlines()[:2]
    # The two red darters of the region in August; their legs tell them apart.
    assert "Common Darter" in first and "Ruddy Darter" in first and first.endswith("if it is on the list")
    assert doubt.startswith("cannot tell between") and "look at the leg colour" in doubt
    assert "abdomen colour: red, as this species can show" in run.stdout
    assert '--seen "leg colour=..."' in run.stdout
    assert run.stderr.splitlines()[-1] == "a specialist verifies"
    # Without a place or a burst no field book is made.
    assert not book.exists()


def test_the_answer_asked_for_decides(identify):
    run = identify(*REGION, *DARTER, "--seen", "leg_colour=black")
    assert run.stdout.startswith("Ruddy Darter: ")


def test_all_shows_every_candidate_and_question(identify):
    some, everyone = (identify(*REGION, *DARTER, *more).stdout for more in ((), ("--all",)))
    assert "Brown Hawker" not in some and "Brown Hawker" in everyone
    assert "How are the wings held at rest?" not in some and "How are the wings held at rest?" in everyone


def test_json_holds_all_candidates_with_their_evidence(identify):
    told = json.loads(identify(*REGION, *DARTER, "--json").stdout)
    assert len(told["candidates"]) == 43
    assert sum(each["chance"] for each in told["candidates"]) == pytest.approx(1)
    assert told["set"] == [each["scientific_name"] for each in told["candidates"][: len(told["set"])]]
    assert told["seen"]["answers"] == {"abdomen_colour": ["red"]}
    # At least 33 mm: an end that is not finite is null.
    assert told["seen"]["length_mm"] == [33.0, 33.0, None]
    assert {"key", "words", "weight_bits"} == set(told["candidates"][0]["evidence"][0])


def test_a_place_brings_its_area_and_what_was_recorded_there(identify):
    dublin = json.loads(identify(*REGION, *DARTER, "--place", "O 159 346", "--json").stdout)
    london = json.loads(identify(*REGION, *DARTER, "--place", "51.5074, -0.1278", "--json").stdout)
    assert (dublin["seen"]["area"], dublin["seen"]["near"]) == ("Ireland", "O13")
    assert (london["seen"]["area"], london["seen"]["near"]) == ("Great Britain", "TQ38")
    assert dublin["candidates"] != london["candidates"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ((), "nothing is told of the animal"),
        (("--sex", "male"), "nothing is told of the animal"),
        ((*DARTER[:2],), "no list of species is named; name one with --region: britain-and-ireland"),
        ((*REGION, "--date", "August"), "write year, month and day"),
        ((*REGION, "--length", "long"), "write millimetres"),
        ((*REGION, "--length", "38-33"), "it rises in that order"),
        ((*REGION, "--seen", "tail=long"), "there are abdomen_colour; abdomen_pattern"),
        ((*REGION, "--place", "XX 12"), "XX"),
        ((*REGION, "--group", "bird"), "a pack lists dragonflies and damselflies"),
        ((*REGION, *DARTER, "--remember"), "name it with --burst"),
        ((*REGION, *DARTER, "--side-on"), "name it with --burst"),
        (("--check-pack", "nowhere"), "nowhere"),
    ],
)
def test_what_cannot_be_used_costs_one_sentence(identify, words, sentence):
    run = identify(*words)
    assert run.returncode == 2
    assert sentence in run.stderr and run.stdout == ""
    assert "Traceback" not in run.stderr


def test_a_burst_tells_its_date_and_why_it_tells_no_length(burst):
    _, found, identify = burst
    run = identify(*REGION, "--group", "damselfly", "--json")
    assert run.returncode == 0
    told = json.loads(run.stdout)
    assert told["seen"]["on"] == f"{found.taken_at:%Y-%m-%d}"
    assert told["seen"]["length_mm"] is None and "no length: " in run.stderr


def test_what_is_typed_stands_in_place_of_what_the_burst_tells(burst):
    *_, identify = burst
    told = json.loads(identify(*REGION, *DARTER, "--json").stdout)
    assert told["seen"]["on"] == "2024-08-10"
    assert told["seen"]["length_mm"] == [33.0, 33.0, None]


def test_answers_are_remembered_only_when_asked(burst):
    path, found, identify = burst
    identify(*REGION, *DARTER)
    assert look_in(path, found.id) == Look()
    run = identify(*REGION, *DARTER, "--sex", "male", "--side-on", "--remember")
    assert run.returncode == 0 and "date, place and length typed here are not" in run.stderr
    assert look_in(path, found.id) == Look(
        region="britain-and-ireland",
        group=Group.DRAGONFLY,
        sex="male",
        answers=(("abdomen_colour", ("red",)),),
        most_tilt_deg=15.0,
    )


def test_what_was_remembered_counts_until_another_answer_is_typed(burst):
    path, found, identify = burst
    with open_book(path) as opened:
        keep_look(opened, found.id, Look("britain-and-ireland", answers=(("leg_colour", ("pale",)),)))
    told = json.loads(identify("--json").stdout)
    assert (told["region"], told["seen"]["answers"]) == ("britain-and-ireland", {"leg_colour": ["pale"]})
    told = json.loads(identify("--seen", "leg colour=black", "--json").stdout)
    assert told["seen"]["answers"] == {"leg_colour": ["black"]}


def test_a_burst_that_is_not_there_is_told_with_those_that_are(burst, stillwing_here):
    path, found, _ = burst
    run = stillwing_here("identify", *REGION, "--burst", "B9", "--book", path)
    assert run.returncode == 2 and f'no burst "B9"; there are {found.name}' in run.stderr


def test_a_list_that_cannot_be_found_again_is_not_remembered(burst, tmp_path):
    path, found, identify = burst
    shutil.copytree(pack_folders()["south-east-australia"], tmp_path / "mine")
    assert identify("--region", tmp_path / "mine").returncode == 0
    run = identify("--region", tmp_path / "mine", "--remember")
    assert run.returncode == 2 and str(own_packs_folder()) in run.stderr
    assert look_in(path, found.id) == Look()


def test_the_lists_are_listed_with_whose_they_are(identify):
    shutil.copytree(pack_folders()["south-east-australia"], own_packs_folder() / "pond")
    shutil.copytree(pack_folders()["south-east-australia"], own_packs_folder() / "torn")
    (own_packs_folder() / "torn" / "species.csv").write_text("species\n")
    run = identify("--regions", "--json")
    told = {one["key"]: (one["n_species"], one["whose"]) for one in json.loads(run.stdout)}
    assert told == {
        "britain-and-ireland": (43, "shipped"),
        "south-east-australia": (12, "shipped"),
        "pond": (12, "your own"),
        "torn": (None, "your own"),
    }
    assert "torn cannot be used: " in run.stderr
    table = identify("--regions").stdout
    assert "Britain and Ireland" in table and "has mistakes" in table


def test_a_pack_of_ones_own_is_checked_line_by_line(identify, tmp_path):
    folder = tmp_path / "pond"
    shutil.copytree(pack_folders()["south-east-australia"], folder)
    whole = identify("--check-pack", folder)
    assert whole.returncode == 0
    assert "12 species" in whole.stdout and whole.stdout.strip().endswith("no mistakes")
    flight = folder / "flight.csv"
    rows = flight.read_text().splitlines()
    cells = rows[1].split(",")
    rows[1] = ",".join([cells[0], "Early Auu", *cells[2:]])
    lengths = folder / "lengths.csv"
    lengths.write_text(lengths.read_text() + "Aeshna uno,body_length_mm,20,30,mm,memory,memory\n")
    flight.write_text("\n".join(rows) + "\n")
    torn = identify("--check-pack", folder)
    assert torn.returncode == 2 and torn.stdout == ""
    assert any(line.startswith('flight.csv, line 2: first: "Early Auu"') for line in torn.stderr.splitlines())
    assert any("Aeshna uno" in line and line.startswith("lengths.csv") for line in torn.stderr.splitlines())
    assert torn.stderr.splitlines()[-1] == f"stillwing: {folder}: 2 mistakes; it is not used"
