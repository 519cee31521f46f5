import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.optics.noise import (
    ACCEPTABLE_SNR,
    EXCELLENT_SNR,
    MID_GREY_SHARE,
    decibels,
    electrons,
    iso_of_snr,
    signal_for_snr,
    snr,
    snr_per_output_pixel,
)
from stillwing.scene.camera import Camera
from stillwing.scene.sensor import LIGHT_UNIT, expose


@pytest.mark.parametrize("signal_e", [3.0, 25.0, 400.0, 6000.0])
@pytest.mark.parametrize("read_noise_e", [0.0, 2.6, 12.0])
def test_signal_to_noise_of_simulated_photons(signal_e, read_noise_e):
    # Outside truth: photons drawn by Poisson's law, read noise by Gauss's. 400,000 draws give the deviation to 0.3 %.
    rng = np.random.default_rng(20250101)
    pixels = rng.poisson(signal_e, 400_000) + rng.normal(0, read_noise_e, 400_000)
    assert snr(signal_e, read_noise_e) == pytest.approx(pixels.mean() / pixels.std(), rel=0.01)


@pytest.mark.parametrize("reduction", [2, 4, 8])
def test_averaging_pixels_of_simulated_photons(reduction):
    rng = np.random.default_rng(7)
    side = 1024
    frame = rng.poisson(50, (side, side)) + rng.normal(0, 3, (side, side))
    shown = frame.reshape(side // reduction, reduction, -1, reduction).mean((1, 3))
    predicted = float(snr_per_output_pixel(snr(50, 3), side, side / reduction))
    # The deviation of n numbers is known to 1 / sqrt(2 n).
    assert shown.mean() / shown.std() == pytest.approx(predicted, rel=4 / np.sqrt(2 * shown.size))


@pytest.mark.parametrize("iso", [200, 800, 6400])
def test_the_rendered_sensor_has_the_predicted_noise(iso):
    # Another implementation of the same physics: the sensor that renders the scenes. Green pixels, mid-grey.
    camera = Camera(width_px=1024, height_px=1024, iso=iso, full_well_e=24_000, read_noise_e=2.6)
    light = np.full((1024, 1024), round(MID_GREY_SHARE * LIGHT_UNIT), np.uint16)
    green = expose(light, camera, np.random.default_rng(3))[0::2, 1::2].astype(np.float64)
    predicted = snr(electrons(MID_GREY_SHARE, 24_000, 200, iso), 2.6)
    assert green.mean() / green.std() == pytest.approx(float(predicted), rel=0.01)


def test_mid_grey_is_what_the_standards_exposures_say():
    # Hm = 10/S and Hsat = 78/S lx s: ISO 12232:2019, from memory. 12.8 %: half a stop of headroom above 18 % grey.
    assert pytest.approx(0.128, abs=5e-4) == MID_GREY_SHARE
    assert np.log2(0.18 / MID_GREY_SHARE) == pytest.approx(0.49, abs=0.01)


def test_noise_based_speeds_lie_two_stops_apart_for_each_factor_of_two_in_photons():
    # ISO 12232, from memory: 40 is excellent, 10 acceptable. Photon noise alone: a factor 4 in ratio is 16 in light.
    excellent, acceptable = (iso_of_snr(q, 24_000, 200, 0) for q in (EXCELLENT_SNR, ACCEPTABLE_SNR))
    assert acceptable / excellent == pytest.approx(16)
    assert snr(electrons(MID_GREY_SHARE, 24_000, 200, acceptable), 0) == pytest.approx(10)


@given(st.floats(0.1, 200), st.floats(0, 30))
def test_signal_for_a_ratio_turns_back(wanted, read_noise_e):
    assert snr(signal_for_snr(wanted, read_noise_e), read_noise_e) == pytest.approx(wanted, rel=1e-9)


@given(st.floats(1, 60), st.floats(0, 10), st.floats(5000, 100_000), st.floats(50, 400))
def test_the_highest_iso_for_a_ratio_turns_back(wanted, read_noise_e, full, lowest):
    iso = float(iso_of_snr(wanted, full, lowest, read_noise_e))
    if iso < lowest:  # not even the lowest ISO reaches it
        assert snr(electrons(MID_GREY_SHARE, full, lowest, lowest), read_noise_e) < wanted
    else:
        assert snr(electrons(MID_GREY_SHARE, full, lowest, iso), read_noise_e) == pytest.approx(wanted, rel=1e-9)


@given(st.floats(0.001, 1), st.floats(1000, 1e5), st.floats(50, 400), st.floats(0, 8))
def test_a_stop_of_iso_costs_half_a_stop_of_ratio_where_photons_rule(share, full, lowest, stops):
    light = electrons(share, full, lowest, lowest * 2**stops)
    assert light == pytest.approx(share * full / 2**stops)
    assert snr(light, 0) == pytest.approx(np.sqrt(share * full) / 2 ** (stops / 2))


def test_no_pixel_holds_more_than_at_white():
    assert electrons(1.0, 24_000, 200, 100) == 24_000
    assert electrons(0.1, 24_000, 200, 100) == pytest.approx(4_800)


def test_limits_no_light_and_enlarging():
    assert snr(0, 0) == 0
    assert snr(0, 3) == 0
    assert snr_per_output_pixel(12, 5184, 5184) == 12
    assert snr_per_output_pixel(12, 5184, 10_368) == 12
    assert decibels([10, 40]) == pytest.approx([20, 32.04], abs=0.005)


def test_arrays_broadcast_keep_nan_and_are_not_modified():
    signal = np.array([[100.0], [np.nan]])
    before = signal.copy()
    ratios = snr(signal, [0.0, 5.0, 10.0])
    assert ratios.shape == (2, 3)
    assert np.all(np.isnan(ratios[1]))
    assert np.array_equal(signal, before, equal_nan=True)


@pytest.mark.parametrize(
    "call",
    [
        lambda: electrons(1.5, 24_000, 200, 200),
        lambda: electrons(-0.1, 24_000, 200, 200),
        lambda: electrons(0.1, 0, 200, 200),
        lambda: electrons(0.1, 24_000, 200, 0),
        lambda: snr(-1, 2),
        lambda: snr(1, -2),
        lambda: signal_for_snr(-1, 2),
        lambda: iso_of_snr(0, 24_000, 200, 2),
        lambda: snr_per_output_pixel(10, 5184, 0),
        lambda: decibels(0),
    ],
)
def test_impossible_noise_is_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()
