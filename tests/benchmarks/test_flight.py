"""The benchmark of flights: its cases are the scene's own truth, and its figures are read as they are meant."""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest

from flight_cases import case_of
from stillwing.scene.actors import position_at
from stillwing.scene.camera import Camera
from stillwing.scene.scenarios import plan_scene

# The tests' own folder `flight` has the benchmark's name: it is loaded by its place.
PLACE = Path(__file__).resolve().parents[2] / "benchmarks" / "flight.py"
SPEC = importlib.util.spec_from_file_location("flight_benchmark", PLACE)
flight = importlib.util.module_from_spec(SPEC)
sys.modules[SPEC.name] = flight
SPEC.loader.exec_module(flight)


def burst(**more):
    given = {
        "scenario": "take-off",
        "n_frames": 20,
        "distance_m": 5.0,
        "speed_m_s": 1.0,
        "speed_rel_error": 0.02,
        "relative_speed_error": 0.01,
        "angle_error_deg": 1.0,
        "angle_half_width_deg": 3.0,
        "speed_half_width": 0.05,
        "side_told": True,
        "side_right": True,
        "crossing_error_frames": float("nan"),
        "holds": {"angle": 1.0},
    }
    return flight.Tried(**{**given, **more})


def test_a_case_is_drawn_about_the_scenes_truth():
    case = case_of("take-off", 3)
    assert case is not None
    scene = plan_scene("take-off", Camera(frames_per_s=round(1 / np.diff(case.times_s)[0])), 36, 3)
    at = position_at(scene.actors[0], case.times_s)
    assert case.places_mm[:, 0] / 1000 == pytest.approx(at[:, 0], abs=2e-3)
    true_px = [frame.blur_low_px < frame.blur_high_px for frame in case.frames]
    assert all(true_px)
    assert len(case.frames) == len(case.times_s)


def test_the_same_seed_gives_the_same_case():
    one, other = case_of("hover", 2), case_of("hover", 2)
    assert one is not None
    assert other is not None
    assert repr(one.frames) == repr(other.frames)


def test_slow_bursts_and_hovers_do_not_count_for_speed():
    figures = flight.figures_of([burst(), burst(speed_m_s=0.1, speed_rel_error=9.0), burst(scenario="hover")])
    assert figures["speed_rel_error_p90"] == 0.02
    assert figures["bursts"] == 3


def test_a_crossing_that_is_not_there_counts_as_a_miss():
    figures = flight.figures_of([burst(crossing_error_frames=float("inf")), burst(crossing_error_frames=0.1)])
    assert figures["crossing_error_frames_p90"] == float("inf")
    assert figures["crossings_told"] == 2


def test_a_goal_stands_for_each_figure_that_was_asked_for():
    figures = flight.figures_of([burst(crossing_error_frames=0.1)])
    assert set(flight.GOALS) <= set(figures)
    assert "interval_coverage" in figures


def test_angles_are_told_by_how_far_the_animal_was():
    bursts = [
        burst(distance_m=metres, angle_error_deg=off)
        for metres, off in ((5.0, 1.0), (7.0, 2.0), (9.0, 3.0), (20.0, 9.0))
    ]
    figures = flight.figures_of(bursts)
    told = [figures[f"launch_angle_error_deg_p90_{name}"] for name in ("near", "between", "far")]
    assert told == [2.0, 3.0, 9.0]
