"""Whole bursts, small: files, tags and truth that hang together."""

from dataclasses import replace
from datetime import UTC, datetime

import cv2
import exiv2
import numpy as np
import pytest

from stillwing.scene.burst import When, render_burst
from stillwing.scene.camera import camera_of
from stillwing.scene.scenarios import SCENARIOS, Wishes
from stillwing.scene.truth import mask_of, read_truth, truth_path

CAMERA = replace(camera_of(1), preview_px=640)


@pytest.fixture(scope="module")
def hover(tmp_path_factory):
    folder = tmp_path_factory.mktemp("scene") / "hover"
    wishes = Wishes("dragonfly", "reeds", "front", 0.3, background_near_focus=False)
    when = When(datetime(2031, 6, 14, 9, 0, 0, 990000, tzinfo=UTC), 41, "T", 51.05, -1.25, 38.0)
    return folder, render_burst("hover", CAMERA, folder, 4, 21, wishes=wishes, when=when, workers=1)


def test_every_frame_is_a_file_of_the_right_size(hover):
    folder, truth = hover
    assert [f["file"] for f in truth["frames"]] == ["T00041.jpg", "T00042.jpg", "T00043.jpg", "T00044.jpg"]
    assert sorted(p.name for p in folder.iterdir()) == [f["file"] for f in truth["frames"]]
    for frame in truth["frames"]:
        assert cv2.imread(str(folder / frame["file"])).shape == (CAMERA.height_px, CAMERA.width_px, 3)


def test_the_clock_runs_on_by_the_frame_rate_over_a_full_second(hover):
    folder, truth = hover
    times = []
    for frame in truth["frames"]:
        image = exiv2.ImageFactory.open(str(folder / frame["file"]))
        image.readMetadata()
        exif = image.exifData()
        text = exif["Exif.Photo.DateTimeOriginal"].toString() + "." + exif["Exif.Photo.SubSecTimeOriginal"].toString()
        times.append(datetime.strptime(text, "%Y:%m:%d %H:%M:%S.%f").replace(tzinfo=UTC))
    gaps = np.diff([t.timestamp() for t in times])
    assert gaps == pytest.approx(1 / CAMERA.frames_per_s, abs=0.002)
    assert times[1].second == 1


def test_the_animal_is_where_the_truth_says(hover):
    folder, truth = hover
    pictures = [cv2.imread(str(folder / f["file"]), cv2.IMREAD_GRAYSCALE).astype(float) for f in truth["frames"]]
    for frame, picture in zip(truth["frames"], pictures, strict=True):
        (animal,) = frame["animals"]
        x, y, w, h = animal["box"]
        inside = np.zeros(picture.shape, bool)
        inside[y : y + h, x : x + w] = True
        # The background is far out of focus: what is rough is the animal.
        rough = np.abs(cv2.Laplacian(cv2.GaussianBlur(picture, (0, 0), 1.5), cv2.CV_64F))
        roughest = rough > np.quantile(rough, 0.995)
        assert inside[roughest].mean() > 0.9


def test_mask_and_box_belong_together(hover):
    for frame in hover[1]["frames"]:
        for animal in frame["animals"]:
            mask, step = mask_of(animal), animal["mask"]["step_px"]
            assert mask.shape == (-(-animal["box"][3] // step), -(-animal["box"][2] // step))
            assert mask.any(0)[[0, -1]].any() and mask.any(1)[[0, -1]].any()
            assert 0.05 < mask.mean() < 1


def test_truth_is_written_beside_the_folder_and_is_what_was_returned(hover):
    folder, truth = hover
    assert read_truth(truth_path(folder)) == truth


def test_the_same_seed_writes_the_same_files(hover, tmp_path):
    folder, _ = hover
    wishes = Wishes("dragonfly", "reeds", "front", 0.3, background_near_focus=False)
    when = When(datetime(2031, 6, 14, 9, 0, 0, 990000, tzinfo=UTC), 41, "T", 51.05, -1.25, 38.0)
    render_burst("hover", CAMERA, tmp_path / "again", 4, 21, wishes=wishes, when=when, workers=1)
    for path in folder.iterdir():
        assert (tmp_path / "again" / path.name).read_bytes() == path.read_bytes()


def test_an_empty_burst_tells_of_no_animal(tmp_path):
    truth = render_burst("empty", CAMERA, tmp_path / "e", 2, 3, workers=1)
    assert all(not f["animals"] and not f["keep"] for f in truth["frames"])


@pytest.mark.slow
@pytest.mark.parametrize("scenario", SCENARIOS)
def test_every_scenario_renders(tmp_path, scenario):
    truth = render_burst(scenario, CAMERA, tmp_path / "s", 5, 9, workers=1)
    assert len(list((tmp_path / "s").iterdir())) == 5
    shown = [animal for frame in truth["frames"] for animal in frame["animals"]]
    assert bool(shown) == (scenario != "empty")
    if scenario == "frame edge":
        assert any(animal["clipped"] for animal in shown)
    if scenario in ("tandem", "several"):
        assert any(len(frame["animals"]) >= 2 for frame in truth["frames"])


@pytest.mark.slow
def test_two_workers_write_what_one_writes(tmp_path):
    for workers in (1, 2):
        render_burst("perched", CAMERA, tmp_path / str(workers), 3, 4, workers=workers)
    for path in (tmp_path / "1").iterdir():
        assert (tmp_path / "2" / path.name).read_bytes() == path.read_bytes()
