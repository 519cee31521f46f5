from dataclasses import replace

import numpy as np
import pytest

from stillwing.scene.camera import Camera
from stillwing.scene.sensor import LIGHT_UNIT, develop, expose, tone_curve

CAMERA = Camera(width_px=512, height_px=512, full_well_e=24000)


def _flat(level, camera, seed=0):
    light = np.full((512, 512), round(level * LIGHT_UNIT), np.uint16)
    return expose(light, camera, np.random.default_rng(seed)).astype(np.float64) / 65535


@pytest.mark.parametrize("iso", [200, 1600, 12800])
@pytest.mark.parametrize("level", [0.05, 0.3])
def test_noise_is_photons_and_read_noise(iso, level):
    camera = replace(CAMERA, iso=iso)
    green = _flat(level, camera)[0::2, 1::2]
    electrons_at_white = 24000 * 200 / iso
    # Poisson: the variance of a count is its mean; read noise adds its own.
    expected = np.sqrt(level * electrons_at_white + 2.6**2) / electrons_at_white
    assert green.mean() == pytest.approx(level, rel=0.02)
    assert green.std() == pytest.approx(expected, rel=0.04)


def test_red_and_blue_are_noisier_than_green():
    noisy = _flat(0.2, replace(CAMERA, iso=3200))
    red, green, blue = noisy[0::2, 0::2].std(), noisy[0::2, 1::2].std(), noisy[1::2, 1::2].std()
    assert red > blue > 1.1 * green


def test_light_beyond_full_is_clipped():
    assert _flat(1.9, CAMERA).min() == 1.0


def test_a_grey_scene_develops_to_grey():
    picture = develop((_flat(0.18, replace(CAMERA, iso=200)) * 65535).astype(np.uint16), CAMERA)
    assert picture.shape == (512, 512, 3)
    means = picture.reshape(-1, 3).mean(0)
    assert np.ptp(means) < 1.0
    assert means.mean() / 255 == pytest.approx(float(tone_curve(np.array(0.18))), abs=0.01)


def test_colours_keep_their_place_in_the_mosaic():
    planes = np.zeros((3, 64, 64))
    planes[0], planes[1], planes[2] = 0.5, 0.2, 0.05
    readout = np.zeros((64, 64), np.uint16)
    for i, j, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        readout[i::2, j::2] = planes[channel, i::2, j::2] * 65535
    found = develop(readout, CAMERA)[32, 32] / 255
    assert found == pytest.approx(tone_curve(np.array([0.5, 0.2, 0.05])), abs=0.01)


def test_sharpening_overshoots_an_edge_and_none_does_not():
    readout = np.full((64, 64), 12000, np.uint16)
    readout[:, 32:] = 30000
    plain, sharpened = (develop(readout, replace(CAMERA, sharpening=s)).astype(int) for s in (0.0, 0.8))
    assert np.ptp(plain[20:40, 8:56]) < np.ptp(sharpened[20:40, 8:56])


def test_the_tone_curve_rises_from_black_to_white():
    values = tone_curve(np.linspace(0, 1, 1001))
    assert values[0] == pytest.approx(0, abs=1e-9)
    assert values[-1] == pytest.approx(1, abs=1e-9)
    assert (np.diff(values) > 0).all()


def test_the_same_seed_gives_the_same_noise_and_another_seed_other_noise():
    assert np.array_equal(_flat(0.2, CAMERA, 5), _flat(0.2, CAMERA, 5))
    assert not np.array_equal(_flat(0.2, CAMERA, 5), _flat(0.2, CAMERA, 6))


def test_colour_noise_is_averaged_and_brightness_is_not():
    readout = (_flat(0.2, replace(CAMERA, iso=6400)) * 65535).astype(np.uint16)
    rough, smooth = (develop(readout, replace(CAMERA, chroma_smoothing=s)).astype(float) for s in (1, 5))

    def colour(picture):
        return (picture[..., 0] - picture[..., 2]).std()

    def brightness(picture):
        return (picture @ [0.299, 0.587, 0.114]).std()

    assert colour(smooth) < 0.5 * colour(rough)
    assert brightness(smooth) == pytest.approx(brightness(rough), rel=0.03)
