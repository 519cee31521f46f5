"""Tags: read back from real cameras' files and from files whose tags were written by libexiv2."""

from datetime import datetime, timedelta, timezone
from itertools import pairwise

import exiv2
import pytest
from PIL import Image

from stillwing.errors import UnreadableFrame
from stillwing.frames.tags import read_tags

from .made_files import (
    ASCII,
    DATA,
    LONG,
    RATIONAL,
    SHORT,
    SRATIONAL,
    dng,
    drawn_rgb,
    fingerprint,
    jpeg,
    needs_data,
    png,
    taken,
    write_jpeg,
)

SAMPLES = [f"exif/0{i}.jpg" for i in range(1, 9)]
EXIF_IFD = 0x8769


@needs_data
@pytest.mark.parametrize("name", SAMPLES)
def test_a_camera_s_file_says_the_same_to_another_library(name):
    tags = read_tags(DATA / name)
    with Image.open(DATA / name) as image:
        size, first, exif = image.size, image.getexif(), image.getexif().get_ifd(EXIF_IFD)
    assert (tags.width_px, tags.height_px) == size
    assert tags.orientation == first.get(0x0112, 1)
    assert tags.taken_at.strftime("%Y:%m:%d %H:%M:%S") == exif[0x9003].strip("\0 ")
    assert f"{tags.taken_at.microsecond / 1e6:.6f}"[2:].startswith(exif.get(0x9291, "").strip())
    assert tags.has_subseconds == (0x9291 in exif)
    assert tags.f_number == pytest.approx(float(exif[0x829D]))
    assert tags.focal_length_mm == pytest.approx(float(exif[0x920A]))
    if 0x829A in exif:
        assert tags.exposure_s == pytest.approx(float(exif[0x829A]))
    if 0x8827 in exif:
        assert tags.iso == exif[0x8827]


@needs_data
@pytest.mark.parametrize(
    ("name", "key", "distance_m", "tolerance_m"),
    [
        ("exif/06.jpg", "Exif.NikonLd2.FocusDistance", 0.45, 0.005),
        ("exif/09.nef", "Exif.NikonLd2.FocusDistance", 2.00, 0.005),
        ("exif/01.jpg", "Exif.CanonFi.FocusDistanceUpper", 4.84, 0.20),
        ("exif/01.jpg", "Exif.CanonFi.FocusDistanceLower", 4.46, 0.20),
    ],
)
def test_focus_distance_is_the_one_that_libexiv2_prints(name, key, distance_m, tolerance_m):
    image = exiv2.ImageFactory.open(str(DATA / name))
    image.readMetadata()
    assert image.exifData()[key].print(image.exifData()) == f"{distance_m:.2f} m"
    assert read_tags(DATA / name).focus_distance_m == pytest.approx(distance_m, abs=tolerance_m)


@needs_data
@pytest.mark.parametrize(
    ("name", "field", "value"),
    [
        ("exif/01.jpg", "drive_mode", "continuous"),
        ("exif/01.jpg", "focus_mode", "single"),
        ("exif/02.jpg", "focus_mode", None),
        ("exif/08.jpg", "focus_mode", "continuous"),
        ("exif/01.jpg", "camera_serial", "330103043"),
        ("exif/01.jpg", "focus_area_px", (951.5, 1347.5, 115.0, 153.0)),  # the left point: 2136 - 1127, 1424 - 0
        ("exif/05.jpg", "iso", 200),  # from ExposureIndex; the camera writes no sensitivity
        ("exif/06.jpg", "drive_mode", "single"),
        ("exif/06.jpg", "camera_serial", "6114551"),
        ("exif/07.jpg", "camera_serial", "108479926"),
        ("exif/07.jpg", "focus_distance_m", None),  # 0/10
        ("exif/08.jpg", "drive_mode", "single"),
        ("exif/08.jpg", "sequence_number", None),  # 0: not in a burst
        ("exif/09.nef", "camera_serial", "1005a431"),  # written "NO= 1005a431"
    ],
)
def test_maker_notes_of_real_files_are_understood(name, field, value):
    assert getattr(read_tags(DATA / name), field) == value


@needs_data
def test_a_zone_from_before_exif_had_a_tag_for_it_includes_summer_time():
    # The maker's note says 60 minutes and daylight saving on.
    assert read_tags(DATA / "exif/06.jpg").taken_at.utcoffset() == timedelta(hours=2)


@needs_data
def test_the_bursts_keep_their_true_interval():
    for folder in sorted((DATA / "bursts").iterdir()):
        times = [read_tags(path).taken_at for path in sorted(folder.iterdir())]
        assert len(times) == 12
        for before, after in pairwise(times):
            assert (after - before).total_seconds() == pytest.approx(0.1, abs=0.0011), folder.name


@needs_data
def test_a_heif_file_tells_its_tags_and_its_true_size():
    tags = read_tags(DATA / "heif/L_exif_xmp_iptc.heic")
    assert tags.taken_at == datetime(2020, 9, 14, 11, 9, 34, 641000, timezone(timedelta(hours=-5)))
    assert (tags.width_px, tags.height_px) == (64, 64)  # Exif still tells 4240 x 2832, from before it was cut


@pytest.mark.parametrize(
    ("digits", "microsecond"), [("066", 66000), ("6", 600000), ("06", 60000), ("1234567", 123456), ("50  ", 500000)]
)
def test_subseconds_are_decimals_of_a_second(tmp_path, digits, microsecond):
    tags = read_tags(write_jpeg(tmp_path / "a.jpg", taken("2024:06:01 10:18:05", digits)))
    assert tags.taken_at == datetime(2024, 6, 1, 10, 18, 5, microsecond)
    assert tags.has_subseconds


@pytest.mark.parametrize("digits", ["", "   ", "-5", "abc", "1/2"])
def test_subseconds_that_are_no_digits_are_none(tmp_path, digits):
    tags = read_tags(write_jpeg(tmp_path / "a.jpg", taken("2024:06:01 10:18:05", digits)))
    assert tags.taken_at == datetime(2024, 6, 1, 10, 18, 5)
    assert not tags.has_subseconds


@pytest.mark.parametrize(
    ("words", "minutes"),
    [("+02:00", 120), ("-03:30", -210), ("Z", 0), ("+00:00", 0), ("   :  ", None), ("+25:00", None), ("+01:07", None)],
)
def test_the_offset_makes_the_time_aware_where_a_clock_could_have_it(tmp_path, words, minutes):
    exif = taken("2024:06:01 10:18:05") | {"Photo.OffsetTimeOriginal": (ASCII, words)}
    offset = read_tags(write_jpeg(tmp_path / "a.jpg", exif)).taken_at.utcoffset()
    assert offset == (None if minutes is None else timedelta(minutes=minutes))


@pytest.mark.parametrize(
    "words",
    ["0000:00:00 00:00:00", "2024:13:01 10:00:00", "2024:02:30 10:00:00", "    :  :     :  :  ", "1601:01:01 00:00:00"],
)
def test_a_time_that_never_was_is_none(tmp_path, words):
    assert read_tags(write_jpeg(tmp_path / "a.jpg", taken(words))).taken_at is None


def test_a_later_tag_gives_the_time_where_the_original_is_absurd(tmp_path):
    exif = taken("0000:00:00 00:00:00", "99") | {
        "Photo.DateTimeDigitized": (ASCII, "2024:06:01 10:18:05"),
        "Photo.SubSecTimeDigitized": (ASCII, "25"),
    }
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).taken_at == datetime(2024, 6, 1, 10, 18, 5, 250000)


@pytest.mark.parametrize(
    ("field", "key", "value"),
    [
        ("exposure_s", "Photo.ExposureTime", (RATIONAL, "0/1")),
        ("exposure_s", "Photo.ExposureTime", (RATIONAL, "1/0")),
        ("exposure_s", "Photo.ExposureTime", (RATIONAL, "4294967295/1")),
        ("exposure_s", "Photo.ExposureTime", (SRATIONAL, "-1/100")),
        ("f_number", "Photo.FNumber", (RATIONAL, "0/0")),
        ("f_number", "Photo.FNumber", (RATIONAL, "0/1")),
        ("f_number", "Photo.FNumber", (ASCII, "bright")),
        ("iso", "Photo.ISOSpeedRatings", (SHORT, "0")),
        ("iso", "Photo.ISOSpeedRatings", (SHORT, "65535")),
        ("focal_length_mm", "Photo.FocalLength", (RATIONAL, "0/1")),
        ("focal_length_mm", "Photo.FocalLength", (RATIONAL, "4294967295/1")),
        ("focus_distance_m", "Photo.SubjectDistance", (RATIONAL, "0/1")),
        ("focus_distance_m", "Photo.SubjectDistance", (RATIONAL, "4294967295/1")),
        ("focus_distance_m", "Photo.SubjectDistance", (RATIONAL, "4294967295/1000")),
        ("focus_distance_m", "Photo.SubjectDistance", (SRATIONAL, "-3/1")),
        ("focus_distance_m", "Photo.SubjectDistance", (RATIONAL, "3/0")),
        ("camera_serial", "Photo.BodySerialNumber", (ASCII, "00000000")),
        ("camera_serial", "Photo.BodySerialNumber", (ASCII, "    ")),
        ("lens", "Photo.LensModel", (ASCII, "----")),
        ("focus_area_px", "Photo.SubjectArea", (SHORT, "0 0")),
        ("focus_area_px", "Photo.SubjectArea", (SHORT, "9000 9000 10 10")),
        ("focus_area_px", "Photo.SubjectArea", (SHORT, "1 2 3 4 5")),
        ("altitude_m", "GPSInfo.GPSAltitude", (RATIONAL, "1/0")),
        ("altitude_m", "GPSInfo.GPSAltitude", (RATIONAL, "4294967295/1")),
    ],
)
def test_absurd_values_are_none(tmp_path, field, key, value):
    assert getattr(read_tags(write_jpeg(tmp_path / "a.jpg", {key: value})), field) is None


@pytest.mark.parametrize("value", ["0", "9", "65535"])
def test_an_orientation_that_does_not_exist_is_upright(tmp_path, value):
    assert read_tags(write_jpeg(tmp_path / "a.jpg", {"Image.Orientation": (SHORT, value)})).orientation == 1


def test_a_sensitivity_beyond_16_bits_stands_in_the_longer_tag(tmp_path):
    exif = {"Photo.ISOSpeedRatings": (SHORT, "65535"), "Photo.RecommendedExposureIndex": (LONG, "102400")}
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).iso == 102400


def test_shutter_speed_value_gives_the_exposure_where_no_other_tag_does(tmp_path):
    # Exif 2.32, annex C: Tv 11 is 1/2048 s.
    exif = {"Photo.ShutterSpeedValue": (SRATIONAL, "11/1")}
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).exposure_s == pytest.approx(1 / 2048)


def position(latitude, longitude, south="N", west="E", **more):
    return {
        "GPSInfo.GPSLatitude": (RATIONAL, latitude),
        "GPSInfo.GPSLatitudeRef": (ASCII, south),
        "GPSInfo.GPSLongitude": (RATIONAL, longitude),
        "GPSInfo.GPSLongitudeRef": (ASCII, west),
    } | more


@pytest.mark.parametrize(
    ("exif", "latitude", "longitude"),
    [
        (position("52/1 30/1 36/1", "13/1 15/1 0/1"), 52.51, 13.25),
        (position("52/1 306/10 0/1", "13/1 15/1 0/1", "S", "W"), -52.51, -13.25),
        (position("52/1 30/1 36/0", "13/1 15/1 0/1"), None, None),
        (position("0/1 0/1 0/1", "0/1 0/1 0/1"), None, None),
        (position("0/0 0/0 0/0", "0/0 0/0 0/0"), None, None),
        (position("95/1 0/1 0/1", "13/1 15/1 0/1"), None, None),
        (position("52/1 30/1 36/1", "13/1 15/1 0/1", **{"GPSInfo.GPSStatus": (ASCII, "V")}), None, None),
    ],
)
def test_a_position_is_signed_degrees_or_nothing(tmp_path, exif, latitude, longitude):
    tags = read_tags(write_jpeg(tmp_path / "a.jpg", exif))
    assert tags.latitude_deg == (None if latitude is None else pytest.approx(latitude, abs=1e-9))
    assert tags.longitude_deg == (None if longitude is None else pytest.approx(longitude, abs=1e-9))


def test_an_altitude_below_the_sea_is_negative(tmp_path):
    exif = {"GPSInfo.GPSAltitude": (RATIONAL, "3/1"), "GPSInfo.GPSAltitudeRef": ("unsignedByte", "1")}
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).altitude_m == -3.0


FIRST = {"Image.Make": (ASCII, "SONY")}
SECOND = {"Image.Make": (ASCII, "OLYMPUS CORPORATION")}
THIRD = {"Image.Make": (ASCII, "Panasonic")}
FOURTH = {"Image.Make": (ASCII, "FUJIFILM")}
FIFTH = {"Image.Make": (ASCII, "NIKON CORPORATION"), "Nikon3.Version": ("undefined", "48 50 49 48")}
SIXTH = {"Image.Make": (ASCII, "Canon")}


@pytest.mark.parametrize(
    ("exif", "field", "value"),
    [
        (FIRST | {"Sony1.SequenceNumber": (SHORT, "7")}, "sequence_number", 7),
        (FIRST | {"Sony1.SequenceNumber": (SHORT, "65535")}, "sequence_number", None),
        (FIRST | {"Sony1.ReleaseMode": (SHORT, "2")}, "drive_mode", "continuous"),
        (SECOND | {"OlympusCs.FocusMode": (SHORT, "2")}, "focus_mode", "continuous"),
        (SECOND | {"OlympusCs.FocusMode": (SHORT, "0 1")}, "focus_mode", "single"),
        (FIRST | {"Sony1.ReleaseMode": (SHORT, "5")}, "drive_mode", "bracketing"),
        (SECOND | {"OlympusCs.DriveMode": (SHORT, "1 5")}, "drive_mode", "continuous"),
        (SECOND | {"OlympusCs.DriveMode": (SHORT, "1 5")}, "sequence_number", 5),
        (SECOND | {"OlympusCs.DriveMode": (SHORT, "0 5")}, "sequence_number", None),
        (SECOND | {"OlympusCs.DriveMode": (SHORT, "5 2 1")}, "drive_mode", "bracketing"),
        # The denominator of this maker varies between bodies; libexiv2 prints 2.35 m for either.
        (SECOND | {"OlympusFi.FocusDistance": (RATIONAL, "2350/10")}, "focus_distance_m", 2.35),
        (SECOND | {"OlympusFi.FocusDistance": (RATIONAL, "2350/1")}, "focus_distance_m", 2.35),
        (SECOND | {"OlympusFi.FocusDistance": (RATIONAL, "4294967295/1")}, "focus_distance_m", None),
        (SECOND | {"OlympusEq.SerialNumber": (ASCII, "B12345      ")}, "camera_serial", "B12345"),
        (THIRD | {"Panasonic.BurstMode": (SHORT, "0")}, "drive_mode", "single"),
        (THIRD | {"Panasonic.BurstMode": (SHORT, "2")}, "drive_mode", "continuous"),
        (THIRD | {"Panasonic.SequenceNumber": (LONG, "3")}, "sequence_number", 3),
        (FOURTH | {"Fujifilm.Continuous": (SHORT, "1")}, "drive_mode", "continuous"),
        (FOURTH | {"Fujifilm.SequenceNumber": (SHORT, "4")}, "sequence_number", 4),
        (FIFTH | {"Nikon3.ShootingMode": (SHORT, "8")}, "drive_mode", "self-timer"),
        (FIFTH | {"Nikon3.ShootingMode": (SHORT, "17")}, "drive_mode", "bracketing"),
        (SIXTH | {"CanonCs.DriveMode": ("signedShort", "5")}, "drive_mode", "continuous"),
        (SIXTH | {"CanonCs.DriveMode": ("signedShort", "6")}, "drive_mode", "single"),
        (SIXTH | {"CanonSi.Sequence": (SHORT, "9")}, "sequence_number", 9),
        (SIXTH | {"CanonFi.FocusDistanceUpper": (SHORT, "65535")}, "focus_distance_m", None),
        ({"Photo.SubjectDistance": (RATIONAL, "235/100")}, "focus_distance_m", 2.35),
    ],
)
def test_maker_notes_are_understood(tmp_path, exif, field, value):
    assert getattr(read_tags(write_jpeg(tmp_path / "a.jpg", exif)), field) == value


def test_the_standard_distance_goes_before_the_maker_s(tmp_path):
    exif = SECOND | {
        "OlympusFi.FocusDistance": (RATIONAL, "9000/1"),
        "Photo.SubjectDistance": (RATIONAL, "2/1"),
    }
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).focus_distance_m == 2.0


@pytest.mark.parametrize(
    ("exif", "area"),
    [
        ({"Photo.SubjectArea": (SHORT, "40 30")}, (40, 30, 0, 0)),
        ({"Photo.SubjectArea": (SHORT, "40 30 20")}, (30, 20, 20, 20)),
        ({"Photo.SubjectArea": (SHORT, "40 30 20 10")}, (30, 25, 20, 10)),
        (
            FIRST | {"Sony1.FocusLocation": (SHORT, "1440 960 720 240"), "Sony1.FocusFrameSize": (SHORT, "144 96 1")},
            (64.8, 19.2, 14.4, 9.6),
        ),
        (  # the size as six bytes
            FIRST
            | {
                "Sony1.FocusLocation": (SHORT, "1440 960 720 240"),
                "Sony1.FocusFrameSize": ("undefined", "44 1 100 0 1 0"),
            },
            (57, 19, 30, 10),
        ),
        # Bytes 51, 102, 102, 153 are 20, 40, 40 and 60 % of the sides.
        (SECOND | {"OlympusCs.AFAreas": (LONG, str(0x33666699))}, (28.8, 38.4, 28.8, 19.2)),
        (THIRD | {"Panasonic.AFPointPosition": (RATIONAL, "1/4 1/2")}, (36, 48, 0, 0)),
        (FOURTH | {"Fujifilm.FocusPoint": (SHORT, "30 40")}, (30, 40, 0, 0)),
    ],
)
def test_the_focus_area_is_left_top_width_height(tmp_path, exif, area):
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).focus_area_px == pytest.approx(area)


def test_the_focus_area_turns_with_the_picture(tmp_path):
    # Stored 144 x 96; orientation 6 turns it clockwise: the stored left edge comes to the top.
    exif = {"Photo.SubjectArea": (SHORT, "40 30 20 10"), "Image.Orientation": (SHORT, "6")}
    tags = read_tags(write_jpeg(tmp_path / "a.jpg", exif))
    assert (tags.width_px, tags.height_px) == (96, 144)
    assert tags.focus_area_px == pytest.approx((96 - 35, 30, 10, 20))


def test_a_picture_without_tags_has_a_size_and_nothing_else(tmp_path):
    tags = read_tags(write_jpeg(tmp_path / "a.jpg"))
    assert (tags.width_px, tags.height_px, tags.orientation) == (144, 96, 1)
    assert tags.taken_at is None and tags.camera is None and tags.focus_distance_m is None


def test_make_and_model_are_said_once(tmp_path):
    exif = {"Image.Make": (ASCII, "Maker Corp."), "Image.Model": (ASCII, "MAKER One")}
    assert read_tags(write_jpeg(tmp_path / "a.jpg", exif)).camera == "MAKER One"
    exif = {"Image.Make": (ASCII, "Maker Corp."), "Image.Model": (ASCII, "One")}
    assert read_tags(write_jpeg(tmp_path / "b.jpg", exif)).camera == "Maker Corp. One"


def test_a_raw_file_is_read_from_its_first_part(tmp_path):
    path = tmp_path / "a.dng"
    path.write_bytes(dng(drawn_rgb(64, 96)[..., 1].astype("u2") * 200, orientation=8) + bytes(3 << 20))
    tags = read_tags(path)
    assert (tags.width_px, tags.height_px, tags.orientation) == (64, 96, 8)
    assert tags.camera == "Drawn camera"


def test_tags_behind_the_first_part_of_a_jpeg_are_found(tmp_path):
    # 300 KiB of other segments before Exif: more than is read at first.
    with_exif = write_jpeg(tmp_path / "a.jpg", taken("2024:06:01 10:18:05", "5")).read_bytes()
    filling = (b"\xff\xed" + (65533).to_bytes(2, "big") + bytes(65531)) * 5
    path = tmp_path / "b.jpg"
    path.write_bytes(with_exif[:2] + filling + with_exif[2:])
    assert read_tags(path).taken_at == datetime(2024, 6, 1, 10, 18, 5, 500000)


def test_wrong_endings_do_not_hide_the_tags(tmp_path):
    path = write_jpeg(tmp_path / "a.jpg", taken("2024:06:01 10:18:05"))
    renamed = path.rename(tmp_path / "a.orf")
    assert read_tags(renamed).taken_at == datetime(2024, 6, 1, 10, 18, 5)


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("a.jpg", b"", "empty"),
        ("a.jpg", b"Dear diary, no dragonflies today.\n", "plain text"),
        ("a.jpg", bytes(4096), "nothing but zeros"),
        ("a.jpg", b"\xff\xd8\xff\xe0\0\x10JF", "damaged"),
        ("a.gif", b"GIF89a\x01\0\x01\0", "GIF"),
        ("a.orf", b"%PDF-1.7", "PDF"),
        ("a.orf", b"IIRO\x08\0\0\0", "damaged"),
    ],
)
def test_what_is_no_picture_is_named_in_one_sentence(tmp_path, name, data, words):
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(UnreadableFrame, match=words) as failure:
        read_tags(path)
    assert failure.value.path == path
    assert "\n" not in failure.value.reason


def test_a_file_that_is_gone_says_so(tmp_path):
    with pytest.raises(UnreadableFrame, match="no longer there"):
        read_tags(tmp_path / "a.jpg")


def test_nothing_is_printed_about_odd_tags(tmp_path, capfd):
    # A directory whose second entry points far outside the file: libexiv2 remarks on it unless told not to.
    path = write_jpeg(
        tmp_path / "a.jpg", {"Photo.FNumber": (RATIONAL, "28/10"), "Image.Make": (ASCII, "Maker and more")}
    )
    data = bytearray(path.read_bytes())
    at = data.index(b"\x0f\x01\x02\x00") + 8
    data[at : at + 4] = b"\xf0\xff\xff\x7f"
    path.write_bytes(bytes(data))
    read_tags(path)
    assert capfd.readouterr() == ("", "")


def test_files_are_left_as_they_were(tmp_path):
    write_jpeg(tmp_path / "a.jpg", taken("2024:06:01 10:18:05", "5"))
    (tmp_path / "b.png").write_bytes(png())
    (tmp_path / "c.dng").write_bytes(dng(drawn_rgb(64, 96)[..., 1].astype("u2") * 200, jpeg()))
    before = fingerprint(tmp_path)
    for path in before:
        path.chmod(0o444)
        read_tags(path)
    assert fingerprint(tmp_path) == before
