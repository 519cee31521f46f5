import base64
import csv
import json
from dataclasses import fields

import pyarrow.parquet as pq
import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.frames import measured_bursts, store_chunk
from stillwing.frames.chosen import Choice
from stillwing.frames.frame import Tags
from stillwing.frames.measured import Animal, Blur, Box, Cutout, FocusMap, MeasuredFrame
from stillwing.share.everything import write_everything

from .conftest import BLURS_PX, animal_in, hold


@pytest.fixture
def rows(held, tmp_path):
    held.choose(0, Choice.SPARE)
    assert write_everything(held.book, held.id, tmp_path / "all.parquet") == 4
    return pq.read_table(tmp_path / "all.parquet").to_pylist()


def test_every_field_of_every_record_is_a_column(rows):
    columns = set(rows[0])
    assert {f"tag_{field.name}" for field in fields(Tags)} <= columns
    for record, prefix in ((Box, ""), (Blur, "blur_"), (FocusMap, "focus_map_"), (Cutout, "cutout_")):
        names = {field.name.removeprefix(prefix) for field in fields(record)} - {"box"}
        assert {f"{prefix}{name}" for name in names} <= columns
    plain = {field.name for field in fields(Animal)} - {"box", "blur", "focus_map", "cutout"}
    assert plain <= columns


def test_figures_come_back_as_they_were_measured(held, rows):
    measured = next(measured_bursts(held.book, held.id, with_shapes=True)).frames[1]
    animal, row = measured.animals[0], rows[1]
    assert (row["x_px"], row["height_px"], row["certainty"], row["origin"]) == (132.0, 90.0, 0.9, "found")
    assert (row["blur_px"], row["blur_major_px"], row["blur_kind"]) == (1.25, 1.5, "motion")
    assert json.loads(row["edge_distance_px"]) == [1.0, 2.0, 3.0, 4.0]
    assert json.loads(row["outline_px"]) == [list(point) for point in animal.outline_px]
    assert (row["focus_map_rows"], row["focus_map_columns"], row["focus_map_width_px"]) == (1, 2, 140.0)
    assert json.loads(row["focus_map_blur_px"]) == [1.25, None]
    assert (row["cutout_x_px"], row["cutout_side_px"]) == (animal.cutout.x_px, animal.cutout.side_px)
    assert base64.b64decode(row["cutout_jpeg"]) == animal.cutout.jpeg
    assert row["tag_exposure_s"] == pytest.approx(1 / 2000)
    assert row["tag_taken_at"] == "2024-07-14T10:30:00.100000"
    assert (row["frame_width_px"], row["number"], row["animal"]) == (640, 1, 0)


def test_proposals_and_the_persons_choice_stand_apart(rows):
    assert [(row["choice"], row["proposed"], row["is_by_hand"]) for row in rows] == [
        ("spare", "keep", True),
        ("keep", "keep", False),
        ("leave", "leave", False),
        ("spare", "spare", False),
    ]
    assert rows[1]["usable_width_px"] == 500.0


def test_a_pair_and_frames_with_none_or_two_animals_are_told(book, photos, draw_burst, tmp_path):
    held = hold(book, photos, draw_burst(photos, BLURS_PX), raw=True)
    frames = [measured.frame for measured in next(measured_bursts(book, held.id)).frames]
    two = (animal_in(Box(0, 0, 9, 9), 1.0), animal_in(Box(9, 9, 9, 9), 2.0))
    chunk = [MeasuredFrame(frames[0], 640, 480, two), MeasuredFrame(frames[1], 640, 480, ())]
    store_chunk(book, held.id, chunk, code_version="1")
    assert write_everything(book, held.id, tmp_path / "all.csv") == 5
    with (tmp_path / "all.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["file"], row["found"], row["animal"]) for row in rows[:3]] == [
        ("A0001.JPG", "true", "0"),
        ("A0001.JPG", "true", "1"),
        ("A0002.JPG", "false", ""),
    ]
    assert json.loads(rows[0]["other_files"]) == ["A0001.ORF"]
    assert rows[2]["blur_px"] == rows[2]["outline_px"] == rows[2]["edge_clipped"] == ""
    assert float(rows[2]["tag_exposure_s"]) == pytest.approx(1 / 2000)


def test_another_ending_is_refused(held, tmp_path):
    with pytest.raises(InputError, match=r"\.csv or \.parquet"):
        write_everything(held.book, held.id, tmp_path / "all.json")
