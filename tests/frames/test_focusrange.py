"""The step that a camera wrote its focus distance in, tag by tag."""

import pytest

from stillwing.frames.exif import read_exif
from stillwing.frames.focusrange import LENS_SHARE, focus_range, written_range
from stillwing.frames.makernotes import focus_distance

from .made_files import ASCII, DATA, RATIONAL, SHORT, needs_data, write_jpeg

MILLIMETRES = {"Image.Make": (ASCII, "OLYMPUS CORPORATION")}


def read(tmp_path, exif):
    return focus_range(read_exif(write_jpeg(tmp_path / "a.jpg", exif).read_bytes()))


@pytest.mark.parametrize(
    ("exif", "likely", "half"),
    [
        ({"Photo.SubjectDistance": (RATIONAL, "31/10")}, 3.1, LENS_SHARE * 3.1),
        ({"Photo.SubjectDistance": (RATIONAL, "12/10")}, 1.2, 0.05),
        ({"Photo.SubjectDistance": (RATIONAL, "3/1")}, 3.0, 0.5),
        ({"Photo.SubjectDistance": (RATIONAL, "3000/1000")}, 3.0, 0.5),
        ({"Photo.SubjectDistance": (RATIONAL, "2357/1000")}, 2.357, LENS_SHARE * 2.357),
        (MILLIMETRES | {"OlympusFi.FocusDistance": (RATIONAL, "2350/10")}, 2.35, LENS_SHARE * 2.35),
    ],
)
def test_half_a_step_lies_on_either_side(tmp_path, exif, likely, half):
    assert read(tmp_path, exif) == pytest.approx((likely - half, likely, likely + half), rel=1e-6)


@needs_data
def test_two_marks_bound_the_distance_between_them():
    # Its upper and lower mark are 4.84 and 4.46 m, as libexiv2 prints them.
    told = focus_range(read_exif((DATA / "exif/01.jpg").read_bytes()))
    assert told == pytest.approx((4.46, 4.65, 4.84), abs=0.005)


@needs_data
def test_a_logarithmic_byte_has_steps_of_six_percent():
    exif = read_exif((DATA / "exif/06.jpg").read_bytes())
    low, likely, high = focus_range(exif)
    assert likely == focus_distance(exif) == pytest.approx(0.45, abs=0.005)
    assert high / low == pytest.approx(10 ** (1 / 40), rel=0.002)


def test_a_picture_without_a_distance_has_no_range(tmp_path):
    assert read(tmp_path, {"Photo.SubjectDistance": (RATIONAL, "4294967295/1")}) is None
    assert read(tmp_path, {"Photo.FocalLength": (RATIONAL, "300/1")}) is None
    assert read(tmp_path, {"Photo.SubjectDistanceRange": (SHORT, "2")}) is None


def test_a_range_never_reaches_nothing():
    low, _, high = written_range(1.0, 5.0)
    assert low == 0.5 and high == 3.5
