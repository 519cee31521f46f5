from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
import simplejpeg
from PIL import Image

from stillwing.scene.camera import camera_of
from stillwing.scene.exif import Shot
from stillwing.scene.jpegfile import frame_bytes, write_frame

SHOT = Shot(datetime(2031, 6, 14, tzinfo=UTC), 1)


def _picture(camera):
    ramp = np.linspace(20, 230, camera.width_px, dtype=np.float32)
    picture = np.repeat(np.repeat(ramp[None, :, None], camera.height_px, 0), 3, 2)
    picture[camera.height_px // 2 :, :, 0] *= 0.5
    return picture.astype(np.uint8)


def test_the_main_picture_is_422_and_close_to_what_was_given():
    camera = camera_of(2)
    data = frame_bytes(_picture(camera), camera, SHOT)
    height, width, _, sampling = simplejpeg.decode_jpeg_header(data)
    assert (width, height, sampling) == (camera.width_px, camera.height_px, "422")
    decoded = simplejpeg.decode_jpeg(data, "RGB")
    assert np.abs(decoded.astype(int) - _picture(camera)).mean() < 1.5


def test_the_preview_lies_behind_the_picture_where_the_index_says(tmp_path):
    camera = camera_of(2)
    write_frame(tmp_path / "a.jpg", _picture(camera), camera, SHOT)
    # Pillow reads the multi-picture index (CIPA DC-007) on its own.
    with Image.open(tmp_path / "a.jpg") as image:
        assert image.n_frames == 2
        assert image.size == (camera.width_px, camera.height_px)
        image.seek(1)
        assert max(image.size) == 1620
        preview = np.asarray(image.convert("RGB"))
    small = cv2.resize(_picture(camera), preview.shape[1::-1], interpolation=cv2.INTER_AREA)
    assert np.abs(preview.astype(int) - small).mean() < 3


def test_without_a_preview_the_file_ends_with_the_picture():
    camera = camera_of(1)
    with_one = frame_bytes(_picture(camera), camera, SHOT)
    without = frame_bytes(_picture(camera), type(camera)(**{**_fields(camera), "preview_px": 0}), SHOT)
    assert b"MPF\0" in with_one
    assert b"MPF\0" not in without
    assert without.rstrip(b"\0").endswith(b"\xff\xd9")
    assert len(without) < len(with_one)


def _fields(camera):
    return {name: getattr(camera, name) for name in camera.__dataclass_fields__}


@pytest.mark.parametrize("quality", [80, 97])
def test_quality_sets_the_size(quality):
    camera = type(camera_of(1))(**{**_fields(camera_of(1)), "jpeg_quality": quality, "preview_px": 0})
    noise = np.random.default_rng(0).integers(0, 255, (camera.height_px, camera.width_px, 3), dtype=np.uint8)
    size = len(frame_bytes(noise, camera, SHOT))
    assert (size > 1_000_000) == (quality > 90)
