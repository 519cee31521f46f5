"""Scale from a picture's tags: by hand, and the reason where there is none."""

from dataclasses import replace

import pytest

from stillwing.frames.bodylength import NoLength
from stillwing.frames.picturescale import read_scale
from stillwing.optics.kit import CameraBody, Kit, Lens

from .made_files import RATIONAL, SHORT, write_jpeg

SIZE = (144, 96)
TAGS = {
    "Photo.FocalLength": (RATIONAL, "300/1"),
    "Photo.FNumber": (RATIONAL, "63/10"),
    "Photo.SubjectDistance": (RATIONAL, "2734/1000"),
    # 144 px over 17.4 mm: 82.76 px per cm.
    "Photo.FocalPlaneXResolution": (RATIONAL, "144000/1740"),
    "Photo.FocalPlaneYResolution": (RATIONAL, "144000/1740"),
    "Photo.FocalPlaneResolutionUnit": (SHORT, "3"),
}
LENS = Lens(75, 300, 4.8, 6.7, closest_focus_m=0.9, largest_magnification=0.5)
KIT = Kit("long", CameraBody(17.4, 11.6, 144, 96), LENS)


def picture(tmp_path, **changed):
    tags = {key: value for key, value in (TAGS | {f"Photo.{k}": v for k, v in changed.items()}).items() if value}
    return write_jpeg(tmp_path / "a.jpg", tags)


def test_pitch_over_magnification_by_hand(tmp_path):
    # f grows from 200 mm at 0.9 m (900 / 4.5) linearly in 1/D: 300 - 100 x 900/2734 = 267.08 mm; then
    # u = (D + sqrt(D^2 - 4 f D)) / 2 = 2434.0 mm, m = 267.08 / (2434.0 - 267.08) = 0.12325.
    scale = read_scale(picture(tmp_path), SIZE, 1.5, KIT)
    assert scale.likely == pytest.approx(17.4 / 144 / 0.12325, rel=2e-4)
    assert scale.low < scale.likely < scale.high


def test_a_lens_not_known_and_a_softer_animal_are_less_sure(tmp_path):
    path = picture(tmp_path)
    known, unknown, soft = (read_scale(path, SIZE, *how) for how in ((1.5, KIT), (1.5, None), (6.0, KIT)))
    assert unknown.high / unknown.low > known.high / known.low
    assert soft.high / soft.low > known.high / known.low


def test_the_kit_tells_the_size_of_the_sensor_where_the_tags_do_not(tmp_path):
    told, untold = {}, {"FocalPlaneXResolution": None, "FocalPlaneYResolution": None}
    by_tags, by_kit = (read_scale(picture(tmp_path, **changed), SIZE, 1.5, KIT) for changed in (told, untold))
    assert by_kit.likely == pytest.approx(by_tags.likely)


def test_a_kit_of_another_sensor_tells_no_size(tmp_path):
    other = replace(KIT, camera=CameraBody(17.4, 11.6, 288, 192))
    told = read_scale(picture(tmp_path, FocalPlaneXResolution=None), SIZE, 1.5, other)
    assert isinstance(told, NoLength) and "size of the sensor" in told.reason


def test_a_converter_magnifies_what_the_lens_draws(tmp_path):
    # At the closest focus the scale is pitch over largest magnification: 0.1208 / 0.5, and 0.1208 / 0.75.
    near = picture(tmp_path, SubjectDistance=(RATIONAL, "900/1000"), FocalLength=(RATIONAL, "200/1"))
    plain = read_scale(near, SIZE, 1.5, replace(KIT, lens=replace(LENS, longest_mm=200.0)))
    converted = read_scale(near, SIZE, 1.5, replace(KIT, lens=replace(LENS, longest_mm=200.0), teleconverter=1.5))
    assert plain.likely / converted.likely == pytest.approx(1.5, rel=1e-3)


@pytest.mark.parametrize(
    ("changed", "size", "blur", "words"),
    [
        ({"SubjectDistance": None}, SIZE, 1.0, "no distance, no length"),
        ({"SubjectDistance": (RATIONAL, "4294967295/1")}, SIZE, 1.0, "no distance, no length"),
        ({"FocalLength": None}, SIZE, 1.0, "focal length and f-number"),
        ({"FNumber": None}, SIZE, 1.0, "focal length and f-number"),
        ({"FocalPlaneXResolution": None}, SIZE, 1.0, "size of the sensor"),
        ({}, (72, 48), 1.0, "cropped or smaller copy"),
        ({}, SIZE, None, "blur could not be measured"),
        ({"SubjectDistance": (RATIONAL, "5/10")}, SIZE, 1.0, "do not go together"),
    ],
)
def test_no_scale_has_a_reason(tmp_path, changed, size, blur, words):
    told = read_scale(picture(tmp_path, **changed), size, blur)
    assert isinstance(told, NoLength) and words in told.reason
