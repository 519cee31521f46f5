"""Blur against point spreads that scipy and analytic kernels apply to sharp pictures."""

import os
from pathlib import Path

import cv2
import numpy as np
import pytest
from scipy import ndimage
from scipy.spatial import cKDTree

from stillwing.frames.blur import at_full_size, measure_blur
from stillwing.frames.measured import BlurKind

DATA = Path(os.environ.get("STILLWING_DATA", "../shared/data"))
PIXEL = 1 / 12


def sharp_cells(seed, rows=420, cols=560, oversampling=4):
    """A picture of cells with sharp edges, oversampled, so that its own blur is that of the pixel alone."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 1, (220, 2)) * [rows * oversampling, cols * oversampling]
    y, x = np.mgrid[0 : rows * oversampling : 1, 0 : cols * oversampling : 1]
    _, cell = cKDTree(points).query(np.stack([y.ravel(), x.ravel()], 1))
    tone = rng.uniform(0.02, 0.8, len(points))
    return tone[cell].reshape(y.shape).astype(np.float32)


def photographed(linear, sigma_px, noise_dn=1.5, oversampling=4, seed=0):
    """The oversampled picture after a Gaussian, the pixel's box, a tone curve and noise."""
    blurred = ndimage.gaussian_filter(linear, sigma_px * oversampling)
    rows, cols = blurred.shape[0] // oversampling, blurred.shape[1] // oversampling
    pixels = blurred.reshape(rows, oversampling, cols, oversampling).mean((1, 3))
    value = 255 * np.clip(pixels, 0, 1) ** (1 / 2.2) + np.random.default_rng(seed).normal(0, noise_dn, pixels.shape)
    return np.clip(value, 0, 255).round().astype(np.uint8)


@pytest.fixture(scope="module")
def cells():
    return sharp_cells(3)


def whole(picture):
    return np.full(picture.shape, 255, np.uint8)


def disc(diameter_px, oversampling=4):
    """A disc as a kernel at the oversampled size."""
    reach = int(np.ceil(diameter_px * oversampling / 2)) + 1
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    kernel = np.clip(diameter_px * oversampling / 2 - np.hypot(x, y) + 0.5, 0, 1)
    return (kernel / kernel.sum()).astype(np.float32)


@pytest.mark.parametrize("diameter_px", [1.5, 4.0, 7.0, 12.0, 20.0])
def test_a_known_defocus_is_read_within_the_stated_accuracy(cells, diameter_px):
    picture = photographed(cv2.filter2D(cells, -1, disc(diameter_px)), 0.45)
    # Disc of diameter c: sigma c / 4; Gaussian of the lens; the pixel's own box.
    truth = np.sqrt((diameter_px / 4) ** 2 + 0.45**2 + PIXEL)
    found = measure_blur(picture, whole(picture)).blur
    assert found.blur_px == pytest.approx(truth, abs=0.15 + 0.1 * truth)
    assert found.blur_low_px < found.blur_px < found.blur_high_px


@pytest.mark.parametrize("sigma_px", [0.6, 1.0, 1.6, 2.5, 4.0])
def test_a_known_gaussian_is_read_nearly_as_well(cells, sigma_px):
    picture = photographed(cells, sigma_px)
    assert measure_blur(picture, whole(picture)).blur.blur_px == pytest.approx(np.hypot(sigma_px, PIXEL**0.5), rel=0.25)


def test_more_blur_gives_a_larger_figure_up_to_large_blurs(cells):
    found = [measure_blur(p, whole(p)).blur.blur_px for p in (photographed(cells, s) for s in (0.5, 1, 2, 4, 8, 13))]
    assert found == sorted(found)
    assert found[-1] == pytest.approx(13, rel=0.3)


@pytest.mark.parametrize("angle_deg", [20.0, 90.0, 150.0])
def test_a_line_is_called_motion_and_its_direction_is_told(cells, angle_deg):
    size, length = 121, 60
    line = np.zeros((size, size), np.float32)
    half = length / 2 * np.array([np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))])
    a, b = (np.array([60, 60]) + sign * half for sign in (-1, 1))
    cv2.line(line, *(tuple(round(float(v) * 16) for v in end) for end in (a, b)), 1.0, 2, cv2.LINE_AA, 4)
    moved = cv2.filter2D(cells, -1, line / line.sum())
    found = measure_blur(photographed(moved, 0.5), np.full((420, 560), 255, np.uint8)).blur
    assert found.kind is BlurKind.MOTION
    assert abs((found.direction_deg - angle_deg + 90) % 180 - 90) < 15
    assert found.major_px > 2 * found.minor_px


def test_defocus_is_no_motion(cells):
    picture = photographed(cv2.filter2D(cells, -1, disc(10.0)), 0.4)
    found = measure_blur(picture, whole(picture)).blur
    assert found.kind is BlurKind.DEFOCUS
    assert found.direction_deg is None or found.major_px < 1.35 * found.minor_px


def test_sharp_surroundings_do_not_make_a_soft_animal_sharp(cells):
    soft, sharp = photographed(cells, 4.0), photographed(cells[:, ::-1], 0.5)
    mask = np.zeros(soft.shape, np.uint8)
    cv2.ellipse(mask, (280, 210), (180, 120), 0, 0, 360, 255, -1)
    # The animal's own edge is as soft as the animal.
    cover = cv2.GaussianBlur(mask, (0, 0), 4.0) / 255
    picture = (cover * soft + (1 - cover) * sharp).round().astype(np.uint8)
    assert measure_blur(picture, mask).blur.blur_px > 2.5
    assert measure_blur(picture, 255 - mask).blur.blur_px < 1.2


def test_nothing_is_said_of_a_plain_or_tiny_region():
    assert measure_blur(np.full((200, 200), 90, np.uint8), np.full((200, 200), 255, np.uint8)) is None
    assert measure_blur(np.full((10, 300), 90, np.uint8), np.full((10, 300), 255, np.uint8)) is None


def test_reducing_and_reading_back_gives_the_same_variance():
    # A Gaussian of 3 px on pixels of 1 has variance 9 + 1/12; reduced by 2 it is (9 + 4/12) / 4 of the larger pixels.
    assert at_full_size(np.sqrt((9 + 4 / 12) / 4), 2) == pytest.approx(np.sqrt(9 + 1 / 12))


@pytest.mark.slow
@pytest.mark.skipif(not (DATA / "exif").is_dir(), reason="the shared pictures are not here (STILLWING_DATA)")
@pytest.mark.parametrize("sigma_px", [1.0, 2.0])
def test_blurring_a_real_picture_raises_its_blur_as_the_sum_of_variances(sigma_px):
    picture = cv2.imread(str(DATA / "exif" / "05.jpg"), cv2.IMREAD_GRAYSCALE)[330:1047, 540:1752]
    before = measure_blur(picture, whole(picture)).blur.blur_px
    # Blurred in linear light, as a lens does.
    linear = (picture / 255.0) ** 2.2
    after = (255 * ndimage.gaussian_filter(linear, sigma_px) ** (1 / 2.2)).round().astype(np.uint8)
    found = measure_blur(after, whole(after)).blur.blur_px
    assert found == pytest.approx(np.hypot(before, sigma_px), rel=0.15)
