"""The sensor's size from tags: what cameras wrote, and what software leaves behind."""

import math

import pytest
from PIL import Image

from stillwing.frames.exif import read_exif
from stillwing.frames.sensortags import FULL_DIAGONAL_MM, pixels_told, sensor_told
from stillwing.frames.told import Sure

from .made_files import DATA, RATIONAL, SHORT, needs_data, write_jpeg

EXIF_IFD = 0x8769
PIXELS = (5184, 3888)
LONG = "unsignedLong"


@pytest.fixture
def exif_of(tmp_path):
    """Give a function that writes tags into a picture and reads them back."""

    def write(**tags):
        kinds = {
            "FocalPlaneXResolution": RATIONAL,
            "FocalPlaneYResolution": RATIONAL,
            "FocalPlaneResolutionUnit": SHORT,
            "FocalLengthIn35mmFilm": SHORT,
            "DigitalZoomRatio": RATIONAL,
            "PixelXDimension": LONG,
            "PixelYDimension": LONG,
        }
        path = write_jpeg(tmp_path / "a.jpg", {f"Photo.{name}": (kinds[name], text) for name, text in tags.items()})
        return read_exif(path.read_bytes())

    return write


def density(x, y=None, unit="3"):
    return {"FocalPlaneXResolution": x, "FocalPlaneYResolution": y or x, "FocalPlaneResolutionUnit": unit}


def test_the_diagonal_of_full_format_is_43_27_mm():
    assert pytest.approx(43.27, abs=0.005) == FULL_DIAGONAL_MM


@pytest.mark.parametrize(
    ("x", "unit"),
    [("2979/1", "3"), ("7567/1", "2"), ("2979/10", "4"), ("29793/100000", "5")],
    ids=["cm", "inch", "mm", "micrometre"],
)
def test_pixels_per_unit_tell_the_size_exactly(exif_of, x, unit):
    # 5184 px over 17.4 mm are 2979 px/cm and 7567 px/inch.
    told, remarks = sensor_told(exif_of(**density(x, unit=unit)), PIXELS, 300.0)
    assert told.value == pytest.approx((17.4, 13.05), abs=0.01)
    assert (told.tag, told.sure, remarks) == ("FocalPlaneXResolution", Sure.EXACT, ())


def test_a_unit_that_is_absent_is_the_inch(exif_of):
    # Exif 2.32: the default of FocalPlaneResolutionUnit is 2.
    tags = density("7567/1")
    del tags["FocalPlaneResolutionUnit"]
    assert sensor_told(exif_of(**tags), PIXELS, None)[0].value == pytest.approx((17.4, 13.05), abs=0.01)


@pytest.mark.parametrize("x", ["0/1", "0/0", "1/0"])
def test_a_resolution_of_nothing_tells_nothing(exif_of, x):
    told, remarks = sensor_told(exif_of(**density(x)), PIXELS, 300.0)
    assert (told, remarks) == (None, ())
    told, _ = sensor_told(exif_of(**density(x), FocalLengthIn35mmFilm="600"), PIXELS, 300.0)
    assert told.tag == "FocalLengthIn35mmFilm"


@pytest.mark.parametrize(
    ("tags", "said"),
    [
        (density("2979/1", "1500/1"), "contradict themselves"),
        (density("2979/1", unit="9"), "contradict themselves"),
        (density("300/1", unit="2"), "says 439 x 329 mm, which no sensor has"),
    ],
)
def test_a_resolution_that_no_sensor_has_is_told_and_not_believed(exif_of, tags, said):
    told, remarks = sensor_told(exif_of(**tags), PIXELS, None)
    assert told is None
    assert said in remarks[0]


@pytest.mark.parametrize(("focal_mm", "equivalent", "diagonal_mm"), [(300.0, "600", 21.63), (100.0, "150", 28.84)])
def test_the_equivalent_focal_length_tells_the_diagonal_rounded(exif_of, focal_mm, equivalent, diagonal_mm):
    told, _ = sensor_told(exif_of(FocalLengthIn35mmFilm=equivalent), PIXELS, focal_mm)
    assert math.hypot(*told.value) == pytest.approx(diagonal_mm, abs=0.01)
    assert told.value[0] / told.value[1] == pytest.approx(4 / 3, abs=0.002)
    assert (told.tag, told.sure) == ("FocalLengthIn35mmFilm", Sure.ROUNDED)


def test_an_equivalent_of_0_is_not_known(exif_of):
    # Exif 2.32: "0" means that the equivalent focal length is unknown.
    assert sensor_told(exif_of(FocalLengthIn35mmFilm="0"), PIXELS, 300.0) == (None, ())
    assert sensor_told(exif_of(FocalLengthIn35mmFilm="600"), PIXELS, None) == (None, ())


def test_two_tags_that_agree_give_the_exact_one(exif_of):
    told, remarks = sensor_told(exif_of(**density("2979/1"), FocalLengthIn35mmFilm="600"), PIXELS, 300.0)
    assert (told.sure, remarks) == (Sure.EXACT, ())


def test_a_copy_made_smaller_is_noticed(exif_of):
    # Half of the pixels, and the resolution of the whole: 8.7 mm, if one believed it.
    told, remarks = sensor_told(exif_of(**density("2979/1"), FocalLengthIn35mmFilm="600"), (2592, 1944), 300.0)
    assert told.value == pytest.approx((17.3, 12.98), abs=0.01)
    assert told.sure is Sure.ROUNDED
    assert remarks == (
        "FocalPlaneXResolution says 8.7 x 6.5 mm, FocalLengthIn35mmFilm says 17.3 x 13.0 mm, which is taken; "
        "the picture may be a smaller copy: read the camera's own file",
    )


def test_a_picture_enlarged_in_the_camera_tells_nothing(exif_of):
    told, remarks = sensor_told(exif_of(**density("2979/1"), DigitalZoomRatio="2/1"), PIXELS, 300.0)
    assert told is None
    assert "enlarged in the camera, 2 times" in remarks[0]
    assert sensor_told(exif_of(**density("2979/1"), DigitalZoomRatio="0/100"), PIXELS, 300.0)[0] is not None


@pytest.mark.parametrize(
    ("picture", "tagged", "pixels", "tag"),
    [
        ((5184, 3888), None, (5184, 3888), "the picture itself"),
        ((3888, 5184), None, (5184, 3888), "the picture itself"),
        ((1600, 1200), (5184, 3888), (5184, 3888), "PixelXDimension"),
        ((5184, 3888), (160, 120), (5184, 3888), "the picture itself"),
        ((None, None), (3888, 5184), (5184, 3888), "PixelXDimension"),
    ],
)
def test_the_pixels_are_those_of_the_whole_sensor_lying(exif_of, picture, tagged, pixels, tag):
    tags = dict(zip(("PixelXDimension", "PixelYDimension"), map(str, tagged), strict=True)) if tagged else {}
    told = pixels_told(exif_of(**tags), *picture)
    assert (told.value, told.tag, told.sure) == (pixels, tag, Sure.EXACT)


def test_pixels_that_nothing_tells_are_not_made_up(exif_of):
    assert pixels_told(exif_of(), None, None) is None


@needs_data
@pytest.mark.parametrize(
    ("name", "width_mm", "sure"),
    [("exif/01.jpg", 22.30, Sure.EXACT), ("exif/02.jpg", 7.68, Sure.EXACT), ("exif/06.jpg", 23.97, Sure.ROUNDED)],
)
def test_a_camera_s_own_tags_give_what_another_library_reads(name, width_mm, sure):
    with Image.open(DATA / name) as image:
        by_pillow = image.getexif().get_ifd(EXIF_IFD)
    if sure is Sure.EXACT:
        unit_mm = {2: 25.4, 3: 10.0}[by_pillow[0xA210]]
        width = by_pillow[0xA002] / float(by_pillow[0xA20E]) * unit_mm
    else:
        diagonal = math.hypot(36, 24) * float(by_pillow[0x920A]) / by_pillow[0xA405]
        width = diagonal * math.cos(math.atan2(by_pillow[0xA003], by_pillow[0xA002]))
    assert width == pytest.approx(width_mm, abs=0.01)
    exif = read_exif((DATA / name).read_bytes())
    told, remarks = sensor_told(exif, pixels_told(exif, *exif.size_px).value, exif.number("Photo.FocalLength", 1, 999))
    assert told.value[0] == pytest.approx(width, abs=0.01)
    assert (told.sure, remarks) == (sure, ())


@needs_data
def test_a_maker_s_own_diagonal_is_used_where_nothing_else_tells():
    exif = read_exif((DATA / "exif/07.jpg").read_bytes())
    told, _ = sensor_told(exif, (1984, 1488), 10.37)
    assert math.hypot(*told.value) == pytest.approx(6.91, abs=0.01)  # as libexiv2 prints it: 691/100
    assert (told.tag, told.sure) == ("FocalPlaneDiagonal", Sure.ROUNDED)
