"""The benchmark of the waiting: it times what it says, and counts intervals that hold."""

import json
import sys

import pytest

import waiting
from stillwing.review.intervals import End, What, read_intervals


def test_the_log_has_as_many_absences_as_it_says_and_all_ends():
    log = waiting.log_of_absences(500)
    absences = read_intervals(log).of(What.ABSENCE)
    assert len(absences) == waiting.live_line(log) == 500
    assert {each.end for each in absences} == set(End)
    assert sum(each.has_happened for each in absences) / 500 == pytest.approx(0.8, abs=0.06)


def test_a_lower_confidence_holds_less_often():
    high, low = (waiting.coverage(150, confidence) for confidence in (0.95, 0.6))
    assert high.keys() == low.keys()
    assert high["interval_coverage"] > low["interval_coverage"] + 0.2
    # Luck of 150 draws of five intervals each, some of them from the same waits: three standard errors.
    assert high["interval_coverage"] == pytest.approx(0.955, abs=0.03)
    assert high["interval_coverage_least"] <= high["interval_coverage"]


def test_the_figures_have_the_names_that_they_are_asked_for_by(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(waiting, "QUICK_RUNS", 20)
    monkeypatch.setattr(sys, "argv", ["waiting.py", "--quick", "--json", str(tmp_path / "figures.json")])
    waiting.main()
    figures = json.loads((tmp_path / "figures.json").read_text())
    assert figures.keys() >= {"live_line_ms_500", "interval_coverage"}
    assert figures["live_line_ms_500"] > 0
    assert all(0 <= share <= 1 for name, share in figures.items() if not name.startswith(("live", "n_")))
    shown = capsys.readouterr().out
    assert "a line from 500 absences" in shown
    assert shown.count("(goal ") == 2
