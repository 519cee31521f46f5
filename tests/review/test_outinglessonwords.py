"""An outing's lesson in words, word for word."""

from dataclasses import replace

import pytest

from stillwing.review.burstlesson import Setting
from stillwing.review.changes import Change
from stillwing.review.losses import Loss
from stillwing.review.outinglesson import ChangeWon, OutingLesson
from stillwing.review.outinglessonwords import HEADINGS, change_rows, lesson_cautions, lesson_sentences

CLOSED = ChangeWon(Change.F_NUMBER, 4 / 3, 24.2, (14.6, 33.1), 9, 0.96)
SHORTER = ChangeWon(Change.EXPOSURE, 1.0, 6.4, (-0.3, 13.0), 4, 0.04)
LESSON = OutingLesson(
    31, 12, (("no animal was found in the burst", 18), ("the pictures do not tell the focus distance", 1)), 320, 80,
    ((Loss.FOCUS, 120), (Loss.MOTION, 60), (Loss.EDGE, 60)), 2, 7, Setting(1 / 1625.5, 8.0, 300.0, 3.0, 800.0), True,
    (CLOSED, SHORTER),
)  # fmt: skip


def test_all_is_told_with_its_figures():
    assert lesson_sentences(LESSON) == (
        "of 31 bursts 12 tell their flight",
        "of their 320 frames 80 are whole and sharp enough; lost are 120 off the focal plane, on which side is not "
        "told, 60 to motion, 60 cut by the frame's edge",
        "2 bursts began when it had gone through the focal plane already",
        "most of all single changes: f/13 instead of f/8 would have won 24 more sharp frames (15 to 33), for 1.3 stops "
        "of light, ISO 2000 instead of 800",
        "18 bursts tell no flight: no animal was found in the burst",
        "1 burst tells no flight: the pictures do not tell the focus distance",
    )


def test_which_is_best_is_said_to_be_open_where_it_is():
    open_ = replace(LESSON, changes=(replace(CLOSED, best_chance=0.62), SHORTER))
    best = lesson_sentences(open_)[3]
    assert best.startswith("which change would have won most is open; the likeliest: f/13 instead of f/8 would")
    assert best.endswith("; it wins most in 62 of 100 draws of these bursts")


@pytest.mark.parametrize(
    ("change", "step", "words", "cost"),
    [
        (Change.EXPOSURE, 1.0, "1/3200 s instead of 1/1600 s", "for 1 stop of light, ISO 1600 instead of 800"),
        (Change.ANGLE, 15.0, "standing 15 degrees further round", "for other light and another background"),
        (
            Change.DISTANCE,
            1.25,
            "standing 1.2 times as far (3.8 m in the middle burst)",
            "the animal 20 % smaller in the frame",
        ),
        (
            Change.SOONER,
            0.2,
            "beginning 0.20 s sooner, or a look-back buffer of that",
            "for frames in which nothing happens yet",
        ),
    ],
)
def test_each_change_has_its_words_and_its_cost(change, step, words, cost):
    row = change_rows(replace(LESSON, changes=(replace(CLOSED, change=change, step=step),)))[0]
    assert (row.change, row.cost, row.won, row.bursts) == (words, cost, "24 (15 to 33)", "9 of 12")
    assert len(HEADINGS) == 4


def test_bursts_taken_otherwise_are_told_by_the_middle_one():
    row = change_rows(replace(LESSON, is_one_setting=False))[0]
    assert row.change == "f/13 instead of f/8 in the middle burst"
    assert change_rows(LESSON)[1].won == "6 (0 to 13)"
    blind = replace(LESSON, setting=replace(LESSON.setting, iso=None))
    assert change_rows(blind)[1].cost == "for 1 stop of light"


def test_few_bursts_are_cautioned_of_and_none_tell_only_that():
    few = replace(LESSON, changes=(replace(CLOSED, between=None),))
    assert "24 more sharp frames, for" in lesson_sentences(few)[3]
    assert lesson_cautions(few)[0] == "these bursts are too few for an interval"
    assert lesson_cautions(LESSON)[0] == "the angle to the focal plane is told in 7 of the 12 bursts"
    none = replace(LESSON, n_bursts=1, n_telling=0, untold=(("no animal", 1),), changes=())
    assert lesson_sentences(none) == ("of 1 burst 0 tell their flight", "1 burst tells no flight: no animal")
    assert lesson_cautions(none) == ()


def test_nothing_worth_it_is_said():
    assert "no one change that is tried would have won a sharp frame" in lesson_sentences(replace(LESSON, changes=()))
