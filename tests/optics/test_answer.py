"""The whole answer: it is the solver's, its sentences of refusal are true, and what is near is really met."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.optics import prediction
from stillwing.optics.answer import FITS, HOPELESS, STEPS_PER_STOP, answer, settings_at
from stillwing.optics.kit import CameraBody, Kit, Lens
from stillwing.optics.question import nearest_distance_m, pose, size_at
from stillwing.optics.settings import settings_grid, solve
from stillwing.optics.subject import Behaviour

from .posed import CAMERA, GULL, HAWKER, KIT, WISH, asked, kits, log_floats

SHARP = replace(HAWKER, angle_deg=0.0)


def told(kit, subject, wish):
    with pytest.raises(InputError) as said:
        answer(kit, subject, wish)
    sentence = str(said.value)
    assert "\n" not in sentence
    assert not sentence.endswith(".")
    return sentence


def sharpest(kit, subject, wish, light):
    """Return the least ratio of the sharpest part over all settings of the kit in a light."""
    return float(settings_grid(pose(kit, subject, wish, wish.distance_m, light)).sharpest_ratio.min())


# One answer is one solution


@settings(max_examples=25, deadline=None)
@given(asked())
def test_the_best_is_the_solvers_and_stands_in_the_frontier(one):
    kit, subject, wish = one
    found = solve(pose(kit, subject, wish, wish.distance_m))
    try:
        said = answer(kit, subject, wish)
    except InputError as refusal:
        assert re.search(r"is too (dark|bright) for this", str(refusal))
        return
    assert said.best.worst_ratio == pytest.approx(float(found.worst_ratio.min()), rel=1e-9)
    assert said.best in said.frontier
    assert [row.worst_ratio for row in said.frontier] == pytest.approx(
        found.worst_ratio[np.isfinite(found.worst_ratio)].tolist()
    )
    assert (said.nearest_met_m is not None) == (said.best.worst_ratio <= 1 and said.size_in_frame <= FITS)
    assert not (said.remedies and said.best.worst_ratio <= 1)


@settings(max_examples=25, deadline=None)
@given(asked(), st.floats(2.8, 32), log_floats(1 / 32000, 1 / 50), log_floats(100, 25600))
def test_a_setting_is_met_where_it_looks_sharp_as_wide_as_shown_and_quiet(one, f_number, exposure_s, iso):
    kit, subject, wish = one
    q = pose(kit, subject, wish, wish.distance_m)
    (row,) = settings_at(q, np.array([f_number]), np.array([exposure_s]), np.array([iso]))
    assume(abs(row.worst_ratio - 1) > 1e-6)
    wide_enough = row.usable_width_px >= float(q.shown_width_px[0]) * (1 - 1e-9)
    assert (row.worst_ratio <= 1) == (wide_enough and row.snr >= wish.snr_wanted)
    assert row.sharpest_px <= row.blur_px * (1 + 1e-12)


def test_causes_of_the_best_add_up_to_its_blur():
    for subject, distance in ((HAWKER, 3.0), (GULL, 20.0)):
        found = answer(KIT, subject, replace(WISH, distance_m=distance))
        parts = found.blurs
        total = math.hypot(parts.motion_px, parts.depth_px, parts.diffraction_px, parts.pixels_px)
        assert found.best.blur_px == pytest.approx(total)


def test_a_size_is_answered_at_its_distance():
    sized = answer(KIT, HAWKER, replace(WISH, distance_m=None, size_in_frame=0.3))
    assert sized.size_in_frame == pytest.approx(0.3)
    assert sized.wish.distance_m == sized.distance_m
    assert answer(KIT, HAWKER, replace(WISH, distance_m=sized.distance_m)).best == sized.best


def test_stops_are_whole_stops_of_iso_through_the_best():
    found = answer(KIT, GULL, replace(WISH, distance_m=20.0))
    assert found.best in found.stops
    isos = [row.iso for row in found.stops]
    assert np.log2(np.array(isos[1:]) / isos[:-1]) == pytest.approx(1)
    assert set(found.stops) <= set(found.frontier)
    assert len(found.frontier) // STEPS_PER_STOP <= len(found.stops)


def test_a_setting_is_named_as_a_camera_shows_it():
    found = answer(KIT, GULL, replace(WISH, distance_m=20.0))
    assert re.fullmatch(r"f/[\d.]+, 1/\d+ s, ISO \d+", found.best.words)


# Skew


@pytest.mark.parametrize("readout_s", [0.0, 1 / 120, 1 / 60])
def test_rows_read_later_show_the_animal_farther_on(readout_s):
    kit = replace(KIT, camera=replace(CAMERA, readout_s=readout_s))
    found = answer(kit, GULL, replace(WISH, distance_m=20.0))
    # 11 m/s of which panning leaves 15 %, for as long as the rows of 400 mm take.
    height_px = 400 * found.magnification / kit.camera.pitch_mm
    drawn = 11_000 * 0.15 * found.magnification / kit.camera.pitch_mm * readout_s * height_px / 3888
    assert found.skew_px == pytest.approx(drawn)


# Too dark, too bright


@settings(max_examples=40, deadline=None)
@given(kits(), st.sampled_from([HAWKER, GULL]), st.floats(-6, 20), log_floats(1, 10))
def test_a_light_that_is_refused_is_answered_with_one_that_is_taken(kit, subject, light, farther):
    wish = replace(WISH, ev100=light, distance_m=nearest_distance_m(kit, WISH) * farther)
    try:
        answer(kit, subject, wish)
        return
    except InputError as refusal:
        said = str(refusal)
    nearest = float(re.search(r"(?:from|needs|takes) EV (-?[\d.]+)", said)[1])
    if not -6 <= nearest <= 20:
        return
    there = replace(wish, ev100=nearest)
    if "too dark for this at" in said:
        assert sharpest(kit, subject, wish, nearest) <= 1
        assert sharpest(kit, subject, wish, nearest - 0.44) > 1  # a third of a stop, and a tenth of rounding
        answer(kit, subject, there)
    else:
        assert np.isfinite(solve(pose(kit, subject, there, wish.distance_m)).worst_ratio).any(), said
        assert abs(nearest - light) > 0
        beyond = nearest + math.copysign(0.11, light - nearest)
        if -6 <= beyond <= 20:
            none = solve(pose(kit, subject, wish, wish.distance_m, beyond))
            assert not np.isfinite(none.worst_ratio).any(), said


def test_no_animal_is_refused_for_the_dark_that_light_would_not_help():
    # Beyond any depth of field, in the dark and in the sun alike: the answer says what helps, not that it is dark.
    deep = replace(HAWKER, thickness_mm=70.0, focus_error_mm=HAWKER.focus_error_mm._replace(likely=29.0, high=30.0))
    found = answer(KIT, deep, replace(WISH, ev100=15.0, distance_m=1.3, shown_width_px=None))
    assert found.best.worst_ratio > 1


def test_what_is_called_too_dark_is_blurred_beyond_telling():
    said = told(KIT, GULL, replace(WISH, ev100=-3.0, distance_m=20.0))
    blur = float(re.search(r"over ([\d,]+) px", said)[1].replace(",", ""))
    assert blur >= HOPELESS * answer(KIT, GULL, replace(WISH, ev100=12.0, distance_m=20.0)).blur_limit_px


def test_a_bright_light_is_told_with_the_setting_that_would_take_it():
    slow = Kit("slow", replace(CAMERA, shortest_s=1 / 1000), Lens(100.0, 100.0, 2.8, 2.8, narrowest=5.6))
    said = told(slow, HAWKER, replace(WISH, ev100=16.0))
    assert said.startswith("EV 16 is too bright for this kit at every setting; it takes EV 14.2 at")
    assert said.endswith("at f/5.6, 1/1000 s")
    # f/5.657 at m = 0.036 and 1/1024 s at ISO 200: EV 14.1; rounding to thirds leaves a sixth more.
    assert math.log2((5.657 * 1.036) ** 2 * 1024 / 2) + 1 / 6 == pytest.approx(14.25, abs=0.05)


def test_a_camera_of_one_iso_is_answered_at_it():
    only = replace(KIT, camera=replace(CAMERA, lowest_iso=210.0, highest_iso=210.0))
    assert answer(only, HAWKER, WISH).best.iso == 210.0


# Nearer


def is_met(kit, subject, wish, distance):
    return bool(solve(pose(kit, subject, wish, distance)).worst_ratio.min() <= 1)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from([SHARP, GULL, replace(SHARP, behaviour=Behaviour.PERCH)]), log_floats(3, 80))
def test_the_nearest_is_met_and_a_step_nearer_is_not(subject, distance):
    wish = replace(WISH, distance_m=distance, snr_wanted=20.0)
    try:
        found = answer(KIT, subject, wish)
    except InputError:
        return
    nearest = found.nearest_met_m
    if nearest is None:
        assert found.best.worst_ratio > 1 or found.size_in_frame > FITS
        return
    assert 1.3 <= nearest <= distance
    assert is_met(KIT, subject, wish, nearest)
    assert size_at(KIT, subject, wish, nearest) <= FITS
    step = (distance / 1.3) ** (1 / 40)
    nearer = nearest / step
    if nearer >= 1.3:
        assert not (is_met(KIT, subject, wish, nearer) and size_at(KIT, subject, wish, nearer) <= FITS)


def test_at_the_closest_focus_nothing_is_nearer():
    lens = replace(KIT.lens, closest_focus_m=6.0, largest_magnification=0.055)
    kit = replace(KIT, lens=lens)
    found = answer(kit, SHARP, replace(WISH, distance_m=5.99))
    assert found.nearest_met_m == pytest.approx(5.99)


def test_what_does_not_fit_has_no_nearest():
    large = replace(SHARP, extent_mm=2000.0)
    found = answer(KIT, large, replace(WISH, distance_m=30.0))
    assert found.best.worst_ratio <= 1
    assert found.size_in_frame > FITS
    assert found.nearest_met_m is None


# Rules of thumb (common practice, no source)


def test_half_the_sensor_has_two_stops_more_depth_at_equal_framing():
    half = Kit("half", CameraBody(17.4, 13.0, 5184, 3888), Lens(150.0, 150.0, 4.0, 4.0, 4.0))
    whole = Kit("whole", CameraBody(34.8, 26.0, 5184, 3888), Lens(300.0, 300.0, 8.0, 8.0, 8.0))
    small, large = (answer(kit, GULL, replace(WISH, distance_m=30.0)).blurs.depth_px for kit in (half, whole))
    assert small == pytest.approx(large, rel=0.02)
    # At the same f-number the larger sensor's depth is twice as blurred.
    open_too = replace(whole, lens=Lens(300.0, 300.0, 4.0, 4.0, 4.0))
    opened = answer(open_too, GULL, replace(WISH, distance_m=30.0)).blurs.depth_px
    assert opened == pytest.approx(2 * small, rel=0.02)


def test_the_cost_is_two_stops_of_noise():
    # Equivalent settings catch the same light: a sensor of half the size at a quarter of the ISO (optics.exposure).
    half = Kit("half", CameraBody(17.4, 13.0, 5184, 3888, read_noise_e=0.0), Lens(150.0, 150.0, 4.0, 4.0, 4.0))
    whole = Kit("whole", CameraBody(34.8, 26.0, 5184, 3888, read_noise_e=0.0), Lens(300.0, 300.0, 8.0, 8.0, 8.0))
    row = {}
    for kit, n, iso in ((half, 4.0, 400.0), (whole, 8.0, 1600.0)):
        q = pose(kit, GULL, WISH, 30.0)
        (row[kit.name],) = settings_at(q, np.array([n]), np.array([1 / 2000]), np.array([iso]))
    assert row["half"].snr == pytest.approx(row["whole"].snr, rel=1e-6)
    assert row["half"].blur_px == pytest.approx(row["whole"].blur_px, rel=0.02)


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_what_soft_ends_count_moves_the_aperture_by_a_third_of_a_stop_at_most(monkeypatch, factor):
    wish = replace(WISH, distance_m=2.0)
    before = answer(KIT, HAWKER, wish).best.f_number
    monkeypatch.setattr(prediction, "SOFT_ENDS_COUNT", factor * prediction.SOFT_ENDS_COUNT)
    assert abs(2 * math.log2(answer(KIT, HAWKER, wish).best.f_number / before)) < 0.34
