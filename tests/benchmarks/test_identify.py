"""The benchmark of the identification, and with fewer records what it is held to: how often the sets hold the truth."""

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import identify as benchmark
from identify_places import OTHER_PLACES, OWN_PLACES, SQUARE, LocalRecords
from identify_records import OTHER, OWN, Records
from stillwing.records.pack import region_named
from stillwing.records.traitchances import SEXES

BRITAIN = region_named("britain-and-ireland", own=Path("no-packs-of-my-own"))


@pytest.mark.parametrize("world", [OWN, OTHER], ids=["own errors", "other errors"])
def test_sets_of_80_in_100_hold_the_truth_75_to_90_times_in_100(world):
    figures = benchmark.coverage(BRITAIN, world, 250)
    # Luck of 250 records: two standard errors of 0.024.
    assert 0.75 - 0.048 <= figures["set_80_holds"] <= 0.90 + 0.048
    assert figures["listed_doubted"] <= 0.02


def test_with_the_model_s_own_errors_sets_hold_as_often_as_they_claim():
    figures = benchmark.coverage(BRITAIN, OWN, 250)
    assert figures["set_80_holds"] == pytest.approx(figures["set_80_claims"], abs=0.065)


def test_asking_for_what_tells_most_takes_fewer_answers_than_asking_in_any_order():
    ordered, at_random = (benchmark.questions_needed(BRITAIN, 25, is_ordered=each) for each in (True, False))
    assert 1 < ordered < at_random - 0.5


def test_what_is_like_no_animal_is_mostly_said_to_be_off_the_list():
    assert benchmark.strange(BRITAIN, 40) > 0.7


def test_records_are_of_species_in_the_list_as_often_as_they_are_met_and_the_same_seed_draws_the_same():
    one, other = (Records(BRITAIN, OWN, seed=3) for _ in range(2))
    drawn = [one.draw() for _ in range(300)]
    assert drawn == [other.draw() for _ in range(300)]
    words = [BRITAIN.species[number].statuses[0].word for number, _, _ in drawn]
    assert words.count("Very widespread") > 5 * words.count("Rare")
    said = [(SEXES[sex], seen.sex) for _, sex, seen in drawn if seen.sex in SEXES]
    assert np.mean([true is told for true, told in said]) == pytest.approx(0.95, abs=0.06)


@pytest.mark.parametrize("places", [OWN_PLACES, OTHER_PLACES], ids=["own errors", "other errors"])
def test_what_was_recorded_at_a_place_makes_sets_smaller_that_hold_the_truth_more_often(places):
    figures = benchmark.local_coverage(BRITAIN, places, 250)
    assert 0.75 - 0.048 <= figures["set_80_holds_nearby"] <= 0.90 + 0.048
    assert figures["set_80_holds_nearby"] > figures["set_80_holds_local"]
    assert figures["set_size_nearby"] < figures["set_size_local"] - 0.2
    assert figures["top1_nearby"] > figures["top1_local"] + 0.05
    assert figures["listed_doubted_nearby"] <= 0.03


def test_with_records_of_the_place_sets_hold_as_often_as_they_claim():
    figures = benchmark.local_coverage(BRITAIN, OWN_PLACES, 250)
    assert figures["set_80_holds_nearby"] == pytest.approx(figures["set_80_claims_nearby"], abs=0.065)


def test_an_invented_place_lacks_species_and_its_records_are_mostly_of_those_that_live_there():
    one, other = (LocalRecords(BRITAIN, replace(OWN_PLACES, bias=0.0), seed=3) for _ in range(2))
    right, wrong = 0, 0
    for _ in range(60):
        number, _, seen = one.draw_there()
        assert other.draw_there()[::2] == (number, seen)
        assert seen.nearby is not None and seen.nearby.square == SQUARE
        assert 5 <= seen.nearby.n_records <= 500
        assert 8 <= (one.prior > 0).sum() <= 35
        assert one.prior[number] > 0
        for name, n_records in seen.nearby.counts.items():
            lives = one.prior[[each.scientific_name for each in BRITAIN.species].index(name)] > 0
            right, wrong = right + n_records * lives, wrong + n_records * (not lives)
    # Half of the 5 in 100 wrong names are of kin that live there too.
    assert 0.01 < wrong / (right + wrong) < 0.05


def test_the_figures_have_the_names_that_they_are_asked_for_by(monkeypatch, tmp_path, capsys):
    monkeypatch.setattr(benchmark, "QUICK_RUNS", 8)
    monkeypatch.setattr(benchmark, "QUICK_ASKED", 2)
    monkeypatch.setattr(sys, "argv", ["identify.py", "--quick", "--json", str(tmp_path / "figures.json")])
    benchmark.main()
    figures = json.loads((tmp_path / "figures.json").read_text())
    assert figures.keys() >= {"set_80_holds", "top1", "questions_needed", "ms"}
    places = {f"{tail}{world}" for tail in ("_local", "_nearby") for world in ("", "_other")}
    assert figures.keys() >= {f"{name}{tail}" for name in ("set_80_holds", "set_size") for tail in places}
    assert figures["ms"] > 0
    assert "the set holds the truth" in capsys.readouterr().out
