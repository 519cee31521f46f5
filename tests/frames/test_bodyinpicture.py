"""A body in a picture drawn here: two thin wings across a long abdomen."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
import simplejpeg

from stillwing.errors import UnreadableFrame
from stillwing.frames.bodyinpicture import body_in_picture
from stillwing.frames.bodylength import Build, NoLength, SeenLength
from stillwing.frames.measured import Animal, Box, Origin

HEAD, TAIL = (180.0, 300.0), (520.0, 330.0)


@pytest.fixture(scope="module")
def picture(tmp_path_factory):
    rng = np.random.default_rng(3)
    ground = cv2.GaussianBlur(rng.uniform(90, 170, (640, 800, 3)).astype(np.float32), (0, 0), 25)
    cv2.line(ground, *(tuple(map(round, end)) for end in (HEAD, TAIL)), (40, 60, 90), 26, cv2.LINE_AA)
    cv2.circle(ground, (200, 302), 26, (50, 70, 60), -1, cv2.LINE_AA)
    ground += rng.normal(0, 2, ground.shape)
    path = tmp_path_factory.mktemp("drawn") / "a.jpg"
    path.write_bytes(simplejpeg.encode_jpeg(np.clip(ground, 0, 255).astype(np.uint8), 93, "RGB", "422", False))
    return path


ANIMAL = Animal(
    Box(165, 265, 375, 85), 0.9, Origin.FOUND, None, (), 0.5, False, (165.0, 265.0, 260.0, 290.0), 0.0, 0.0, 1.0, None
)


def test_the_line_runs_along_the_body_that_was_drawn(picture):
    found = body_in_picture(picture, ANIMAL, Build.ODONATE)
    assert found.size_px == (800, 640)
    assert isinstance(found.seen, SeenLength)
    drawn = np.subtract(TAIL, HEAD)
    line = np.subtract(found.seen.axis.end_px, found.seen.axis.start_px)
    along = abs(drawn @ line) / np.linalg.norm(drawn) / np.linalg.norm(line)
    assert np.degrees(np.arccos(min(along, 1.0))) < 4
    # The stroke's round ends reach 13 px beyond its own; the head 26 px round its middle.
    assert found.seen.length_px.low < np.linalg.norm(drawn) + 26 < found.seen.length_px.high * 1.02


def test_an_animal_cut_by_the_edge_has_no_line(picture):
    found = body_in_picture(picture, replace(ANIMAL, edge_clipped=True), Build.ODONATE)
    assert found.seen == NoLength("the frame's edge cuts the animal")


def test_a_picture_that_is_gone_is_told(tmp_path):
    with pytest.raises(UnreadableFrame, match=r"gone\.jpg"):
        body_in_picture(tmp_path / "gone.jpg", ANIMAL, Build.BIRD)
