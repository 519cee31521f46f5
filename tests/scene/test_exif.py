from datetime import UTC, datetime, timedelta, timezone

import exiv2
import numpy as np
import pytest
import simplejpeg

from stillwing.scene.camera import Camera
from stillwing.scene.exif import Shot, with_tags

PICTURE = simplejpeg.encode_jpeg(np.full((64, 96, 3), 120, np.uint8), 90, "RGB", "422")
CAMERA = Camera(width_px=96, height_px=64, exposure_s=1 / 1600, f_number=6.7, iso=1250, focus_distance_m=2.755)


def _tags(shot, thumbnail=None):
    image = exiv2.ImageFactory.open(with_tags(PICTURE, CAMERA, shot, thumbnail))
    image.readMetadata()
    return {datum.key(): datum.toString() for datum in image.exifData()}


def test_time_with_milliseconds_and_offset():
    shot = Shot(datetime(2031, 6, 14, 9, 5, 3, 47000, tzinfo=timezone(timedelta(hours=2))), 7)
    tags = _tags(shot)
    assert tags["Exif.Photo.DateTimeOriginal"] == "2031:06:14 09:05:03"
    assert tags["Exif.Photo.SubSecTimeOriginal"] == "047"
    assert tags["Exif.Photo.OffsetTimeOriginal"] == "+02:00"


def test_settings_of_camera_and_lens():
    tags = _tags(Shot(datetime(2031, 6, 14, tzinfo=UTC), 1))
    assert tags["Exif.Photo.ExposureTime"] == "1/1600"
    assert tags["Exif.Photo.FNumber"] == "67/10"
    assert tags["Exif.Photo.ISOSpeedRatings"] == "1250"
    assert tags["Exif.Photo.FocalLength"] == "3000/10"
    assert tags["Exif.Photo.SubjectDistance"] == "2755/1000"
    assert tags["Exif.Photo.BodySerialNumber"] == "SW000001"
    assert tags["Exif.Image.Make"] == "stillwing scene"


def test_a_place_south_and_west_has_its_letters():
    tags = _tags(Shot(datetime(2031, 6, 14, tzinfo=UTC), 1, -12.5125, -3.25, 40.0))
    assert tags["Exif.GPSInfo.GPSLatitudeRef"] == "S"
    assert tags["Exif.GPSInfo.GPSLongitudeRef"] == "W"
    assert tags["Exif.GPSInfo.GPSLatitude"] == "12/1 30/1 4500/100"


def test_no_place_writes_no_place():
    assert not [key for key in _tags(Shot(datetime(2031, 6, 14, tzinfo=UTC), 1)) if "GPSL" in key]


@pytest.mark.parametrize("size", [(160, 120)])
def test_the_thumbnail_is_found_by_a_reader_of_previews(size):
    small = simplejpeg.encode_jpeg(np.full((size[1], size[0], 3), 60, np.uint8), 80, "RGB", "420")
    image = exiv2.ImageFactory.open(with_tags(PICTURE, CAMERA, Shot(datetime(2031, 6, 14, tzinfo=UTC), 1), small))
    image.readMetadata()
    previews = exiv2.PreviewManager(image).getPreviewProperties()
    assert [(p.width, p.height) for p in previews] == [size]
