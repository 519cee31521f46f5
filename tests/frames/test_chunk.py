"""Real clips of flying birds, and what happens to frames that cannot be read."""

import csv
import os
from collections import defaultdict
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import stillwing.frames.chunk as chunk
from stillwing.frames.bursts import group_bursts
from stillwing.frames.coarse import coarse_picture
from stillwing.frames.find import certainty_of
from stillwing.frames.frame import Burst, Frame, Tags
from stillwing.frames.listing import list_frames
from stillwing.frames.measured import Origin

DATA = Path(os.environ.get("STILLWING_DATA", "../shared/data"))
needs_data = pytest.mark.skipif(not (DATA / "bursts").is_dir(), reason="the shared clips are not here (STILLWING_DATA)")
NEAR_PX = 20
"""The labels' boxes are loose: a find counts when its centre lies this near to theirs (README of the data)."""


def measured_clip(name, **options):
    (burst,) = group_bursts(list_frames(DATA / "bursts" / name).frames)
    return chunk.measure_chunk(burst, **options)


@needs_data
@pytest.mark.parametrize("name", ["007", "024", "045"])
def test_birds_of_a_few_pixels_are_found_in_real_clips(name):
    labels = defaultdict(list)
    with (DATA / "labels.csv").open(newline="") as file:
        for row in csv.DictReader(file):
            if row["x"] and "loose" in row["part"]:
                x, y, w, h = (float(row[key]) for key in "xywh")
                labels[row["file"]].append((x + w / 2, y + h / 2))
    hits = []
    for frame in measured_clip(name).frames:
        there = labels[f"bursts/{name}/{frame.path.name}"]
        centres = [animal.box.centre_px for animal in frame.animals]
        hits.append(any(np.hypot(x - u, y - v) < NEAR_PX * 1.5 for x, y in centres for u, v in there))
    assert np.mean(hits) >= 0.9


@needs_data
def test_a_drawn_box_is_kept_as_drawn_and_followed():
    found = measured_clip("024").frames
    box = found[4].animals[0].box
    again = measured_clip("024", drawn={found[4].path: box}).frames
    assert again[4].animals[0].box == box
    assert again[4].animals[0].origin is Origin.DRAWN
    assert sum(bool(frame.animals) for frame in again) >= 10


@needs_data
def test_the_same_files_give_the_same_figures():
    assert repr(measured_clip("007").frames) == repr(measured_clip("007").frames)


def flat(folder, count):
    frames = []
    for i in range(count):
        path = folder / f"F{i:04}.jpg"
        noise = np.random.default_rng(i).normal(110, 2, (720, 1080))
        Image.fromarray(noise.astype(np.uint8)).save(path)
        frames.append(Frame((path,), Tags(width_px=1080, height_px=720)))
    return frames


def test_a_torn_frame_is_named_and_the_others_are_measured(tmp_path):
    frames = flat(tmp_path, 4)
    frames[2].path.write_bytes(frames[2].path.read_bytes()[:5000])
    result = chunk.measure_chunk(Burst("F", tuple(frames)))
    assert [error.path for error in result.failed] == [frames[2].path]
    assert [frame.path for frame in result.frames] == [frames[i].path for i in (0, 1, 3)]


def test_plain_frames_hold_no_animal(tmp_path):
    result = chunk.measure_chunk(Burst("F", tuple(flat(tmp_path, 5))))
    assert [frame.animals for frame in result.frames] == [()] * 5


@pytest.mark.parametrize("shape", [(40, 3000), (3000, 40), (33, 33), (1, 1), (1201, 803)])
def test_odd_shapes_are_searched_without_complaint(tmp_path, shape):
    path = tmp_path / "odd.jpg"
    Image.fromarray(np.random.default_rng(1).integers(0, 255, shape, dtype=np.uint8)).save(path)
    result = chunk.measure_chunk(Burst("odd", (Frame((path,), Tags()),)))
    assert (result.frames[0].height_px, result.frames[0].width_px) == shape
    assert not result.failed


def test_small_frames_are_searched_at_twice_the_size():
    small, large = coarse_picture(np.zeros((480, 640), np.uint8)), coarse_picture(np.zeros((3000, 4000), np.uint8))
    assert small.grey.shape[1] == 2 * large.grey.shape[1]
    assert all(side % 32 == 0 for side in (*small.grey.shape, *large.grey.shape))
    assert large.scale_x * large.grey.shape[1] == pytest.approx(4000)


def test_certainty_rises_with_either_network():
    values = [certainty_of(0.3, 0.5), certainty_of(0.5, 0.5), certainty_of(0.5, 0.9), certainty_of(0.9, 0.99)]
    assert values == sorted(values)
    assert 0 < values[0] < values[-1] < 1
