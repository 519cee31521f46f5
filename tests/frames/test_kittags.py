"""A kit read off pictures: real cameras' files, drawn ones, and broken ones."""

import re
import shutil
from pathlib import Path

import pytest
from PIL import Image

from stillwing.errors import UnreadableFrame
from stillwing.frames.kittags import read_kit
from stillwing.frames.told import Sure
from stillwing.optics.kitparts import KitParts, put_together

from .made_files import ASCII, DATA, RATIONAL, SHORT, fingerprint, jpeg, needs_data, pillow_jpeg, write_jpeg

CAMERA_FILES = [f"exif/0{i}.jpg" for i in range(1, 9)] + ["exif/09.nef", "exif/10.nef"]
NEVER_TOLD = {"closest_focus_m", "largest_magnification", "frames_per_s", "readout_s", "look_back_s"}

KIT_TAGS = {
    "Image.Make": (ASCII, "Drawn"),
    "Image.Model": (ASCII, "Drawn camera"),
    "Photo.BodySerialNumber": (ASCII, "0042"),
    "Photo.LensModel": (ASCII, "Drawn lens"),
    "Photo.LensSpecification": (RATIONAL, "75/1 300/1 48/10 67/10"),
    "Photo.FocalLength": (RATIONAL, "300/1"),
    "Photo.FocalLengthIn35mmFilm": (SHORT, "600"),
    "Photo.PixelXDimension": ("unsignedLong", "5184"),
    "Photo.PixelYDimension": ("unsignedLong", "3888"),
    "Photo.FNumber": (RATIONAL, "8/1"),
    "Photo.ExposureTime": (RATIONAL, "1/4000"),
    "Photo.ISOSpeedRatings": (SHORT, "1600"),
}


def read_with(tmp_path, **changes):
    """Read a drawn picture with the tags of a whole kit, changed; a tag that is ``None`` is left out."""
    tags = KIT_TAGS | {name.replace("_", "."): value for name, value in changes.items()}
    return read_kit(write_jpeg(tmp_path / "a.jpg", {key: value for key, value in tags.items() if value is not None}))


def test_a_picture_with_all_its_tags_makes_a_kit(tmp_path):
    told = read_with(tmp_path)
    made = put_together("long lens", told.parts)
    assert made.kit.words == "20 MP, 17.3 x 13.0 mm sensor; 75-300 mm f/4.8-6.7"
    assert (told.camera.value, told.camera.tag) == ("Drawn camera", "Model")
    assert (told.camera_serial.value, told.lens.value) == ("0042", "Drawn lens")
    assert (told.f_number.value, told.exposure_s.value, told.iso.value) == (8.0, 1 / 4000, 1600)
    assert told.remarks == ()


def test_what_no_tag_tells_is_listed(tmp_path):
    told = read_with(tmp_path)
    made = put_together("k", told.parts)
    assert set(told.missing) >= NEVER_TOLD | {"lowest_iso", "highest_iso", "shortest_s", "narrowest"}
    assert set(told.missing) == {*made.assumed, *made.unknown, "teleconverter"}
    assert all(told.source(field) is None for field in told.missing)


def test_each_value_says_which_tag_told_it(tmp_path):
    told = read_with(tmp_path)
    sources = {field: told.source(field) for field in KitParts.__dataclass_fields__ if field not in told.missing}
    assert {field: (source.tag, source.sure) for field, source in sources.items()} == {
        "sensor_width_mm": ("FocalLengthIn35mmFilm", Sure.ROUNDED),
        "sensor_height_mm": ("FocalLengthIn35mmFilm", Sure.ROUNDED),
        "width_px": ("PixelXDimension", Sure.EXACT),
        "height_px": ("PixelXDimension", Sure.EXACT),
        "shortest_mm": ("LensSpecification", Sure.EXACT),
        "longest_mm": ("LensSpecification", Sure.EXACT),
        "widest_at_shortest": ("LensSpecification", Sure.EXACT),
        "widest_at_longest": ("LensSpecification", Sure.EXACT),
    }


def test_what_is_given_counts_before_the_tags(tmp_path):
    given = KitParts(sensor_width_mm=17.4, sensor_height_mm=13.05, frames_per_s=50.0)
    made = put_together("k", given.or_else(read_with(tmp_path).parts))
    assert (made.kit.camera.sensor_width_mm, made.kit.camera.frames_per_s) == (17.4, 50.0)
    assert made.kit.lens.longest_mm == 300.0


@pytest.mark.parametrize(
    ("change", "field", "value", "said"),
    [
        ({"Photo_ISOSpeedRatings": (SHORT, "80")}, "lowest_iso", 80, "taken at ISO 80, so the camera goes so low"),
        ({"Photo_ISOSpeedRatings": (SHORT, "51200")}, "highest_iso", 51200, "taken at ISO 51200, .* so high at least"),
        ({"Photo_ExposureTime": (RATIONAL, "1/32000")}, "shortest_s", 1 / 32000, "taken at 1/32000 s"),
        ({"Photo_FNumber": (RATIONAL, "32/1")}, "narrowest", 32.0, "taken at f/32, so the lens closes so far"),
    ],
)
def test_a_setting_beyond_the_typical_limit_moves_it(tmp_path, change, field, value, said):
    told = read_with(tmp_path, **change)
    assert getattr(told.parts, field) == value
    assert told.source(field).sure is Sure.ONE_SETTING
    assert [remark for remark in told.remarks if re.search(said, remark)]
    put_together("k", told.parts)


def test_a_focal_length_beyond_the_lens_asks_for_the_converter(tmp_path):
    told = read_with(tmp_path, Photo_FocalLength=(RATIONAL, "420/1"), Photo_FocalLengthIn35mmFilm=(SHORT, "840"))
    assert told.remarks == ("taken at 420 mm, beyond the lens's range; was there a converter on it?",)


def test_a_picture_without_tags_tells_only_its_pixels(tmp_path):
    told = read_kit(write_jpeg(tmp_path / "a.jpg"))
    assert told.pixels.value == (144, 96)
    assert [told.camera, told.lens, told.sensor_mm, told.focal_range_mm, told.widest] == [None] * 5
    assert set(told.missing) == set(KitParts.__dataclass_fields__) - {"width_px", "height_px"}


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "empty"), (b"not a picture at all", "plain text"), (b"\xff\xd8\xff\xe1\0\x10Exif\0\0II", "damaged")],
)
def test_a_broken_file_is_named(tmp_path, content, said):
    path = tmp_path / "broken.jpg"
    path.write_bytes(content)
    with pytest.raises(UnreadableFrame, match=said) as told:
        read_kit(path)
    assert str(path) in str(told.value)


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(UnreadableFrame, match="no longer there"):
        read_kit(tmp_path / "gone.jpg")


def test_a_broken_colour_profile_does_not_hide_the_tags(tmp_path):
    exif = Image.Exif()
    exif[0x0110] = "Drawn camera"
    path = tmp_path / "a.jpg"
    data = pillow_jpeg(Image.new("RGB", (64, 48)), exif=exif)
    torn = b"\xff\xe2\x00\x14ICC_PROFILE\x00\x01\x05abcd"
    path.write_bytes(data[:2] + torn + data[2:])
    assert read_kit(path).camera.value == "Drawn camera"


@pytest.mark.parametrize("cut", [40, 200, 400])
def test_a_torn_picture_is_read_or_named_but_never_guessed(tmp_path, cut):
    whole = write_jpeg(tmp_path / "a.jpg", KIT_TAGS).read_bytes()
    path = tmp_path / "torn.jpg"
    path.write_bytes(whole[:cut])
    try:
        told = read_kit(path)
    except UnreadableFrame as error:
        assert "torn.jpg" in str(error)
    else:
        assert told.focal_range_mm is None or told.focal_range_mm.value in {(75.0, 300.0), (300.0, 300.0)}


@needs_data
@pytest.mark.parametrize("name", CAMERA_FILES)
def test_a_camera_s_sensor_is_one_that_is_made(name):
    told = read_kit(DATA / name)
    assert told.camera is not None
    assert told.pixels.value[0] >= told.pixels.value[1] > 0
    if told.sensor_mm is not None:
        width, height = told.sensor_mm.value
        # From the smallest telephone to full format, and pixels as they are made: 1 to 10 micrometres.
        assert 4 <= width <= 36.5
        assert 0.001 <= width / told.pixels.value[0] <= 0.010
        assert width / height == pytest.approx(told.pixels.value[0] / told.pixels.value[1], rel=0.02)


@needs_data
def test_most_camera_s_files_tell_the_sensor_and_the_lens():
    told = {name: read_kit(DATA / name) for name in CAMERA_FILES}
    assert [name for name, kit in told.items() if kit.sensor_mm is None] == ["exif/08.jpg"]
    ranged = {name for name, kit in told.items() if kit.focal_range_mm.sure is Sure.EXACT}
    assert ranged == {"exif/01.jpg", "exif/06.jpg", "exif/09.nef", "exif/10.nef"}


@needs_data
def test_reading_a_kit_changes_no_picture(tmp_path):
    for name in CAMERA_FILES:
        shutil.copyfile(DATA / name, tmp_path / Path(name).name)
    before = fingerprint(tmp_path)
    for path in sorted(tmp_path.iterdir()):
        read_kit(path)
    assert fingerprint(tmp_path) == before


def test_a_png_tells_its_pixels(tmp_path):
    path = tmp_path / "a.png"
    Image.new("RGB", (320, 240)).save(path)
    assert read_kit(path).pixels.value == (320, 240)


def test_tags_after_the_first_part_of_a_long_file_are_found(tmp_path):
    path = tmp_path / "a.jpg"
    comment = b"\xff\xfe\xff\xff" + b"x" * 65533
    whole = write_jpeg(tmp_path / "b.jpg", KIT_TAGS, data=jpeg()).read_bytes()
    path.write_bytes(whole[:2] + comment * 6 + whole[2:])
    assert read_kit(path).focal_range_mm.value == (75.0, 300.0)
