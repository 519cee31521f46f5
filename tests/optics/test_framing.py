import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from stillwing.errors import InputError, OutsideModel
from stillwing.optics.framing import (
    close_focal_length,
    focal_length_at,
    focus_distance_for,
    image_distance,
    magnification,
    principal_distance,
    sensor_distance,
    with_teleconverter,
    working_f_number,
)


@pytest.mark.parametrize(
    ("focal_length", "m", "distance", "image", "factor", "stops"),
    [
        (50, 0.5, 150.0, 75.0, 1.5, 1.1699),
        (50, 1, 100.0, 100.0, 2.0, 2.0),
        (100, 0.25, 500.0, 125.0, 1.25, 0.6439),
        (100, 0.5, 300.0, 150.0, 1.5, 1.1699),
        (100, 1, 200.0, 200.0, 2.0, 2.0),
        (100, 2, 150.0, 300.0, 3.0, 3.1699),
        (180, 1, 360.0, 360.0, 2.0, 2.0),
        (65, 5, 78.0, 390.0, 6.0, 5.1699),
    ],
)
def test_close_up_table_of_handbooks(focal_length, m, distance, image, factor, stops):
    # Distances f(1 + 1/m) and f(1 + m), 2 log2 of the factor as stops: S. F. Ray, Applied Photographic Optics, 3rd ed.
    # (2002), from memory; digits computed. At m = 1 both distances are 2f and two stops are lost.
    assert sensor_distance(focal_length, distance) == pytest.approx(distance + image, abs=0.005)
    assert image - focal_length == pytest.approx(focal_length * m)
    assert 2 * math.log2(float(working_f_number(8, m)) / 8) == pytest.approx(stops, abs=5e-5)
    assert focus_distance_for(focal_length, m) == pytest.approx(distance, abs=0.005)
    assert image_distance(focal_length, distance) == pytest.approx(image, abs=0.005)
    assert magnification(focal_length, distance) == pytest.approx(m, rel=1e-9)
    assert working_f_number(8, m) / 8 == pytest.approx(factor, abs=0.005)


@given(st.floats(5.0, 1000.0), st.floats(1.01, 1e4))
def test_lens_equation_is_its_own_inverse(focal_length, ratio):
    there = float(image_distance(focal_length, focal_length * ratio))
    assert float(image_distance(focal_length, there)) == pytest.approx(focal_length * ratio, rel=1e-6)


def test_nothing_inside_the_focal_length_is_imaged():
    with pytest.raises(OutsideModel, match="distance is 90 mm"):
        image_distance(100, 90)


@pytest.mark.parametrize(
    ("n", "m", "p", "working", "stops"),
    [
        (8, 1, 1, 16.0, 2.0),
        (16, 0.5, 1, 24.0, 1.1699),
        (8, 1, 0.6, 21.333, 2.8301),
        (8, 1, 1.5, 13.333, 1.4739),
        (2.8, 0.1, 1, 3.080, 0.2750),
        (16, 2, 1, 48.0, 3.1699),
    ],
)
def test_working_f_numbers_with_the_pupil_ratio(n, m, p, working, stops):
    # N (1 + m/p): Greivenkamp, Field Guide to Geometrical Optics, SPIE FG01 (2004), 29, read in encyclopaedias.
    assert working_f_number(n, m, p) == pytest.approx(working, abs=5e-4)
    assert 2 * math.log2(working_f_number(n, m, p) / n) == pytest.approx(stops, abs=5e-5)


def test_extension_tubes_and_close_up_lenses():
    # A tube of e on a lens at infinity gives m = e/f (25 mm on 50 mm: 0.5); a close-up lens of +2 dioptres focuses at
    # 500 mm with m = f D/1000: S. F. Ray, Applied Photographic Optics, 3rd ed. (2002), from memory.
    at = focus_distance_for(50, 25 / 50)
    assert image_distance(50, at) == pytest.approx(50 + 25)
    both = 1 / (1 / 50 + 2 / 1000)  # powers add
    assert image_distance(both, 500) == pytest.approx(50)
    assert magnification(both, 500) == pytest.approx(50 * 2 / 1000)


@given(st.floats(5.0, 1000.0), st.floats(0.005, 5.0))
def test_newtons_lens_equation_holds(focal_length, m):
    # (s' - f)(s - f) = f^2: D. Jacobson, Frequently Asked Questions regarding lenses (1995), Q4, read.
    s = focus_distance_for(focal_length, m)
    product = (image_distance(focal_length, s) - focal_length) * (s - focal_length)
    assert product == pytest.approx(focal_length**2, rel=1e-9)


@given(st.floats(5.0, 1000.0), st.floats(2.001, 1e4))
def test_distances_from_lens_and_sensor_turn_back(focal_length, ratio):
    distance = focal_length * ratio
    there = sensor_distance(focal_length, distance)
    assert principal_distance(focal_length, there) == pytest.approx(distance, rel=1e-6)


def test_principal_distance_against_a_root_found_by_search():
    found = brentq(lambda u: u + float(image_distance(300, u)) - 3000, 600.0, 3000.0)
    assert principal_distance(300, 3000) == pytest.approx(found, rel=1e-9)
    assert principal_distance(100, 400) == pytest.approx(200)  # m = 1: 2f on either side


def test_a_long_lens_that_focuses_close_has_grown_shorter():
    # 400 mm and 1.3 m: a thin lens needs 4f = 1.6 m.
    with pytest.raises(OutsideModel, match="sensor_distance is 1300 mm; this model covers 1600 to inf mm"):
        principal_distance(400, 1300)
    real = float(close_focal_length(1300, 0.25))
    assert real == pytest.approx(1300 / 6.25)
    assert real < 1300 / 4
    assert magnification(real, principal_distance(real, 1300)) == pytest.approx(0.25)


@given(st.floats(50, 800), st.floats(3.0, 8.0), st.floats(0.05, 1.0), st.floats(1.0, 1e3))
def test_true_focal_length_lies_between_its_ends(engraved, closest_over_f, m, farther):
    closest = engraved * closest_over_f
    at_closest = float(close_focal_length(closest, m))
    assert focal_length_at(closest, engraved, closest, m) == pytest.approx(at_closest, rel=1e-9)
    assert focal_length_at(1e15, engraved, closest, m) == pytest.approx(engraved, rel=1e-9)
    between = float(focal_length_at(closest * farther, engraved, closest, m))
    low, high = sorted((at_closest, engraved))
    assert low * (1 - 1e-9) <= between <= high * (1 + 1e-9)


def test_nothing_grows_larger_when_one_steps_back():
    distances = np.geomspace(1300, 1e5, 200)
    focal = focal_length_at(distances, 400, 1300, 0.25)
    m = magnification(focal, principal_distance(focal, distances))
    assert np.all(np.diff(m) < 0)
    assert np.all(np.diff(focal) > 0)


def test_an_unknown_closest_focus_leaves_the_engraved_focal_length():
    assert focal_length_at(3000, 300, 0, None) == 300
    assert focal_length_at(3000, 300, 0, 0.25) == 300
    assert focal_length_at(3000, 300, 1400, math.nan) == 300
    some = focal_length_at([3000.0, 3000.0], 300, [0.0, 1400.0], [np.nan, 0.25])
    assert some == pytest.approx([300, 300 + (1400 / 6.25 - 300) * 1400 / 3000])


def test_a_lens_that_must_shorten_by_an_unknown_amount_is_asked_about():
    with pytest.raises(InputError, match=r"a lens of 400 mm that focuses to 1\.3 m must grow shorter.*magnification"):
        focal_length_at(5000, 400, 1300, None)


def test_a_teleconverter_keeps_the_entrance_pupil():
    longer = with_teleconverter(300, 4, [1.4, 2.0])
    assert longer.focal_length == pytest.approx([420, 600])
    assert longer.f_number == pytest.approx([5.6, 8])
    assert longer.focal_length / longer.f_number == pytest.approx(300 / 4)


def test_arrays_broadcast_keep_nan_and_are_not_modified():
    distances = np.array([[1300.0], [np.nan], [5000.0]])
    before = distances.copy()
    focal = focal_length_at(distances, [300.0, 400.0], 1300, 0.25)
    assert focal.shape == (3, 2)
    assert np.all(np.isnan(focal[1]))
    assert np.isnan(principal_distance(focal, distances)[1]).all()
    assert focal[2, 1] == focal_length_at(5000, 400, 1300, 0.25)
    assert np.array_equal(distances, before, equal_nan=True)


@pytest.mark.parametrize(
    "call",
    [
        lambda: focus_distance_for(0, 0.5),
        lambda: focus_distance_for(100, 0),
        lambda: working_f_number(-8, 0.1),
        lambda: working_f_number(8, -0.1),
        lambda: working_f_number(8, 0.1, 0),
        lambda: principal_distance(-100, 1000),
        lambda: principal_distance(100, [1000, 399]),
        lambda: close_focal_length(0, 0.5),
        lambda: close_focal_length(1000, 0),
        lambda: focal_length_at(1200, 400, 1300, 0.25),
        lambda: focal_length_at(1300, 100, 300, 2.0),
        lambda: focal_length_at(1300, 100, -1, 0.5),
        lambda: sensor_distance(100, 90),
        lambda: with_teleconverter(300, 4, 0.7),
        lambda: with_teleconverter(300, 0, 1.4),
    ],
)
def test_impossible_framing_is_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()
