import csv
import os
from dataclasses import fields
from pathlib import Path

import pandas as pd
import pyarrow.parquet as pq
import pytest

from stillwing.errors import InputError, UnreadableFrame, WriteFailed
from stillwing.fieldbook.frames import store_chunk
from stillwing.fieldbook.listing import store_listing
from stillwing.frames.chosen import Choice
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.measured import Box, MeasuredFrame
from stillwing.share.table import TableRow, check_table_path, outing_rows, write_table

from .conftest import BLURS_PX, animal_in, fill_up, hold

COLUMNS = (
    "file,found,certainty,x_px,y_px,width_px,height_px,blur_px,blur_low_px,blur_high_px,blur_minor_px,blur_major_px,"
    "blur_direction_deg,burst,choice,reason"
)


def test_the_columns_are_those_promised_in_that_order(held, tmp_path):
    for name in ("t.csv", "t.parquet"):
        write_table(outing_rows(held.book, held.id), tmp_path / name)
    assert (tmp_path / "t.csv").read_text().splitlines()[0] == COLUMNS
    assert pq.read_table(tmp_path / "t.parquet").column_names == COLUMNS.split(",")


def test_a_row_says_where_the_animal_is_and_how_sharp(held, tmp_path):
    assert write_table(outing_rows(held.book, held.id), tmp_path / "t.csv") == 4
    with (tmp_path / "t.csv").open(newline="") as file:
        row = list(csv.DictReader(file))[1]
    assert row == {
        "file": "A0002.JPG",
        "found": "true",
        "certainty": "0.9",
        "x_px": "132",
        "y_px": "165",
        "width_px": "140",
        "height_px": "90",
        "blur_px": "1.25",
        "blur_low_px": "1.125",
        "blur_high_px": "1.375",
        "blur_minor_px": "0.9375",
        "blur_major_px": "1.5",
        "blur_direction_deg": "30",
        "burst": "A0001",
        "choice": "keep",
        "reason": "2. sharpest of 4, whole animal in frame",
    }


def test_csv_and_parquet_hold_the_same(held, tmp_path):
    for name in ("t.csv", "t.parquet"):
        write_table(outing_rows(held.book, held.id), tmp_path / name)
    read = pd.read_csv(tmp_path / "t.csv", keep_default_na=False, na_values={"certainty": [""]})
    pd.testing.assert_frame_equal(
        read, pd.read_parquet(tmp_path / "t.parquet").astype(read.dtypes.to_dict()), check_exact=False, rtol=1e-8
    )


@pytest.fixture
def odd(book, photos, draw_burst):
    """Two animals in one frame, none in another, one too plain to measure, and one frame that cannot be read."""
    held = hold(book, photos, draw_burst(photos / "day 1", BLURS_PX))
    frames = [Frame((path,), Tags()) for path in held.paths]
    second = animal_in(Box(1.5, 2, 30, 40), 2.0)
    plain = animal_in(Box(5, 6, 7, 8), 2.0)
    object.__setattr__(plain, "blur", None)
    store_chunk(
        book,
        held.id,
        [
            MeasuredFrame(frames[0], 640, 480, (animal_in(Box(0, 0, 9, 9), 1.0), second)),
            MeasuredFrame(frames[1], 640, 480, ()),
            MeasuredFrame(frames[2], 640, 480, (plain,)),
        ],
        [UnreadableFrame(held.paths[3], "the picture ends early")],
        code_version="1",
    )
    return held


def test_there_is_a_row_per_animal_and_one_for_a_frame_without(odd, tmp_path):
    rows = list(outing_rows(odd.book, odd.id, folder=odd.folder))
    assert [(row.file, row.found, row.x_px, row.blur_px) for row in rows] == [
        ("day 1/A0001.JPG", True, 0.0, 1.0),
        ("day 1/A0001.JPG", True, 1.5, 2.0),
        ("day 1/A0002.JPG", False, None, None),
        ("day 1/A0003.JPG", True, 5.0, None),
        ("day 1/A0004.JPG", False, None, None),
    ]
    write_table(rows, tmp_path / "t.csv")
    lines = (tmp_path / "t.csv").read_text().splitlines()
    assert lines[3].startswith("day 1/A0002.JPG,false,,,,,,,,,,,,A0001,keep,")
    assert lines[4].startswith("day 1/A0003.JPG,true,0.9,5,6,7,8,,,,,,,A0001,leave,")
    assert lines[5].endswith(",A0001,spare,could not be read: the picture ends early")
    write_table(rows, tmp_path / "t.parquet")
    table = pq.read_table(tmp_path / "t.parquet")
    assert table.column("blur_px").to_pylist() == [1.0, 2.0, None, None, None]
    assert table.column("found").to_pylist() == [True, True, False, True, False]


def test_the_persons_choice_is_the_choice(held):
    held.choose(2, Choice.KEEP)
    row = list(outing_rows(held.book, held.id))[2]
    assert (row.choice, row.reason[:14]) == ("keep", "chosen by hand")


def test_files_are_told_from_the_folder_asked_for_with_slashes(held):
    assert next(outing_rows(held.book, held.id, folder=held.folder.parent)).file == "photos/A0001.JPG"
    elsewhere = next(outing_rows(held.book, held.id, folder=held.folder / "inner")).file
    assert elsewhere == held.paths[0].as_posix()


def test_more_bursts_than_fit_in_one_piece_all_come(held):
    bursts = [Burst(f"B{i:03}", (Frame((held.folder / f"B{i:03}.jpg",), Tags()),)) for i in range(120)]
    store_listing(held.book, held.id, held.folder, bursts)
    assert [row.burst for row in outing_rows(held.book, held.id)] == [burst.name for burst in bursts]


@pytest.mark.skipif(os.name != "posix", reason="only here may file names hold any bytes")
def test_names_and_reasons_that_are_no_unicode_become_escapes(book, photos, tmp_path):
    path = Path(os.fsdecode(os.fsencode(photos) + b"/caf\xe9,\n.jpg"))
    rows = [TableRow(file="caf\udce9.jpg", found=False, burst=path.stem, reason="like caf\udce9.jpg")]
    for name in ("t.csv", "t.parquet"):
        write_table(rows, tmp_path / name)
    assert pq.read_table(tmp_path / "t.parquet").to_pylist()[0]["burst"] == "caf\\udce9,\n"
    with (tmp_path / "t.csv").open(newline="", encoding="utf-8") as file:
        assert next(csv.DictReader(file))["reason"] == "like caf\\udce9.jpg"


@pytest.mark.parametrize("name", ["t.xlsx", "t", "t.csv.gz"])
def test_another_ending_is_refused_before_anything_is_read(tmp_path, name):
    def rows():
        raise AssertionError("read")
        yield

    with pytest.raises(InputError, match=rf"{name}: a table is written as \.csv or \.parquet"):
        write_table(rows(), tmp_path / name)
    with pytest.raises(InputError):
        check_table_path(tmp_path / name)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["t.csv", "t.parquet", "T.CSV"])
def test_a_run_that_fails_leaves_the_old_table(tmp_path, name):
    (tmp_path / name).write_text("old")

    def rows():
        yield TableRow("a.jpg", False)
        raise RuntimeError("halfway")

    with pytest.raises(RuntimeError, match="halfway"):
        write_table(rows(), tmp_path / name)
    assert [path.read_text() for path in tmp_path.iterdir()] == ["old"]


@pytest.mark.parametrize("name", ["t.csv", "t.parquet"])
def test_a_full_disk_is_one_sentence_and_the_old_table_stays(small_disk, name):
    (small_disk / name).write_text("old")
    fill_up(small_disk)
    rows = (TableRow(f"P{i}.jpg", True, *[i / 7] * 11, f"B{i}", "keep", "why") for i in range(20_000))
    with pytest.raises(WriteFailed, match="No space left"):
        write_table(rows, small_disk / name)
    assert (small_disk / name).read_text() == "old"
    assert sorted(path.name for path in small_disk.iterdir()) == ["ballast", name]


def test_small_figures_keep_their_digits(tmp_path):
    write_table([TableRow("a.jpg", True, certainty=0.1 + 0.2, x_px=12345.678, blur_px=0.000312)], tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_text().splitlines()[1].startswith("a.jpg,true,0.3,12345.678,,,,0.000312,")


def test_every_field_of_a_row_is_a_column():
    assert ",".join(field.name for field in fields(TableRow)) == COLUMNS
