import csv

import pandas as pd
import pytest

FIRST = ["file", "found", "certainty", "x_px", "y_px", "width_px", "height_px"]
BLUR = ["blur_px", "blur_low_px", "blur_high_px", "blur_minor_px", "blur_major_px", "blur_direction_deg"]
COLUMNS = [*FIRST, *BLUR, "burst", "choice", "reason"]


def test_the_table_has_a_row_for_each_frame_and_its_file_relative_to_the_folder(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    table = tmp_path / "outing.csv"
    run = stillwing_here("export", table, "--book", book)
    assert run.returncode == 0, run.stderr
    with table.open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == COLUMNS
    assert [row["file"] for row in rows] == ["A0001.JPG", "A0002.JPG", "A0003.JPG"]
    assert float(rows[0]["width_px"]) == 140


def test_both_kinds_of_table_say_the_same(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    for ending in ("csv", "parquet"):
        assert stillwing_here("export", tmp_path / f"t.{ending}", "--book", book).returncode == 0
    from_csv, from_parquet = pd.read_csv(tmp_path / "t.csv"), pd.read_parquet(tmp_path / "t.parquet")
    pd.testing.assert_frame_equal(from_csv, from_parquet, check_dtype=False, rtol=1e-6)


def test_all_fields_hold_more_than_the_short_table(stillwing_here, kept_outing, tmp_path):
    _, book = kept_outing
    assert stillwing_here("export", tmp_path / "all.csv", "--book", book, "--all-fields").returncode == 0
    columns = pd.read_csv(tmp_path / "all.csv").columns
    assert {"tag_exposure_s", "focus_map_blur_px"} <= set(columns)


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["t.xlsx"], 2, "written as .csv or .parquet"),
        (["no/such/folder/t.csv"], 4, "no/such/folder"),
        (["t.csv", "--outing", "sea"], 2, "'sea'"),
    ],
)
def test_what_cannot_be_written_is_told_in_one_line(stillwing_here, kept_outing, tmp_path, words, code, said):
    _, book = kept_outing
    run = stillwing_here("export", *words, "--book", book, cwd=tmp_path)
    assert run.returncode == code
    assert said in run.stderr
    assert len(run.stderr.splitlines()) == 1


def test_an_empty_book_says_how_to_begin(stillwing_here, book, tmp_path):
    run = stillwing_here("export", tmp_path / "t.csv", "--book", book)
    assert run.returncode == 2
    assert "stillwing sift FOLDER" in run.stderr


def test_sift_writes_the_same_table_on_the_way(stillwing_here, kept_outing, tmp_path):
    folder, book = kept_outing
    words = ("--book", book, "--sharp-for", "screen 400", "--export", tmp_path / "on_the_way.csv")
    assert stillwing_here("sift", folder, *words).returncode == 0
    stillwing_here("export", tmp_path / "after.csv", "--book", book)
    assert (tmp_path / "on_the_way.csv").read_text() == (tmp_path / "after.csv").read_text()


def test_sift_refuses_a_table_it_cannot_write_before_it_measures(stillwing_here, outing, book):
    folder, _ = outing
    run = stillwing_here("sift", folder, "--book", book, "--export", "table.txt")
    assert run.returncode == 2
    assert not book.exists()
