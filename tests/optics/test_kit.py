"""A kit keeps its limits, and refuses what no camera and no lens has."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics.kit import TYPICAL_WELL_E_PER_UM2, CameraBody, Kit, Lens

CAMERA = CameraBody(17.4, 13.0, 5184, 3888)
LENS = Lens(75.0, 300.0, 4.8, 6.7)


def test_the_pitch_is_the_width_over_the_pixels():
    assert CAMERA.pitch_mm * 1000 == pytest.approx(3.356, abs=0.001)  # 17.4 mm / 5184
    assert CameraBody(36.0, 24.0, 6000, 4000).pitch_mm == pytest.approx(0.006)


@given(st.floats(0.5, 10.0))
def test_a_pixel_of_twice_the_side_holds_four_times_the_electrons(side_um):
    small = CameraBody(4 * side_um, 3 * side_um, 4000, 3000)
    large = CameraBody(8 * side_um, 6 * side_um, 4000, 3000)
    assert large.electrons_at_white == pytest.approx(4 * small.electrons_at_white)
    assert small.electrons_at_white == pytest.approx(TYPICAL_WELL_E_PER_UM2 * side_um**2)


def test_electrons_that_are_known_are_not_reckoned():
    assert replace(CAMERA, well_e=31000.0).electrons_at_white == 31000.0


@pytest.mark.parametrize(
    "name", ["sensor_width_mm", "sensor_height_mm", "width_px", "height_px", "lowest_iso", "shortest_s", "frames_per_s"]
)
@pytest.mark.parametrize("value", [0, -1, math.nan, math.inf])
def test_a_camera_with_nothing_of_a_measure_is_refused(name, value):
    with pytest.raises(InputError, match=rf"{name} of the camera is .*; it must be more than 0"):
        replace(CAMERA, **{name: value})


@pytest.mark.parametrize("name", ["look_back_s", "readout_s", "read_noise_e", "own_blur_px"])
def test_what_a_camera_may_lack_is_never_negative(name):
    replace(CAMERA, **{name: 0.0})
    with pytest.raises(InputError, match=f"{name} of the camera is -0.1; it must be 0 or more"):
        replace(CAMERA, **{name: -0.1})


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            {"lowest_iso": 400.0, "highest_iso": 200.0},
            "lowest_iso of the camera is 400, more than its highest_iso, 200",
        ),
        ({"shortest_s": 2.0, "longest_s": 1.0}, "shortest_s of the camera is 2, more than its longest_s, 1"),
        ({"longest_s": math.nan}, "more than its longest_s, nan"),
        ({"well_e": 0.0}, "well_e of the camera is 0; it must be more than 0"),
    ],
)
def test_a_camera_at_odds_with_itself_is_refused(change, said):
    with pytest.raises(InputError, match=said):
        replace(CAMERA, **change)


def test_pixels_that_are_not_square_are_refused_with_the_height_that_would_be_right():
    with pytest.raises(InputError, match=r"5184 x 3888 pixels on 17.4 x 11 mm are not square; .* would be 13.0 mm"):
        CameraBody(17.4, 11.0, 5184, 3888)


@pytest.mark.parametrize("rounded", [(17.3, 13.0), (17.4, 13.0), (17.0, 13.0)])
def test_a_sensor_rounded_in_its_papers_is_still_square(rounded):
    assert CameraBody(*rounded, 5184, 3888).sensor_width_mm == rounded[0]


@pytest.mark.parametrize(
    "name", ["shortest_mm", "longest_mm", "widest_at_shortest", "widest_at_longest", "narrowest", "pupil_ratio"]
)
@pytest.mark.parametrize("value", [0.0, -1.0, math.nan])
def test_a_lens_with_nothing_of_a_measure_is_refused(name, value):
    with pytest.raises(InputError, match=rf"{name} of the lens is .*; it must be more than 0"):
        replace(LENS, **{name: value})


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"shortest_mm": 400.0}, "shortest_mm of the lens is 400, more than its longest_mm, 300"),
        ({"widest_at_shortest": 32.0}, "widest_at_shortest of the lens is 32, more than its narrowest, 22"),
        ({"widest_at_longest": 32.0}, "widest_at_longest of the lens is 32, more than its narrowest, 22"),
        ({"closest_focus_m": -0.5}, "closest_focus_m of the lens is -0.5; it must be 0 or more"),
        ({"largest_magnification": 0.0}, "largest_magnification of the lens is 0; it must be more than 0"),
    ],
)
def test_a_lens_at_odds_with_itself_is_refused(change, said):
    with pytest.raises(InputError, match=said):
        replace(LENS, **change)


def test_the_widest_aperture_at_the_ends_is_the_one_marked():
    assert LENS.widest_at(75.0) == pytest.approx(4.8)
    assert LENS.widest_at(300.0) == pytest.approx(6.7)
    assert Lens(300.0, 300.0, 4.0, 4.0).widest_at(300.0) == 4.0


def test_half_way_along_the_zoom_is_half_way_in_stops():
    # 150 mm is one doubling of 75 mm, 300 mm two; in stops, f/5.67 lies as far from f/4.8 as from f/6.7.
    middle = LENS.widest_at(150.0)
    assert math.log2(middle / 4.8) == pytest.approx(math.log2(6.7 / middle))


@given(st.floats(75.0, 300.0), st.floats(75.0, 300.0))
def test_a_longer_focal_length_never_opens_wider_on_such_a_lens(one, other):
    assert LENS.widest_at(min(one, other)) <= LENS.widest_at(max(one, other)) + 1e-9


@pytest.mark.parametrize("factor", [0.7, 0.99, 3.5, math.nan])
def test_a_converter_that_is_none_is_refused(factor):
    with pytest.raises(InputError, match=r"teleconverter is .*; it is 1 for none, and 3 at most"):
        Kit("k", CAMERA, LENS, factor)


@pytest.mark.parametrize(
    ("kit", "words"),
    [
        (Kit("k", CAMERA, LENS), "20 MP, 17.4 x 13.0 mm sensor; 75-300 mm f/4.8-6.7"),
        (Kit("k", CAMERA, LENS, 1.4), "20 MP, 17.4 x 13.0 mm sensor; 75-300 mm f/4.8-6.7 with a 1.4x converter"),
        (
            Kit("k", CameraBody(36.0, 24.0, 6000, 4000), Lens(400.0, 400.0, 5.6, 5.6)),
            "24 MP, 36.0 x 24.0 mm sensor; 400 mm f/5.6",
        ),
    ],
)
def test_a_kit_says_what_it_is(kit, words):
    assert kit.words == words
