import json

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.scene.truth import judge, mask_of, read_truth, run_lengths, truth_path, write_truth


@given(st.integers(1, 9), st.integers(1, 9), st.integers(0, 2**31))
def test_masks_come_back_from_their_runs(rows, columns, seed):
    mask = np.random.default_rng(seed).uniform(size=(rows, columns)) < 0.5
    told = {"mask": {"step_px": 1, "rows": rows, "columns": columns, "runs": run_lengths(mask)}}
    assert np.array_equal(mask_of(told), mask)


def _frame(blur=None, clipped=False, width=400):
    animals = [] if blur is None else [{"sharpest": {"blur_px": blur}, "clipped": clipped, "box": [10, 10, width, 50]}]
    return {"animals": animals}


def test_a_person_keeps_the_sharpest_whole_animals():
    frames = [_frame(2.0), _frame(0.8), _frame(0.9, clipped=True), _frame(None), _frame(9.0), _frame(0.8, width=20)]
    judge(frames, 2000)
    assert [f["keep"] for f in frames] == [False, True, False, False, False, False]
    assert "sharp on the animal" in frames[1]["reason"]
    assert "edge" in frames[2]["reason"]
    assert "no animal" in frames[3]["reason"]
    assert "soft" in frames[4]["reason"]
    assert "1.0%" in frames[5]["reason"] or "2.5%" in frames[5]["reason"]


def test_ten_near_copies_are_not_all_kept():
    frames = [_frame(0.8) for _ in range(20)]
    judge(frames, 2000)
    kept = [i for i, f in enumerate(frames) if f["keep"]]
    assert 1 <= len(kept) <= 3
    assert min(np.diff(kept), default=99) >= 2


def test_a_burst_with_nothing_in_it_keeps_nothing():
    frames = [_frame(None), _frame(None)]
    judge(frames, 2000)
    assert not any(f["keep"] for f in frames)


def test_truth_lies_beside_its_folder_and_reads_back(tmp_path):
    path = truth_path(tmp_path / "burst")
    assert path.parent == tmp_path
    write_truth(path, {"frames": [1, 2.5]})
    assert read_truth(path) == {"frames": [1, 2.5]}
    assert json.loads(path.read_text()) == {"frames": [1, 2.5]}
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("mask", [np.ones((3, 4), bool), np.zeros((2, 2), bool)])
def test_runs_add_up_to_the_box(mask):
    assert sum(run_lengths(mask)) == mask.size
