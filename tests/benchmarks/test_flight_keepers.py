"""The benchmark of predicted keepers: scenes show what was drawn, totals add up, figures are read as they are meant."""

import math
from pathlib import Path

import numpy as np
import pytest

from flight_keepers import Tried, figures_of, predicted_totals, try_scenario
from flight_rules import Rule, rules_of_thumb
from flight_scenes import DOES, KIT, camera_of, scenario_of, scene_of
from stillwing.flight.flown import fly
from stillwing.flight.launch import attempted
from stillwing.optics.subject import Behaviour
from stillwing.scene.moment import moment_of


def tried(**more):
    given = {
        "words": "a launch", "behaviour": "take-off", "n_frames": 20, "predicted": 8.0, "low": 5.0, "high": 11.0,
        "should_hold": 0.93, "drawn": 8, "true": 8, "measured": 8, "n_alike": 18,
        "limit_px": 1.1, "blurs": [(1.0, 1.05, 1.26), (0.5, 0.5, 0.9), (1.5, 1.2, 0.6)],
    }  # fmt: skip
    return Tried(**{**given, **more})


@pytest.mark.parametrize("behaviour", DOES)
def test_each_frame_of_a_scene_shows_the_drawn_place_and_speed(behaviour):
    scenario = scenario_of(behaviour, 2)
    flown = fly(scenario.attempt, 3, np.random.default_rng(5))
    scene = scene_of(scenario, flown, 1, 5)
    camera, q = scene.camera, scenario.attempt.question
    per_mm = float(q.magnification[0] / q.pitch_mm[0])
    shake_px = float(q.shake_mm_s[0] / q.pitch_mm[0])
    assert scene.n_frames == flown.is_taken[1].sum()
    for k in range(scene.n_frames):
        moment = moment_of(scene, scene.actors[0], k / camera.frames_per_s)
        assert 1000 * (moment.distance_m - camera.focus_distance_m) == pytest.approx(flown.offset_mm[1, k], abs=1e-6)
        # The picture of what lies off the plane is a little larger or smaller.
        scale = camera.focus_distance_m / moment.distance_m
        off_px = abs(moment.place_px[0] - (camera.width_px - 1) / 2)
        assert off_px == pytest.approx(per_mm * scale * flown.across_mm[1, k], abs=0.5)
        speed_px = math.hypot(per_mm * flown.speed_mm_s[1, k], shake_px)
        assert math.hypot(*moment.speed_px) == pytest.approx(speed_px * scale, rel=0.01)


def test_the_scenes_camera_is_the_one_that_was_asked():
    scenario = scenario_of(Behaviour.TAKE_OFF, 1)
    camera, q = camera_of(scenario), scenario.attempt.question
    assert camera.pitch_mm == pytest.approx(KIT.camera.pitch_mm)
    # One millimetre off the plane: the disc that the model takes.
    far = 1000 * camera.focus_distance_m
    assert float(camera.disc_px((far + 1) / 1000)) == pytest.approx(
        float(q.disc_px_per_mm[0]) / scenario.attempt.f_number, rel=0.02
    )


def test_a_landing_comes_in_and_a_launch_goes_out():
    for behaviour, goes_out in ((Behaviour.TAKE_OFF, True), (Behaviour.LANDING, False)):
        scenario = scenario_of(behaviour, 3)
        flown = fly(scenario.attempt, 1, np.random.default_rng(2))
        scene = scene_of(scenario, flown, 0, 2)
        flying = [k for k in range(scene.n_frames) if flown.is_flying[0, k]]
        at = [moment_of(scene, scene.actors[0], k / scene.camera.frames_per_s) for k in flying]
        off = [abs(moment.place_px[0] - scene.camera.width_px / 2) for moment in at]
        assert (off == sorted(off)) is goes_out
        away = at[1].place_px[0] - at[0].place_px[0]
        assert np.sign(at[1].speed_px[0]) == np.sign(away)


def test_totals_are_those_of_so_many_attempts():
    scenario = scenario_of(Behaviour.LANDING, 5)
    totals = predicted_totals(scenario, 4, np.random.default_rng(3))
    assert totals.mean() == pytest.approx(4 * attempted(scenario.attempt).frames_sharp.mean, rel=0.05)


def test_figures_count_scenarios_whose_interval_holds_what_was_sifted():
    figures = figures_of([tried(), tried(measured=12), tried(measured=5, true=4), tried(measured=11)])
    assert figures["predicted_keepers_in_interval"] == 0.75
    assert figures["true_keepers_in_interval"] == 0.75
    assert figures["measured_over_predicted_frames"] == pytest.approx(36 / 32)
    assert figures["frames_judged_alike"] == pytest.approx(0.9)


def test_each_behaviour_has_its_own_share_of_what_was_predicted():
    figures = figures_of([tried(measured=4), tried(measured=8), tried(behaviour="hover", measured=10)])
    assert figures["measured_over_predicted_take_off"] == 0.75
    assert figures["true_over_predicted_take_off"] == 1.0
    assert figures["measured_over_predicted_hover"] == 1.25


def test_blurs_are_compared_where_they_decide():
    figures = figures_of([tried()])
    assert figures["blur_true_over_model"] == pytest.approx(1.05)
    assert figures["blur_measured_over_true_take_off"] == pytest.approx(1.2)


@pytest.mark.slow
def test_a_hover_that_is_predicted_sharp_is_sifted_sharp():
    one = try_scenario(scenario_of(Behaviour.HOVER, 3), 3, n_attempts=1)
    assert one.n_frames > 5
    assert one.measured >= 0.8 * one.drawn > 0
    assert one.n_alike <= one.n_frames


@pytest.mark.parametrize(
    ("told", "verdict"),
    [
        ({"a": 1.2, "b": 2.4}, "agrees"),
        ({"a": 1.2, "b": 4.0}, "agrees in part"),
        ({"a": math.inf, "b": 0.2}, "does not agree"),
    ],
)
def test_a_rule_agrees_where_all_that_is_told_lies_in_it(told, verdict):
    assert Rule("one or two", 1, 2, told, "").verdict == verdict


def test_the_rules_have_figures_and_reasons():
    for rule in rules_of_thumb():
        assert rule.told
        assert rule.why
        assert min(rule.told.values()) >= 0


def test_the_page_tells_the_rules_as_the_model_does():
    page = (Path(__file__).parents[2] / "docs" / "attempts.md").read_text()
    rows = {line.split(" | ")[0].removeprefix("| "): line for line in page.splitlines() if line.startswith("| ")}
    shown = {rule.words: rule for rule in rules_of_thumb()}
    for words, rule in shown.items():
        assert rows[words].rstrip("| ").endswith(rule.verdict)
    launch, hover, landing = shown.values()
    assert f"{launch.told['2 m, full']:.1f} for every pixel" in rows[launch.words]
    assert f"{hover.told['10 frames/s, no buffer']:.1f} at 10" in rows[hover.words]
    assert f"{landing.told['pressed for the touch-down']:.1f} pressed for the touch-down" in rows[landing.words]
