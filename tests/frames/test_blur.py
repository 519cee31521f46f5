"""Blur against point spreads of known variance, applied in light to sharp pictures, drawn and real."""

import csv
import io
from functools import cache

import cv2
import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from stillwing.frames.animal import measure_animal
from stillwing.frames.blur import at_full_size, measure_blur
from stillwing.frames.follow import Sighting
from stillwing.frames.measured import BlurKind, Box, Origin
from stillwing.frames.window import Window

from .drawn_blur import PIXEL, disc, line, photographed, sharp_cells, sharp_polygons, spread, whole
from .made_files import DATA, needs_data

LENS_PX = 0.45
"""The drawn lens's own Gaussian."""
LEARNT = 0.15
"""Three times the 5 % that the median of many readings may err: a single reading, on a texture that was not taught."""


@pytest.fixture(scope="module")
def cells():
    return sharp_cells(3)


@pytest.fixture(scope="module")
def polygons():
    return sharp_polygons(4)


def blur_of(picture, mask=None):
    return measure_blur(picture, whole(picture) if mask is None else mask).blur


def defocused(light, diameter_px, **camera):
    """Return the photographed picture and the blur's true standard deviation."""
    truth = np.sqrt((diameter_px / 4) ** 2 + LENS_PX**2 + PIXEL)
    return photographed(spread(light, disc(diameter_px)), LENS_PX, **camera), truth


def turn_between(a, b):
    """Return the angle between two directions, 0 to 90. [deg]"""
    return abs((a - b + 90) % 180 - 90)


# Size -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("noise_dn", [0.3, 5.0])
@pytest.mark.parametrize("diameter_px", [1.5, 4.0, 7.0, 12.0, 20.0])
def test_a_known_defocus_is_read_on_clean_and_noisy_pictures(cells, diameter_px, noise_dn):
    picture, truth = defocused(cells, diameter_px, noise_dn=noise_dn)
    found = blur_of(picture)
    assert found.blur_px == pytest.approx(truth, abs=0.1 + LEARNT * truth)
    assert found.blur_low_px < found.blur_px < found.blur_high_px


@pytest.mark.parametrize("diameter_px", [32.0, 40.0, 60.0])
def test_a_large_defocus_is_read_from_the_reduced_picture(cells, diameter_px):
    """8 to 15 px are beyond what the network was taught; halving brings them back into its range."""
    picture, truth = defocused(cells, diameter_px)
    assert blur_of(picture).blur_px == pytest.approx(truth, rel=0.2)


def test_most_truths_lie_inside_the_stated_interval(cells, polygons):
    inside = []
    for seed, light in enumerate((cells, polygons)):
        for diameter_px in (1.0, 2.0, 3.0, 5.0, 8.0, 11.0, 15.0, 22.0):
            picture, truth = defocused(light, diameter_px, noise_dn=2.0, seed=seed)
            found = blur_of(picture)
            inside.append(found.blur_low_px <= truth <= found.blur_high_px)
            # An interval that says nothing would hold every truth.
            assert found.blur_high_px < 2.2 * found.blur_low_px
    # 90 % are stated; 12 or fewer of 16 would come with a chance of 7 %.
    assert sum(inside) >= 12


@pytest.mark.parametrize("sigma_px", [0.6, 1.0, 1.6, 2.5, 4.0])
def test_a_known_gaussian_is_read_nearly_as_well(cells, sigma_px):
    """The network was taught discs and lines, as lenses and motion make them: a large Gaussian reads too sharp."""
    truth = np.hypot(sigma_px, PIXEL**0.5)
    assert blur_of(photographed(cells, sigma_px)).blur_px == pytest.approx(truth, abs=0.1 + LEARNT * truth)


def test_more_blur_gives_a_larger_figure_up_to_large_blurs(cells, polygons):
    for light in (cells, polygons):
        found = [blur_of(photographed(light, sigma)).blur_px for sigma in (0.5, 1, 2, 4, 8, 13)]
        assert found == sorted(found)
        assert found[-1] == pytest.approx(13, rel=0.3)


# Shape ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("length_px", [6.0, 15.0])
@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0, 135.0, 160.0])
def test_a_line_is_called_motion_and_its_direction_and_length_are_told(cells, angle_deg, length_px):
    found = blur_of(photographed(spread(cells, line(length_px, angle_deg)), LENS_PX))
    assert found.kind is BlurKind.MOTION
    assert 0 <= found.direction_deg < 180
    assert turn_between(found.direction_deg, angle_deg) < 15
    across = np.sqrt(LENS_PX**2 + PIXEL)
    along = np.hypot(across, length_px / np.sqrt(12))
    assert found.major_px == pytest.approx(along, rel=0.25)
    assert found.minor_px == pytest.approx(across, abs=0.3)


def test_the_direction_turns_with_the_picture(polygons):
    picture = photographed(spread(polygons, line(12, 25)), LENS_PX)
    for turned, want in ((picture.T, 65), (picture[:, ::-1], 155), (picture[::-1], 155), (picture[::-1, ::-1], 25)):
        found = blur_of(np.ascontiguousarray(turned))
        assert turn_between(found.direction_deg, want) < 15
        assert found.blur_px == pytest.approx(blur_of(picture).blur_px, rel=0.2)


def test_round_blur_has_no_direction(cells, polygons):
    given = []
    for light in (cells, polygons):
        for diameter_px in (1.0, 3.0, 6.0, 10.0, 18.0):
            found = blur_of(defocused(light, diameter_px)[0])
            given.append(found.direction_deg)
            assert found.kind is not BlurKind.MOTION
    assert sum(direction is None for direction in given) >= 8


@pytest.mark.parametrize(
    ("diameter_px", "length_px", "kind"), [(12, 3, "defocus"), (1, 14, "motion"), (0.5, 0.5, "sharp")]
)
def test_the_larger_cause_names_the_kind(cells, diameter_px, length_px, kind):
    light = spread(spread(cells, disc(diameter_px)), line(length_px, 60))
    assert blur_of(photographed(light, 0.3)).kind == kind


def test_the_round_figure_is_that_of_the_axes(cells):
    """The Gaussian of the same variance: blur^2 = (minor^2 + major^2) / 2."""
    for light in (cells, spread(cells, disc(7)), spread(cells, line(14, 70))):
        found = blur_of(photographed(light, LENS_PX))
        assert found.blur_px**2 == pytest.approx((found.minor_px**2 + found.major_px**2) / 2, rel=1e-6)
        assert found.minor_px <= found.major_px


# What must not fool it ------------------------------------------------------------------------------


def as_jpeg(picture, quality):
    buffer = io.BytesIO()
    Image.fromarray(picture).save(buffer, "JPEG", quality=quality)
    return np.asarray(Image.open(buffer))


def sharpened(picture, amount):
    value = picture.astype(float)
    return np.clip(value + amount * (value - ndimage.gaussian_filter(value, 1.0)), 0, 255).round().astype(np.uint8)


@pytest.fixture(scope="module")
def untreated(cells):
    """Give a function that returns a defocused picture and the blur that is read on it, made once for each diameter."""

    @cache
    def make(diameter_px):
        picture, _ = defocused(cells, diameter_px)
        return picture, blur_of(picture).blur_px

    return make


@pytest.mark.parametrize("diameter_px", [3.0, 8.0])
@pytest.mark.parametrize(
    "treat",
    [
        lambda picture: sharpened(picture, 0.5),
        lambda picture: sharpened(picture, 1.0),
        lambda picture: as_jpeg(picture, 95),
        lambda picture: as_jpeg(picture, 85),
        lambda picture: (picture * 0.5).astype(np.uint8),
        lambda picture: (picture * 0.6 + 90).astype(np.uint8),
    ],
    ids=["sharpened", "strongly sharpened", "JPEG 95", "JPEG 85", "darker", "flatter"],
)
def test_what_a_camera_does_afterwards_changes_the_figure_little(untreated, diameter_px, treat):
    picture, blur_px = untreated(diameter_px)
    assert blur_of(treat(picture)).blur_px == pytest.approx(blur_px, rel=0.12)


@pytest.mark.parametrize("diameter_px", [3.0, 8.0])
def test_dark_shapes_on_light_read_like_light_ones_on_dark(cells, polygons, diameter_px):
    """The scene is inverted in light: turning round the tone values of a picture is nothing that a camera does."""
    for light in (cells, polygons):
        picture, truth = defocused(light, diameter_px)
        inverted, _ = defocused(light.max() + light.min() - light, diameter_px)
        assert blur_of(inverted).blur_px == pytest.approx(blur_of(picture).blur_px, rel=0.12)
        assert blur_of(inverted).blur_px == pytest.approx(truth, abs=0.1 + LEARNT * truth)


@pytest.mark.parametrize("noise_dn", [4.0, 10.0])
def test_noise_is_not_taken_for_sharpness(cells, noise_dn):
    clean, noisy = (blur_of(defocused(cells, 10.0, noise_dn=noise)[0]) for noise in (0.5, noise_dn))
    assert noisy.blur_px == pytest.approx(clean.blur_px, rel=0.15)


def test_sharp_surroundings_do_not_make_a_soft_animal_sharp(cells):
    soft, sharp = photographed(cells, 4.0), photographed(cells[:, ::-1], 0.5)
    mask = np.zeros(soft.shape, np.uint8)
    cv2.ellipse(mask, (280, 210), (180, 120), 0, 0, 360, 255, -1)
    # The animal's own edge is as soft as the animal.
    cover = cv2.GaussianBlur(mask, (0, 0), 4.0) / 255
    picture = (cover * soft + (1 - cover) * sharp).round().astype(np.uint8)
    found = blur_of(picture, mask)
    assert found.blur_px > 2.5
    assert found.kind is not BlurKind.SHARP
    assert blur_of(picture, 255 - mask).blur_px < 1.2


def test_a_soft_background_does_not_make_a_sharp_animal_soft(cells):
    sharp, soft = photographed(cells, 0.5), photographed(cells[:, ::-1], 6.0)
    mask = np.zeros(soft.shape, np.uint8)
    cv2.ellipse(mask, (280, 210), (120, 70), 20, 0, 360, 255, -1)
    picture = np.where(mask > 0, sharp, soft)
    assert blur_of(picture, mask).blur_px < 1.0


# Edges of what can be read --------------------------------------------------------------------------


@pytest.mark.parametrize("level", [0, 90, 255])
def test_nothing_is_said_of_a_plain_region(level):
    plain = np.full((200, 200), level, np.uint8)
    assert measure_blur(plain, whole(plain)) is None


@pytest.mark.parametrize("shape", [(0, 0), (1, 1), (10, 300), (23, 23), (300, 10)])
def test_nothing_is_said_of_a_tiny_region(shape):
    picture = np.random.default_rng(0).integers(0, 255, shape, dtype=np.uint8)
    assert measure_blur(picture, whole(picture)) is None


def test_nothing_is_said_without_an_animal(cells):
    picture = photographed(cells, 1.0)
    assert measure_blur(picture, np.zeros_like(picture)) is None


@pytest.mark.parametrize("shape", [(24, 24), (25, 999), (999, 25), (65, 63), (64, 64), (301, 173)])
def test_odd_sizes_give_finite_figures_of_the_patches_in_the_region(shape):
    picture = ndimage.gaussian_filter(np.random.default_rng(0).uniform(0, 255, shape), 5).astype(np.uint8)
    reading = measure_blur(cv2.equalizeHist(picture), whole(picture))
    if reading is not None:
        blur = reading.blur
        assert 0 < blur.blur_low_px <= blur.blur_px <= blur.blur_high_px < 100
        assert len(reading.each_px) == len(reading.centres) > 0
        assert (reading.centres >= 0).all()


def test_reducing_and_reading_back_gives_the_same_variance():
    # A Gaussian of 3 px on pixels of 1 has variance 9 + 1/12; reduced by 2 it is (9 + 4/12) / 4 of the larger pixels.
    assert at_full_size(np.sqrt((9 + 4 / 12) / 4), 2) == pytest.approx(np.sqrt(9 + 1 / 12))
    assert at_full_size(1.7, 1) == pytest.approx(1.7)


@pytest.fixture(scope="module")
def half_soft(cells):
    """Sharp left of the middle, defocused right of it: figures left, right and of the whole, and truth on the right."""
    sharp, (soft, truth) = photographed(cells, LENS_PX), defocused(cells, 12.0)
    picture = np.where(np.arange(sharp.shape[1]) < 280, sharp, soft)
    reading = measure_blur(picture, whole(picture))
    x = reading.centres[:, 0]
    # Patches across the middle hold some of both.
    return reading.each_px[x < 240], reading.each_px[x > 320], reading.blur, truth


def test_patches_tell_which_part_is_soft(half_soft):
    left, right, found, _ = half_soft
    assert len(left) >= 3 and len(right) >= 3
    assert left.max() < right.min()
    sharp_px = np.hypot(LENS_PX, PIXEL**0.5)
    assert left == pytest.approx(sharp_px, abs=0.1 + LEARNT * sharp_px)
    # The sharpest fifth speaks for the animal.
    assert found.blur_px == pytest.approx(sharp_px, abs=0.1 + LEARNT * sharp_px)


def test_patches_of_an_animal_that_is_soft_all_over_have_its_blur(cells):
    picture, truth = defocused(cells, 12.0)
    assert np.median(measure_blur(picture, whole(picture)).each_px) == pytest.approx(truth, rel=LEARNT)


@pytest.mark.xfail(
    reason="beside patches of 0.5 px those of 3.1 px read 1.7 to 2.0: the network looks at them together, and was"
    " taught animals whose parts differ less",
    raises=AssertionError,
    strict=True,
)
def test_soft_patches_beside_sharp_ones_have_their_own_blur(half_soft):
    _, right, _, truth = half_soft
    assert np.median(right) == pytest.approx(truth, rel=LEARNT)


# Real pictures --------------------------------------------------------------------------------------


@cache
def labelled(file):
    """Return the animal's surroundings, half a box each way, and its box in them."""
    with (DATA / "labels.csv").open(newline="") as table:
        row = next(row for row in csv.DictReader(table) if row["file"] == file and row["part"] == "animal")
    x, y, w, h = (float(row[key]) for key in "xywh")
    left, top = max(round(x - w / 2), 0), max(round(y - h / 2), 0)
    picture = cv2.imread(str(DATA / file), cv2.IMREAD_GRAYSCALE)
    return picture[top : round(y + 1.5 * h), left : round(x + 1.5 * w)].copy(), Box(x - left, y - top, w, h)


def blur_within(picture, box):
    """Return the blur within the outline: a box holds defocused background too, and that is no animal."""
    return measure_animal(Window.whole(picture), Sighting(box, 1.0, Origin.DRAWN, 0)).blur


def blurred_in_light(picture, spread_by):
    """Return the picture blurred in linear light, as a lens does."""
    light = (picture / np.float32(255)) ** 2.2
    return (255 * np.clip(spread_by(light), 0, 1) ** (1 / 2.2)).round().astype(np.uint8)


def pixel_disc(diameter_px):
    """Return a disc by the share of each pixel that it covers."""
    reach = int(np.ceil(diameter_px / 2)) + 1
    at = (np.arange((2 * reach + 1) * 16) + 0.5) / 16 - reach - 0.5
    inside = np.hypot(at[None], at[:, None]) < diameter_px / 2
    kernel = inside.reshape(2 * reach + 1, 16, 2 * reach + 1, 16).mean((1, 3))
    return kernel / kernel.sum()


def by_disc(sigma_px):
    kernel = pixel_disc(4 * sigma_px)
    return lambda light: cv2.filter2D(light, -1, kernel, borderType=cv2.BORDER_REFLECT)


def by_gaussian(sigma_px):
    return lambda light: ndimage.gaussian_filter(light, sigma_px)


STILLS = ["stills/nuthatch.jpg", "stills/dragonfly.jpg", "exif/05.jpg"]
WITHIN = 0.1
"""Of the sum of variances, on real pictures."""


def added(short_of):
    """Every picture with every blur added; where the figure is known to miss, that is the reason of the failure."""
    cases = []
    for file in STILLS:
        for sigma_px in (1.0, 2.0, 4.0):
            why = short_of.get((file, sigma_px))
            marks = pytest.mark.xfail(reason=why, raises=AssertionError, strict=True) if why else ()
            cases.append(pytest.param(file, sigma_px, marks=marks))
    return cases


@needs_data
@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "sigma_px"),
    added(
        {
            (
                "stills/nuthatch.jpg",
                1.0,
            ): "reads 15 % too soft, 1.4 px for 1.2; its own blur has an interval of 0.5 to 1.1",
            ("stills/nuthatch.jpg", 2.0): "reads 12 % too soft, 2.4 px for 2.1",
            ("stills/nuthatch.jpg", 4.0): "reads 17 % too soft, 4.8 px for 4.1, at half size; at full size 4.2",
            ("stills/dragonfly.jpg", 2.0): "reads 17 % too sharp, 1.8 px for 2.1",
            (
                "stills/dragonfly.jpg",
                4.0,
            ): "reads 32 % too sharp, 2.8 px for 4.1; the interval, 1.6 to 4.8, holds the truth",
        }
    ),
)
def test_defocusing_a_real_picture_adds_its_variance(file, sigma_px):
    assert_adds(file, sigma_px, by_disc(sigma_px))


@needs_data
@pytest.mark.slow
@pytest.mark.parametrize(
    ("file", "sigma_px"),
    added(
        {
            ("stills/dragonfly.jpg", 2.0): "reads 26 % too sharp, as with a disc",
            ("stills/dragonfly.jpg", 4.0): "reads 21 % too sharp, as with a disc",
            ("exif/05.jpg", 4.0): "reads 17 % too sharp",
        }
    ),
)
def test_a_gaussian_on_a_real_picture_adds_its_variance(file, sigma_px):
    assert_adds(file, sigma_px, by_gaussian(sigma_px))


def assert_adds(file, sigma_px, spread_by):
    picture, box = labelled(file)
    want = np.hypot(blur_within(picture, box).blur_px, sigma_px)
    assert blur_within(blurred_in_light(picture, spread_by), box).blur_px == pytest.approx(want, rel=WITHIN)


@needs_data
@pytest.mark.slow
@pytest.mark.parametrize("by", [by_disc, by_gaussian])
@pytest.mark.parametrize("file", STILLS)
def test_a_real_picture_blurred_further_is_never_read_sharper(file, by):
    picture, box = labelled(file)
    pictures = [picture, *(blurred_in_light(picture, by(sigma_px)) for sigma_px in (1.0, 2.0, 4.0))]
    found = [blur_within(one, box).blur_px for one in pictures]
    assert found == sorted(found)
