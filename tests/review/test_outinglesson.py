"""Lessons of bursts put together: totals, intervals that hold as often as they say, the least step that is worth it."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.review.burstlesson import BurstLesson, Setting
from stillwing.review.changes import STEPS, Change
from stillwing.review.losses import Loss
from stillwing.review.outinglesson import FEWEST_BURSTS, outing_lesson

SETTING = Setting(1 / 1024, 8.0, 300.0, 3.0, 800.0)


def lesson(number=1, exposure=0.0, f_number=0.0, **more):
    """A burst of 20 frames in which a shorter exposure wins up to ``exposure`` frames, a narrower lens ``f_number``."""
    steps = {change: (0.0,) * len(STEPS[change]) for change in Change}
    steps[Change.EXPOSURE] = tuple(exposure * min(1.0, stops) for stops in STEPS[Change.EXPOSURE])
    steps[Change.F_NUMBER] = tuple(f_number * share for share in (0.2, 0.6, 1.0, 0.95, 0.5, -1.0))
    given = {"n_sharp": 12, "lost": {"motion": 5, "focus": 3}, "sharp": 12.0, "won": steps, "setting": SETTING}
    return BurstLesson(number, 20, "", **{**given, **more})


def test_bursts_that_tell_nothing_are_counted_with_the_reason_and_nothing_else():
    told = outing_lesson([lesson(), BurstLesson(2, 9, "no animal"), BurstLesson(3, 8, "no animal"),
                          BurstLesson(4, 7, "no distance")])  # fmt: skip
    assert (told.n_bursts, told.n_telling, told.n_frames, told.n_sharp) == (4, 1, 20, 12)
    assert told.untold == (("no animal", 2), ("no distance", 1))
    assert told.lost == ((Loss.MOTION, 5), (Loss.FOCUS, 3))


def test_changes_are_in_order_of_what_they_win_with_the_least_step_that_does():
    told = outing_lesson([lesson(number, exposure=1.0, f_number=2.0) for number in range(8)])
    first, second = told.changes
    assert (first.change, first.step, first.won) == (Change.F_NUMBER, 1.0, 16.0)
    assert (second.change, second.step, second.won) == (Change.EXPOSURE, 1.0, 8.0)
    # All bursts alike: whatever is drawn, the total is the same.
    assert first.between == (16.0, 16.0)
    assert (first.best_chance, second.best_chance) == (1.0, 0.0)
    assert first.n_bursts == 8


def test_a_change_that_wins_less_than_a_frame_is_not_told():
    assert outing_lesson([lesson(number, exposure=0.1) for number in range(8)]).changes == ()
    assert outing_lesson([]).changes == ()


def test_few_bursts_tell_no_interval():
    assert outing_lesson([lesson(n, 2.0) for n in range(FEWEST_BURSTS - 1)]).changes[0].between is None
    assert outing_lesson([lesson(n, 2.0) for n in range(FEWEST_BURSTS)]).changes[0].between is not None


def test_which_is_best_is_open_where_it_hangs_on_single_bursts():
    told = outing_lesson([lesson(1, exposure=9.0), lesson(2, f_number=8.0), *(lesson(n) for n in range(3, 9))])
    chances = [one.best_chance for one in told.changes]
    assert sum(chances) == pytest.approx(1.0)
    assert min(chances) > 0.3


@pytest.mark.parametrize("n_bursts", [6, 14])
def test_the_interval_holds_the_expected_total_nine_times_in_ten(n_bursts):
    rng = np.random.default_rng(3)
    held, mean = [], 0.4 * 3.0 * n_bursts
    for _ in range(100):
        # Most bursts win nothing, some a few frames: a mean of 1.2 a burst.
        won = np.where(rng.uniform(size=n_bursts) < 0.4, rng.gamma(4.0, 0.75, n_bursts), 0.0)
        changes = outing_lesson([lesson(n, exposure=float(w)) for n, w in enumerate(won)]).changes
        if changes:
            low, high = changes[0].between
            held.append(low <= mean <= high)
    # 100 outings: 0.9 within two standard errors.
    assert 0.84 <= np.mean(held) <= 0.96


def test_settings_are_told_by_the_middle_and_iso_only_where_all_tell_it():
    other = replace(SETTING, exposure_s=1 / 512, iso=400.0)
    told = outing_lesson([lesson(1), lesson(2, setting=other), lesson(3, setting=other)])
    assert (told.setting.exposure_s, told.setting.iso, told.is_one_setting) == (1 / 512, 400.0, False)
    assert outing_lesson([lesson(1), lesson(2, setting=replace(SETTING, iso=None))]).setting.iso is None
    assert outing_lesson([lesson(1), lesson(2)]).is_one_setting
