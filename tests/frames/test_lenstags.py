"""The lens by its tags: the standard's four numbers first, makers' own next, the setting used last."""

import pytest

from stillwing.frames.exif import read_exif
from stillwing.frames.lenstags import focal_range_told, widest_told
from stillwing.frames.told import Sure, Told

from .made_files import ASCII, DATA, RATIONAL, SHORT, needs_data, write_jpeg


@pytest.fixture
def exif_of(tmp_path):
    """Give a function that writes tags into a picture and reads them back."""

    def write(tags):
        return read_exif(write_jpeg(tmp_path / "a.jpg", tags).read_bytes())

    return write


def specification(text):
    return {"Photo.LensSpecification": (RATIONAL, text)}


MAKES = {"CanonCs": "Canon", "OlympusEq": "OLYMPUS CORPORATION"}
"""Without the maker's name in its own tag, libexiv2 does not read the maker's notes."""

LONG_ZOOM = "75/1 300/1 48/10 67/10"


@pytest.mark.parametrize("key", ["Photo.LensSpecification", "Image.LensInfo"])
def test_the_four_numbers_tell_range_and_apertures(exif_of, key):
    exif = exif_of({key: (RATIONAL, LONG_ZOOM)})
    focal = focal_range_told(exif, 210.0)
    assert focal == Told((75.0, 300.0), key.partition(".")[2], Sure.EXACT)
    assert widest_told(exif, focal, 210.0, 8.0) == (Told((4.8, 6.7), key.partition(".")[2], Sure.EXACT), ())


@pytest.mark.parametrize("wrong", ["0/1 0/1 0/1 0/1", "300/1 75/1 48/10 67/10", "0/0 0/0 0/0 0/0", "75/1 300/1"])
def test_four_numbers_that_no_lens_has_are_passed_over(exif_of, wrong):
    exif = exif_of(specification(wrong))
    assert focal_range_told(exif, 210.0) == Told((210.0, 210.0), "FocalLength", Sure.ONE_SETTING)
    assert focal_range_told(exif, None) is None


def test_apertures_that_are_not_known_leave_the_range_known(exif_of):
    # Exif 2.32: an unknown f-number is written 0/0.
    exif = exif_of(specification("75/1 300/1 0/0 0/0"))
    focal = focal_range_told(exif, 210.0)
    assert focal.value == (75.0, 300.0)
    assert widest_told(exif, focal, 210.0, 8.0) == (None, ())


@pytest.mark.parametrize(("apex", "f_number"), [("5/1", 5.66), ("4/1", 4.0), ("3/1", 2.83), ("1/1", 1.41)])
def test_max_aperture_value_is_apex(exif_of, apex, f_number):
    # Exif 2.32, annex C: Av = 2 log2 N.
    exif = exif_of(specification("300/1 300/1 0/0 0/0") | {"Photo.MaxApertureValue": (RATIONAL, apex)})
    told, _ = widest_told(exif, focal_range_told(exif, 300.0), 300.0, 22.0)
    assert told == Told((f_number, f_number), "MaxApertureValue", Sure.ROUNDED)


def test_the_widest_at_one_setting_is_not_taken_for_the_ends_of_a_zoom(exif_of):
    exif = exif_of(specification("75/1 300/1 0/0 0/0") | {"Photo.MaxApertureValue": (RATIONAL, "5/1")})
    told, remarks = widest_told(exif, focal_range_told(exif, 150.0), 150.0, 8.0)
    assert told is None
    assert remarks == ("the widest aperture is f/5.7 at 150 mm; what it is at the ends is not told",)


def test_a_lens_known_by_one_setting_only_says_so(exif_of):
    exif = exif_of({"Photo.MaxApertureValue": (RATIONAL, "4/1")})
    focal = focal_range_told(exif, 150.0)
    assert widest_told(exif, focal, 150.0, 8.0)[0] == Told((4.0, 4.0), "MaxApertureValue", Sure.ONE_SETTING)


def test_a_widest_aperture_narrower_than_the_one_used_is_not_believed(exif_of):
    exif = exif_of({"Photo.MaxApertureValue": (RATIONAL, "5/1")})
    told, remarks = widest_told(exif, focal_range_told(exif, 150.0), 150.0, 4.0)
    assert told is None
    assert remarks == ("MaxApertureValue says that f/5.7 is the widest aperture, but f/4 was used",)
    # A sixth of a stop is rounding: f/5.6 is marked where f/5.66 is meant.
    assert widest_told(exif, focal_range_told(exif, 150.0), 150.0, 5.6)[0] is not None


@pytest.mark.parametrize(
    ("tags", "focal_mm"),
    [
        ({"CanonCs.Lens": (SHORT, "300 75 1")}, (75.0, 300.0)),
        ({"CanonCs.Lens": (SHORT, "600 150 2")}, (75.0, 300.0)),
        ({"OlympusEq.MinFocalLength": (SHORT, "75"), "OlympusEq.MaxFocalLength": (SHORT, "300")}, (75.0, 300.0)),
    ],
)
def test_makers_own_tags_tell_the_range(exif_of, tags, focal_mm):
    exif = exif_of({"Image.Make": (ASCII, MAKES[next(iter(tags)).partition(".")[0]])} | tags)
    assert focal_range_told(exif, 100.0) == Told(focal_mm, "maker's lens tag", Sure.EXACT)


@pytest.mark.parametrize("units", ["300 75 0", "0 0 1", "75 300 1"])
def test_a_maker_s_range_of_nothing_is_passed_over(exif_of, units):
    exif = exif_of({"Image.Make": (ASCII, MAKES["CanonCs"]), "CanonCs.Lens": (SHORT, units)})
    assert focal_range_told(exif, 100.0).sure is Sure.ONE_SETTING


@needs_data
@pytest.mark.parametrize(
    ("name", "key", "printed", "focal_mm", "widest"),
    [
        ("exif/01.jpg", "CanonCs.Lens", "70.0 - 200.0 mm", (70.0, 200.0), None),
        ("exif/06.jpg", "Nikon3.Lens", "18-55mm F3.5-5.6", (18.0, 55.0), (3.5, 5.6)),
        ("exif/09.nef", "Nikon3.Lens", "50mm F1.8", (50.0, 50.0), (1.8, 1.8)),
    ],
)
def test_a_camera_s_file_tells_the_lens_that_libexiv2_prints(name, key, printed, focal_mm, widest):
    exif = read_exif((DATA / name).read_bytes())
    assert exif.printed(key) == printed
    focal = focal_range_told(exif, 50.0)
    assert (focal.value, focal.sure) == (focal_mm, Sure.EXACT)
    told, _ = widest_told(exif, focal, 50.0, None)
    assert (None if told is None else told.value) == widest
