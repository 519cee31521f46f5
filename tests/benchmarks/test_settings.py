"""The benchmark of the solver: what it times is what it says, and predictions are what sifting measures."""

import numpy as np
import pytest

import settings
from settings_scenes import ROOM, Compared, camera_for, compare
from stillwing.fieldbook.kits import EXAMPLE_KIT
from stillwing.optics.settings import solve

PROMISED = 0.15
"""Predicted blur lies this near to what is measured on rendered frames: the house's own goal."""
FIGURES = {"frontier_ms", "ten_thousand_s", "predicted_over_measured_blur_p90"}


@pytest.mark.slow
@pytest.mark.parametrize("case", settings.QUICK, ids=lambda case: f"{case.animal}, {case.behaviour}")
def test_predicted_blur_is_what_sifting_measures_on_rendered_frames(case):
    # A dragonfly hovering, a damselfly perched, a bird passing, each at the solver's own setting for its light.
    found = compare(settings.ask(case), case.kind, seed=1, n_frames=4)
    assert found.n_measured == 4
    assert found.predicted_px == pytest.approx(found.true_px, rel=0.05), found.words
    assert found.predicted_px == pytest.approx(found.measured_px, rel=PROMISED), found.words


def test_the_scene_is_taken_with_the_answers_own_setting():
    found = settings.ask(settings.QUICK[0])
    camera = camera_for(found)
    assert (camera.f_number, camera.exposure_s) == (found.best.f_number, found.best.exposure_s)
    assert camera.iso == round(found.best.iso)
    assert camera.pitch_mm == pytest.approx(EXAMPLE_KIT.camera.pitch_mm)
    # Thin lens: the focal plane lies f (1 + 1/m) before it.
    assert camera.focus_distance_m == pytest.approx(
        found.true_focal_length_mm * (1 + 1 / found.magnification) / 1000, rel=1e-9
    )
    across = ROOM * found.subject.length_mm * found.magnification / camera.pitch_mm
    assert camera.width_px >= min(across, EXAMPLE_KIT.camera.width_px) - 32


def test_ten_thousand_questions_are_ten_thousand_and_differ():
    questions = settings.many_questions()
    assert len(questions) == settings.MANY
    assert len(np.unique(questions.ev100)) == settings.MANY
    assert len(np.unique(questions.half_depth_mm)) > 50
    few = questions.part(slice(0, settings.MANY, 500))
    together = solve(few)
    for number in range(len(few)):
        alone = solve(few.part(slice(number, number + 1)))
        best = alone.best[0]
        assert together.best[number] == best
        assert together.worst_ratio[number, best] == pytest.approx(alone.worst_ratio[0, best])


def test_the_summary_counts_too_sharp_and_too_soft_alike():
    scenes = [Compared("a", 1.0, 1.0, 1.25, 4), Compared("b", 1.25, 1.0, 1.0, 4), Compared("c", 1.0, 1.0, 1.0, 4)]
    told = settings.summary(scenes)
    assert told["predicted_over_measured_blur_p90"] == pytest.approx(1.25)
    assert told["predicted_over_measured_blur_median"] == pytest.approx(1.0)
    assert told["predicted_over_measured_within_15_percent"] == pytest.approx(1 / 3)
    assert told["n_scenes"] == 3


def test_the_figures_have_the_names_that_they_are_asked_for_by(monkeypatch):
    monkeypatch.setattr(settings, "ROUNDS", 1)
    monkeypatch.setattr(settings, "MANY", 50)
    scenes = [Compared("a pond", 1.0, 1.0, 1.1, 4)]
    figures = settings.speed() | settings.summary(scenes)
    assert figures.keys() >= FIGURES
    assert all(figure > 0 for figure in figures.values())
    shown = settings.table(figures, scenes)
    assert "a pond" in shown
    assert shown.count("(goal ") == 3
