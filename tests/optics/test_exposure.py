import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.optics.exposure import (
    ILLUMINANCE_CONSTANT,
    LUMINANCE_CONSTANT,
    aperture_value,
    brightness_value,
    equivalent,
    ev100,
    exposure_for,
    exposure_of,
    exposure_value,
    f_number_for,
    f_number_of,
    iso_for,
    iso_of,
    speed_value,
    time_value,
)
from stillwing.optics.focus import blur_disc
from stillwing.optics.framing import focus_distance_for, magnification, working_f_number

F_NUMBER, EXPOSURE, ISO = st.floats(0.7, 64), st.floats(1e-5, 60), st.floats(25, 400_000)
EV = st.floats(-8, 20)


@pytest.mark.parametrize(
    ("value", "published", "tolerance", "source"),
    [
        (exposure_of(8.643856), 1 / 400, 1e-9, "Exif ShutterSpeedValue 8643856/1000000, read in a Q&A on APEX in Exif"),
        (f_number_of(1.695994), 1.8, 5e-6, "Exif ApertureValue 1695994/1000000, read in the same"),
        (aperture_value(1.8), 1.695994, 5e-7, "the same pair, the other way"),
        (time_value(1 / 400), 8.643856, 5e-7, "the same pair, the other way"),
        (
            exposure_value(16, 1 / 125),
            14.966,
            5e-4,
            "EV 15 = f/16 at 1/125 s, nominal (encyclopaedias); exact computed",
        ),
        (exposure_value(8, 1 / 500), 14.966, 5e-4, "EV 15 = f/8 at 1/500 s, nominal (encyclopaedias); exact computed"),
        (ev100(16, 1 / 100, 100), 14.644, 5e-4, "sunny 16, rule of the trade; log2(25600) computed"),
        (ev100(16, 1 / 400, 400), 14.644, 5e-4, "sunny 16 at ISO 400: t = 1/S"),
        (speed_value(100), 5.0, 1e-12, "Exif 2.32 (CIPA DC-008-2019) Annex C: S = 100 has Sv = 5; from memory"),
        (math.log2(14 / 12.5), 0.1635, 5e-5, "K of 14 against 12.5 (ISO 2720 range, encyclopaedias)"),
    ],
)
def test_apex_values_as_published(value, published, tolerance, source):
    assert float(value) == pytest.approx(published, abs=tolerance), source


def test_a_stop_of_iso_is_a_stop_of_light():
    # EV_S = EV_100 + log2(S/100): meters that follow ISO 2720, read in a meter program's documentation.
    assert exposure_value(8, 1 / 1000) - ev100(8, 1 / 1000, 800) == pytest.approx(3.0)


def test_constants_lie_in_the_ranges_of_the_standard():
    assert 10.6 <= LUMINANCE_CONSTANT <= 13.4  # ISO 2720:1974, read in a text that quotes it
    assert 240 <= ILLUMINANCE_CONSTANT <= 400


@given(F_NUMBER, ISO, st.floats(1e-3, 1e6))
def test_the_apex_sum_is_the_exposure_equation(f_number, iso, luminance):
    # Av + Tv = Bv + Sv (ANSI PH2.7, encyclopaedias) must say the same as N^2/t = L S/K (ISO 2720).
    exposure_s = LUMINANCE_CONSTANT * f_number**2 / (luminance * iso)
    assume(1e-9 < exposure_s < 1e9)
    left = float(aperture_value(f_number) + time_value(exposure_s))
    assert left == pytest.approx(float(brightness_value(luminance) + speed_value(iso)), abs=1e-9)


@given(F_NUMBER, EXPOSURE, ISO)
def test_apex_values_turn_back(f_number, exposure_s, iso):
    assert f_number_of(aperture_value(f_number)) == pytest.approx(f_number)
    assert exposure_of(time_value(exposure_s)) == pytest.approx(exposure_s)
    assert iso_of(speed_value(iso)) == pytest.approx(iso)


@given(EV, F_NUMBER, ISO)
def test_each_setting_follows_from_the_others(ev, f_number, iso):
    exposure_s = exposure_for(ev, f_number, iso)
    assume(1e-9 < exposure_s < 1e9)
    assert ev100(f_number, exposure_s, iso) == pytest.approx(ev, abs=1e-9)
    assert f_number_for(ev, exposure_s, iso) == pytest.approx(f_number)
    assert iso_for(ev, f_number, exposure_s) == pytest.approx(iso)


def test_a_stop_more_light_halves_the_exposure_and_a_stop_closed_doubles_it():
    t = exposure_for(14, 8, 400)
    assert exposure_for(15, 8, 400) == pytest.approx(t / 2)
    assert exposure_for(14, 8 * math.sqrt(2), 400) == pytest.approx(2 * t)
    assert exposure_for(14, 8, 800) == pytest.approx(t / 2)


def test_arrays_broadcast_keep_nan_and_are_not_modified():
    f_numbers, isos = np.array([[4.0], [np.nan], [8.0]]), np.array([200.0, 400.0])
    before = f_numbers.copy()
    t = exposure_for(13.0, f_numbers, isos)
    assert t.shape == (3, 2)
    assert np.all(np.isnan(t[1]))
    assert t[2, 1] == exposure_for(13.0, 8.0, 400.0)
    assert np.array_equal(f_numbers, before, equal_nan=True)
    assert iso_for(13.0, f_numbers, t)[0] == pytest.approx(isos)


@pytest.mark.parametrize(
    "call",
    [
        lambda: aperture_value(0),
        lambda: time_value(-1 / 500),
        lambda: speed_value([100, 0]),
        lambda: brightness_value(0),
        lambda: exposure_value(-8, 1 / 500),
        lambda: exposure_for(1000, 8, 100),
        lambda: iso_for(12, 8, 0),
        lambda: f_number_for(12, 1, -100),
        lambda: equivalent(0, 4, 100, 2),
        lambda: equivalent(300, 4, 100, 2, magnification=-0.1),
        lambda: equivalent(300, 4, 100, 0),
    ],
)
def test_impossible_settings_are_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()


def test_half_the_linear_size_has_two_stops_more_depth():
    # Common practice, no source: f/4 on 17.3 x 13 mm frames and holds depth like f/8 on 36 x 24 mm.
    same = equivalent(300, 4, 200, 2.0)
    assert (float(same.focal_length_mm), float(same.f_number), float(same.iso)) == (600, 8, 800)
    assert 2 * math.log2(same.f_number / 4) == 2


@given(st.floats(20, 600), st.floats(1.4, 16), ISO, st.floats(0.3, 4), st.floats(0.001, 1.0), st.floats(1.001, 3))
def test_equivalent_pictures_have_the_same_field_depth_and_light(focal, f_number, iso, ratio, m, behind):
    same = equivalent(focal, f_number, iso, ratio, m)
    distance = float(focus_distance_for(focal, m))
    m_there = float(magnification(same.focal_length_mm, distance))
    assert m_there == pytest.approx(ratio * m, rel=1e-6)  # sensor / m: the same field
    here = blur_disc(distance * behind, distance, focal, f_number)
    there = blur_disc(distance * behind, distance, same.focal_length_mm, same.f_number)
    assert there / ratio == pytest.approx(here, rel=1e-6)  # the same share of the frame
    # Light on the whole sensor: area over the square of the working f-number.
    light = 1 / working_f_number(f_number, m) ** 2
    light_there = ratio**2 / working_f_number(same.f_number, m_there) ** 2
    assert light_there == pytest.approx(light, rel=1e-6)
    # And as bright a picture: exposure per area times ISO.
    assert light_there / ratio**2 * same.iso == pytest.approx(light * iso, rel=1e-6)
