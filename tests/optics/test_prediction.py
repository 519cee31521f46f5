"""What a setting is said to blur is what point spreads, photons and bodies drawn at random give."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stillwing.optics.diffraction import airy_diameter, airy_mtf
from stillwing.optics.focus import blur_disc
from stillwing.optics.prediction import (
    SHARPEST_SHARE,
    animal_variances,
    blur_ratio,
    camera_variance,
    depth_variance,
    diffraction_variance,
    motion_variance,
    output_snr,
    sharpest_distance,
)
from stillwing.optics.spread import MOSAIC_VARIANCE
from stillwing.scene.lens import kernel, kernel_covariance

from .posed import CAMERA, HAWKER, KIT, hawker_at, log_floats

STAND = np.zeros((2, 2))
SOFT_PX = 1.0
"""The drawn spreads are softened by this much, so that sampling does not show; its variance is taken out again."""


def one(value):
    return np.array([value], np.float64)


# Each cause against its own law, and against a drawn point spread


@given(log_floats(1.3, 200), st.floats(6.7, 22), log_floats(0.1, 200))
def test_defocus_is_that_of_a_disc_before_and_behind(distance_m, f_number, off_mm):
    q = hawker_at(distance_m)
    s, f, pitch = float(q.focus_distance_mm[0]), float(q.focal_length_mm[0]), float(q.pitch_mm[0])
    near, far = (float(blur_disc(s + way * off_mm, s, f, f_number)) / pitch for way in (-1, 1))
    predicted = math.sqrt(float(depth_variance(q, one(off_mm), one([f_number]))[0, 0]))
    assert far / 4 <= predicted <= near / 4
    # A disc of diameter c has a variance of (c/4)^2 along either axis; the mean of both ways differs by (off/s)^2.
    assert predicted == pytest.approx((near + far) / 8, rel=1.1 * (off_mm / s) ** 2 + 1e-9)


@pytest.mark.parametrize("off_mm", [5.0, 20.0])
def test_defocus_is_the_spread_of_a_drawn_disc(off_mm):
    q = hawker_at(3.0)
    s, f = float(q.focus_distance_mm[0]), float(q.focal_length_mm[0])
    disc_px = float(blur_disc(s + off_mm, s, f, 8.0)) / float(q.pitch_mm[0])
    drawn = np.trace(kernel_covariance(kernel(disc_px, SOFT_PX, STAND))) / 2 - SOFT_PX**2
    assert float(depth_variance(q, one(off_mm), one([8.0]))[0, 0]) == pytest.approx(drawn, rel=0.03)


def test_a_converter_spreads_the_same_disc_over_more_pixels():
    bare, longer = hawker_at(3.0), hawker_at(3.0, replace(KIT, teleconverter=1.4))
    # The same hole of glass: f/8 with the converter off, f/11.2 with it on.
    off = float(depth_variance(bare, one(10.0), one([8.0]))[0, 0])
    assert float(depth_variance(longer, one(10.0), one([11.2]))[0, 0]) == pytest.approx(1.4**2 * off)


@pytest.mark.parametrize("length_px", [1.0, 6.0, 30.0])
@pytest.mark.parametrize("direction_deg", [0.0, 30.0, 90.0])
def test_motion_is_the_spread_of_a_drawn_path(length_px, direction_deg):
    turned = math.radians(direction_deg)
    path = np.linspace(-0.5, 0.5, 200)[:, None] * length_px * np.array([math.cos(turned), math.sin(turned)])
    drawn = np.trace(kernel_covariance(kernel(0.0, SOFT_PX, path))) / 2 - SOFT_PX**2
    pitch, exposure = 0.004, 1 / 2000
    predicted = motion_variance(one(length_px * pitch / exposure), one(pitch), one(exposure))
    # Places are drawn between four points a fifth of a pixel apart, which adds up to 1/6 of its square.
    assert float(predicted[0]) == pytest.approx(drawn, rel=0.02, abs=1 / 25 / 6)


def test_causes_add_as_variances_do_in_a_drawn_spread():
    path = np.linspace(-0.5, 0.5, 200)[:, None] * np.array([[5.0, 3.0]])
    drawn = np.trace(kernel_covariance(kernel(4.0, SOFT_PX, path))) / 2
    assert drawn == pytest.approx(4.0**2 / 16 + (25 + 9) / 24 + SOFT_PX**2, rel=0.03)


@given(st.floats(2.8, 45))
def test_diffraction_is_the_gaussian_of_equal_volume_and_peak(f_number):
    q = hawker_at(1.3)
    sigma_mm = math.sqrt(float(diffraction_variance(q, one([f_number]))[0, 0])) * float(q.pitch_mm[0])
    working = f_number * 1.25  # N (1 + m) at m = 0.25
    # The peak of the Airy pattern of unit volume is pi / (4 (lambda N)^2) (Goodman, Introduction to Fourier Optics,
    # 3rd ed. 2005, section 4.4.2), that of a Gaussian 1 / (2 pi sigma^2).
    cycle = float(airy_diameter(working)) / 2.43934
    assert 1 / (2 * math.pi * sigma_mm**2) == pytest.approx(math.pi / (4 * cycle**2), rel=1e-4)
    # The Gaussian of equal contrast at half modulation has 0.46 lambda N in place of 0.45: half comes out as 0.52.
    frequencies = np.linspace(0, 1 / cycle, 2001)
    half = frequencies[np.abs(airy_mtf(frequencies, working) - 0.5).argmin()]
    assert math.exp(-2 * (math.pi * half * sigma_mm) ** 2) == pytest.approx(0.5, abs=0.025)


def test_the_camera_adds_its_pixel_its_mosaic_and_its_glass():
    # A uniform box of side 1 has a variance of 1/12.
    kit = replace(KIT, camera=replace(CAMERA, own_blur_px=0.6))
    assert float(camera_variance(hawker_at(3.0, kit))[0]) == pytest.approx(1 / 12 + MOSAIC_VARIANCE + 0.36)


# The body


@settings(max_examples=40)
@given(st.floats(0.5, 100), st.floats(0, 3))
def test_the_sharpest_part_is_a_fifth_of_a_body_drawn_at_random(half_depth, over_half):
    error = over_half * half_depth
    rng = np.random.default_rng(7)
    away = np.abs(rng.uniform(-half_depth, half_depth, 100_000) - error)
    drawn = np.quantile(away, SHARPEST_SHARE)
    assert float(sharpest_distance(one(half_depth), one(error))[0]) == pytest.approx(drawn, abs=0.02 * half_depth)


@given(st.floats(0.0, 100), st.floats(-300, 300))
def test_it_does_not_matter_which_way_focus_misses(half_depth, error):
    ways = sharpest_distance(one(half_depth), one(error)), sharpest_distance(one(half_depth), one(-error))
    assert ways[0] == ways[1]


def test_half_of_all_frames_have_a_sharper_sharpest_part():
    # Offsets of the middle are normal; the median frame's sharpest fifth of the body is what is told.
    q = hawker_at(3.0)
    half, error = HAWKER.half_depth_mm, HAWKER.focus_error_mm.likely
    offsets = np.random.default_rng(3).normal(0, error, 200_000)
    drawn = np.median(sharpest_distance(np.full_like(offsets, half), offsets))
    sharpest = float(animal_variances(q, one([8.0]))[1][0, 0])
    assert sharpest == pytest.approx(float(depth_variance(q, one(drawn), one([8.0]))[0, 0]), rel=0.02)


def test_the_whole_body_is_its_end_with_the_error_of_focus_as_squares():
    q = hawker_at(3.0)
    whole = float(animal_variances(q, one([8.0]))[0][0, 0])
    parts = (float(depth_variance(q, one(mm), one([8.0]))[0, 0]) for mm in (HAWKER.half_depth_mm, 12.0))
    assert whole == pytest.approx(sum(parts))


@given(st.floats(0, 200), st.floats(0, 200), st.floats(1, 32))
def test_the_sharpest_part_is_never_softer_than_the_whole(half_depth, error, f_number):
    q = replace(hawker_at(3.0), half_depth_mm=one(half_depth), focus_error_mm=one(error))
    whole, sharpest = animal_variances(q, one([f_number]))
    assert sharpest[0, 0] <= whole[0, 0] * (1 + 1e-12)


# Blur against its limit


@given(st.floats(0.3, 30), st.floats(0, 1), st.floats(0.3, 5), st.floats(1, 1.5), st.floats(1, 1.5))
def test_more_blur_is_never_better(whole, share, limit, softer, end_softer):
    sharpest = share * whole
    before = blur_ratio(one(whole), one(sharpest), one(limit))
    assert blur_ratio(one(whole * softer * end_softer), one(sharpest * softer), one(limit)) >= before - 1e-12
    assert blur_ratio(one(whole), one(sharpest), one(limit * softer)) <= before + 1e-12


@given(st.floats(0, 1))
def test_the_ratio_passes_through_one_without_a_jump(share):
    below, above = (float(blur_ratio(one(w), one(share * w), one(1.0))[0]) for w in (1 - 1e-9, 1 + 1e-9))
    assert below == pytest.approx(1, abs=1e-8)
    assert above == pytest.approx(1, abs=1e-8)


@given(st.floats(0.01, 30), st.floats(0, 1), st.floats(0.3, 5))
def test_up_to_one_the_whole_body_looks_sharp_and_beyond_it_does_not(whole, share, limit):
    assume(abs(whole / limit - 1) > 1e-9)  # nearer than that the last bit decides
    ratio = float(blur_ratio(one(whole), one(share * whole), one(limit))[0])
    assert (ratio <= 1) == (whole / limit <= 1)


# Noise


@pytest.mark.parametrize("iso", [200.0, 1600.0, 12800.0])
@pytest.mark.parametrize("shrunk", [1, 2, 4])
def test_signal_to_noise_is_that_of_photons_counted_and_averaged(iso, shrunk):
    kit = replace(KIT, camera=replace(CAMERA, well_e=24_000.0, read_noise_e=3.0))
    q = hawker_at(3.0, kit, shown_width_px=CAMERA.width_px / shrunk)
    # A mid grey is 10/78 of white (ISO 12232), and each stop of ISO halves the electrons.
    mean = 24_000 * 10 / 78 * 200 / iso
    rng = np.random.default_rng(11)
    pixels = rng.poisson(mean, (960, 960)) + rng.normal(0, 3.0, (960, 960))
    shown = pixels.reshape(960 // shrunk, shrunk, 960 // shrunk, shrunk).mean((1, 3))
    assert float(output_snr(q, one([iso]))[0, 0]) == pytest.approx(shown.mean() / shown.std(), rel=0.02)


@given(log_floats(200, 25600), log_floats(1.01, 8))
def test_more_iso_is_never_cleaner(iso, more):
    q = hawker_at(3.0)
    assert output_snr(q, one([iso * more])) < output_snr(q, one([iso]))


def test_everything_broadcasts_over_questions_and_settings():
    q = hawker_at(np.array([2.0, 3.0, 5.0]))
    n = np.tile(np.array([8.0, 11.0]), (3, 1))
    for part in (*animal_variances(q, n), diffraction_variance(q, n), output_snr(q, n * 100)):
        assert part.shape == (3, 2)
        assert np.isfinite(part).all()
    assert camera_variance(q).shape == (3,)
    alone = animal_variances(hawker_at(5.0), n[:1])[0]
    assert animal_variances(q, n)[0][2] == pytest.approx(alone[0])
