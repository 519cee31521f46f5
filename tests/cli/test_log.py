"""``stillwing log`` as a person uses it."""

import json
import uuid

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.moments import moments
from stillwing.fieldbook.sites import KeptSite, add_site
from stillwing.place.example import example_site

DEVICE = "0b7c6a3e-5d1f-4c57-9a55-2f8e1c0d4b6a"


@pytest.fixture
def log(stillwing_here, book):
    """Give a function that runs the command on a field book of its own."""
    return lambda *words: stillwing_here("log", *words, "--book", book)


def moment(kind="pass", at="2026-07-15T10:00:00.000Z", **more):
    return {"id": str(uuid.uuid4()), "kind": kind, "at": at, "changed_at": at, "site": "mill pond", **more}


def written(path, *found, device=DEVICE):
    path.write_text(json.dumps({"stillwing": "moments", "version": 1, "device": device, "moments": found}))
    return path


@pytest.fixture
def day(tmp_path):
    """Give a file with a hover late in the evening, which is the next day by the site's clock, and a tap taken back."""
    hover = moment("hover", "2026-07-15T23:30:00.400Z", until="2026-07-15T23:30:06.600Z", animal="Southern Hawker")
    return written(
        tmp_path / "day.json",
        moment(note="[low] and\nnear"),
        hover,
        moment("burst", "2026-07-15T10:01:00Z", undone=True),
    )


@pytest.fixture
def pond(book):
    """Store the site that the moments were logged at."""
    with open_book(book) as opened:
        add_site(opened, KeptSite(example_site(), "Europe/London"))


def test_a_file_comes_in_and_again_changes_nothing(log, day, book):
    first = log("import", day)
    assert first.returncode == 0
    assert first.stderr.strip() == f"{day}: 3 new, 0 changed, 0 known before"
    again = log("import", day, day)
    assert again.stderr.splitlines() == [f"{day}: 0 new, 0 changed, 3 known before"] * 2
    with open_book(book) as opened:
        assert len(moments(opened, include_undone=True)) == 3


def test_one_bad_file_of_two_is_named_and_neither_is_taken_in(log, day, tmp_path, book):
    bad = written(tmp_path / "bad.json", moment(), moment("dance"))
    run = log("import", day, bad)
    assert run.returncode == 2
    assert run.stderr.startswith(f"stillwing: {bad}: moment 2: kind is 'dance'; it must be one of: hover, pass")
    assert run.stderr.count("\n") == 1
    assert not book.exists()


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is no JSON that can be read"),
        (b"\xff\xd8\xff\xe0", "is no JSON that can be read"),
        (b'{"type": "FeatureCollection"}', "holds no moments"),
        (b'{"stillwing": "moments", "version": 9, "moments": []}', "is of version 9; this stillwing reads version 1"),
        (None, "cannot be read: No such file or directory"),
    ],
)
def test_what_is_no_file_of_moments_costs_one_sentence(log, tmp_path, content, sentence):
    path = tmp_path / "told.json"
    if content is not None:
        path.write_bytes(content)
    run = log("import", path)
    assert run.returncode == 2
    assert str(path) in run.stderr and sentence in run.stderr
    assert "Traceback" not in run.stderr and run.stderr.count("\n") == 1


def test_a_file_far_too_large_is_refused_unread(log, tmp_path):
    path = tmp_path / "large.json"
    with path.open("wb") as file:
        file.truncate(33_000_000)
    run = log("import", path)
    assert run.returncode == 2 and "is larger than 32 MB" in run.stderr


def test_moments_are_listed_by_the_clock_of_their_site(log, day, pond):
    log("import", day)
    run = log("list")
    assert run.returncode == 0
    rows = [line for line in run.stdout.splitlines() if "2026-" in line]
    assert len(rows) == 2
    assert "2026-07-15   11:00:00.0   Europe/London   pass" in rows[0] and "[low] and near" in rows[0]
    # 23:30:00.4 UTC is half past midnight in British summer time; the hover took 6.2 s.
    assert "2026-07-16   00:30:00.4   Europe/London   hover       6.2   Southern Hawker" in rows[1]
    with_undone = log("list", "--undone").stdout
    assert "burst (taken back)" in with_undone and "taken back" not in run.stdout


def test_a_day_is_that_of_the_sites_clock(log, day, pond):
    log("import", day)
    assert "hover" not in log("list", "--day", "2026-07-15").stdout
    assert "hover" in log("list", "--day", "2026-07-16").stdout
    nothing = log("list", "--day", "2026-07-14")
    assert (nothing.returncode, nothing.stdout, nothing.stderr.strip()) == (0, "", "no such moment is logged")
    wrong = log("list", "--day", "15.7.2026")
    assert wrong.returncode == 2 and "such as 2026-07-15" in wrong.stderr


def test_a_site_that_is_not_kept_is_shown_in_utc(log, day, tmp_path):
    elsewhere = written(tmp_path / "elsewhere.json", moment(site="gravel pit"))
    log("import", day, elsewhere)
    told = json.loads(log("list", "--site", "Gravel  PIT", "--json").stdout)
    assert [(one["site"], one["zone"], one["local"]) for one in told] == [
        ("gravel pit", "UTC", "2026-07-15T10:00:00.000+00:00")
    ]


def test_json_tells_the_moment_as_logged_with_its_time_put_right(log, day, pond):
    log("import", day)
    hover = json.loads(log("list", "--json").stdout)[1]
    assert hover["at"] == hover["corrected_at"] == "2026-07-15T23:30:00.400Z"
    assert hover["local"] == "2026-07-16T00:30:00.400+01:00"
    assert hover["duration_s"] == pytest.approx(6.2)
    assert hover["device"] == DEVICE


def test_what_is_exported_comes_back_whole_into_another_book(log, stillwing_here, day, tmp_path, book):
    log("import", day)
    carried = tmp_path / "carried.json"
    assert log("export", carried).stderr.strip() == f"{carried}: 3 moments"
    other = tmp_path / "other.sqlite"
    assert "3 new" in stillwing_here("log", "import", carried, "--book", other).stderr
    with open_book(book) as one, open_book(other) as two:
        assert moments(one, include_undone=True) == moments(two, include_undone=True)


def test_a_part_can_be_exported_and_no_other_kind_of_file(log, day, pond, tmp_path):
    log("import", day)
    part = tmp_path / "part.json"
    assert log("export", part, "--day", "2026-07-16").stderr.strip() == f"{part}: 1 moment"
    assert [one["kind"] for one in json.loads(part.read_text())["moments"]] == ["hover"]
    refused = log("export", tmp_path / "part.xlsx")
    assert refused.returncode == 2 and "end the file's name in .json" in refused.stderr
    unwritable = log("export", tmp_path / "nowhere" / "part.json")
    assert unwritable.returncode == 4 and "cannot be written" in unwritable.stderr
