"""``stillwing review --flights``: what the flights of an outing teach, in words, as a table and as JSON."""

import json

import pytest

from web.flownbook import flown_outing


@pytest.fixture
def review(stillwing_here, tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    place = tmp_path / "flown"
    drawn = flown_outing(place)
    return lambda *words: stillwing_here("review", "--flights", *words, "--book", drawn.book_path)


def test_the_newest_outing_is_told_in_words_with_a_table_and_as_json(review):
    run = review()
    assert run.returncode == 0, run.stderr
    lines = run.stdout.splitlines()
    assert lines[0].startswith("Reed pond, for ")
    assert lines[1] == "Of 1 burst 1 tells its flight."
    assert lines[2].startswith("Of their 30 frames ")
    told = json.loads(review("--json", "--outing", "Reed pond").stdout)["outings"][0]
    assert (told["outing"], told["n_telling"], told["n_frames"]) == ("Reed pond", 1, 30)
    assert told["sentences"][0] == "of 1 burst 1 tells its flight"
    for change in told["changes"]:
        assert change["won"] >= 1 and change["between"] is None
        assert "these bursts are too few for an interval" in run.stderr


def test_other_options_do_not_go_with_it(review):
    run = review("--by", "exposure")
    assert run.returncode == 2
    assert "--flights goes with --outing and --json alone" in run.stderr
    assert review("--outing", "nowhere").returncode == 2


def test_an_empty_field_book_says_how_to_begin(stillwing_here, tmp_path):
    run = stillwing_here("review", "--flights", "--book", tmp_path / "new.sqlite")
    assert (run.returncode, run.stdout) == (2, "")
    assert "begin with: stillwing sift FOLDER" in run.stderr
