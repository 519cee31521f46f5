"""The benchmark of one's own share: its books are of whom they say, and its figures have their names."""

import json
import sys

import numpy as np
import pytest

import own_share


def test_the_true_share_is_the_one_asked_for_but_where_forms_differ_near_the_top():
    rng = np.random.default_rng(5)
    assert own_share.true_share(rng, 0.6, 0.0) == pytest.approx(0.6, abs=0.005)
    assert own_share.true_share(rng, 0.3, 0.2) == pytest.approx(0.3, abs=0.005)
    # Half of the outings are above 1 where forms differ, and no burst is surer than sure.
    assert 0.85 < own_share.true_share(rng, 1.0, 0.4) < 0.97


def test_a_book_has_as_many_outings_as_asked_for_and_as_many_sharp_bursts_as_the_share_says():
    book = own_share.draw_book(np.random.default_rng(5), 0.6, 0.0, 400)
    assert len({burst.outing for burst in book}) == 400
    sharp, expected = sum(burst.has_sharp for burst in book), sum(burst.expected for burst in book)
    assert sharp / expected == pytest.approx(0.6, abs=0.03)


def test_a_wrong_truth_is_held_less_often(monkeypatch):
    right = own_share.case_held((0.6, 0.0, 10), 20)
    monkeypatch.setattr(own_share, "true_share", lambda *_: 0.9)
    wrong = own_share.case_held((0.6, 0.0, 10), 20)
    assert right["held"] >= 0.8 and wrong["held"] <= 0.2


def test_the_figures_have_the_names_that_they_are_asked_for_by(monkeypatch, tmp_path, capsys):
    for name, few in (("SHARES", (0.6,)), ("SPREADS", (0.0, 0.4)), ("N_OUTINGS", (3, 5)), ("QUICK_RUNS", 5)):
        monkeypatch.setattr(own_share, name, few)
    monkeypatch.setattr(sys, "argv", ["own_share.py", "--quick", "--json", str(tmp_path / "figures.json")])
    own_share.main()
    figures = json.loads((tmp_path / "figures.json").read_text())
    assert len(figures["cases"]) == 4
    assert 0.5 < figures["own_share_coverage_least"] <= figures["own_share_coverage"] <= 1
    assert "held, mean by outings  3: " in capsys.readouterr().out
