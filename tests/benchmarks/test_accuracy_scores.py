from pathlib import Path

import cv2
import numpy as np
import pytest

from accuracy_cases import TrueAnimal, TrueBurst, TrueFrame, planned_cases
from accuracy_scores import baseline_scores, score_bursts, turn_between
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.measured import Animal, Blur, BlurKind, Box, MeasuredFrame, Origin
from stillwing.scene.heldout import HELD_OUT_ANIMALS, HELD_OUT_BACKGROUNDS, HELD_OUT_LIGHTS
from stillwing.scene.scenarios import SCENARIOS

TRUE_BOX = Box(100, 100, 80, 40)


def true_frame(name, blur_px=None, kind=None, direction_deg=0.0, cause_px=1.0):
    animals = () if blur_px is None else (TrueAnimal(TRUE_BOX, blur_px, kind, direction_deg, cause_px),)
    return TrueFrame(Path(name), animals, False)


def found_frame(name, blur_px=None, box=TRUE_BOX, kind=BlurKind.DEFOCUS, direction_deg=None):
    animals = ()
    if blur_px is not None:
        blur = Blur(blur_px, 0.8 * blur_px, 1.2 * blur_px, blur_px, blur_px, direction_deg, kind)
        animals = (Animal(box, 0.9, Origin.FOUND, blur, (), 0.1, False, (9, 9, 9, 9), 0.0, 0.0, 0.0, None),)
    return MeasuredFrame(Frame((Path(name),), Tags()), 640, 480, animals)


def scores(true_frames, found_frames):
    burst = TrueBurst(Path("burst"), tuple(true_frames))
    return score_bursts([burst], {frame.path: frame for frame in found_frames})


def test_a_perfect_answer_scores_full_marks():
    told = scores(
        [true_frame("a", 1.0, "defocus"), true_frame("b", 2.0, "motion", 40.0), true_frame("c")],
        [found_frame("a", 1.0), found_frame("b", 2.0, kind=BlurKind.MOTION, direction_deg=40.0), found_frame("c")],
    )
    assert told["found_iou50"] == told["sharpest_first"] == told["kind_right"] == told["direction_right"] == 1
    assert told["blur_interval_coverage"] == 1
    assert told["false_finds"] == told["blur_median_abs_error_px"] == 0


def test_a_box_that_overlaps_too_little_is_not_found():
    # Shifted by 30 of 80 px: 50 x 40 shared of 110 x 40 in all, 0.4545.
    told = scores([true_frame("a", 1.0)], [found_frame("a", 1.0, box=Box(130, 100, 80, 40))])
    assert told["found_iou50"] == 0
    assert told["n_blurs"] == 0


def test_a_find_in_an_empty_frame_is_false_and_costs_the_pick():
    told = scores([true_frame("a", 1.0), true_frame("b")], [found_frame("a", 2.0), found_frame("b", 1.5)])
    assert told["false_finds"] == 1
    assert told["sharpest_first"] == 0


def test_a_frame_within_a_tenth_of_the_sharpest_counts():
    told = scores(
        [true_frame("a", 1.00), true_frame("b", 1.09), true_frame("c", 3.0)],
        [found_frame("a", 1.3), found_frame("b", 1.2), found_frame("c", 3.0)],
    )
    assert told["sharpest_first"] == 1


def test_error_is_weighed_against_what_is_allowed():
    # 0.4 px off at 5 px, where 0.15 px + 5 % = 0.4 px are allowed.
    told = scores([true_frame("a", 5.0)], [found_frame("a", 5.4)])
    assert told["blur_median_abs_error_px"] == pytest.approx(0.4)
    assert told["blur_median_rel_error"] == pytest.approx(0.08)
    assert told["blur_median_error_of_allowed"] == pytest.approx(1.0)


def test_causes_under_the_floor_of_optics_and_pixel_are_scored_apart():
    told = scores(
        [true_frame("a", 0.6, "motion", cause_px=0.3), true_frame("b", 2.0, "defocus", cause_px=1.9)],
        [found_frame("a", 0.6), found_frame("b", 2.0)],
    )
    assert told["kind_right"] == 0.5
    assert told["kind_right_visible"] == 1


@pytest.mark.parametrize(("first", "second", "turn"), [(5, 175, 10), (0, 90, 90), (170, 350, 0), (20, 50, 30)])
def test_directions_have_no_sense(first, second, turn):
    assert turn_between(first, second) == pytest.approx(turn)


def test_whole_frame_sharpness_falls_for_a_sharp_background_and_the_true_box_does_not(tmp_path):
    rng = np.random.default_rng(1)
    texture = rng.integers(0, 255, (480, 640)).astype(np.uint8)
    x, y, wide, high = 100, 100, 80, 40
    frames = []
    for name, animal_sigma, ground_sigma in (("a.png", 0.8, 6.0), ("b.png", 3.0, 0.8)):
        picture = cv2.GaussianBlur(texture, (0, 0), ground_sigma)
        animal = cv2.GaussianBlur(texture, (0, 0), animal_sigma)
        picture[y : y + high, x : x + wide] = animal[y : y + high, x : x + wide]
        cv2.imwrite(str(tmp_path / name), picture)
        frames.append(TrueFrame(tmp_path / name, (TrueAnimal(TRUE_BOX, animal_sigma, None, 0.0, 0.0),), False))
    told = baseline_scores([TrueBurst(tmp_path, tuple(frames))])
    assert told["sharpest_first_laplacian_whole"] == told["sharpest_first_tenengrad_whole"] == 0
    assert told["sharpest_first_laplacian_true_box"] == told["sharpest_first_tenengrad_true_box"] == 1


@pytest.mark.parametrize("quick", [True, False])
def test_what_is_held_out_never_shows_in_the_tuned_bursts(quick):
    cases = planned_cases(quick)
    tuned = [case for case in cases if not case.is_held_out]
    held_out = [case for case in cases if case.is_held_out]
    assert not any(case.wishes.kind in HELD_OUT_ANIMALS for case in tuned)
    assert not any(case.wishes.family in HELD_OUT_BACKGROUNDS for case in tuned)
    assert not any(case.wishes.light in HELD_OUT_LIGHTS for case in tuned)
    assert all(case.wishes.family in HELD_OUT_BACKGROUNDS for case in held_out)
    assert len({(case.scenario, case.seed) for case in cases}) == len(cases)


def test_the_full_run_shows_every_scenario_and_iso():
    cases = planned_cases(quick=False)
    for is_held_out in (False, True):
        shown = [case for case in cases if case.is_held_out == is_held_out]
        assert {case.scenario for case in shown} == set(SCENARIOS)
        assert {case.camera.iso for case in shown} == {400, 1600, 6400}
