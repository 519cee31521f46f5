"""Lessons kept on disk: found again whole, made anew when their cause or the code changes, and done without."""

from pathlib import Path

import pytest

from stillwing.review import lessonshelf
from stillwing.review.burstlesson import BurstLesson, Setting
from stillwing.review.lessonshelf import LessonShelf

LESSON = BurstLesson(
    4, 20, "", 12, {"motion": 8}, 11.5, {"exposure": (0.5, 1.25)}, Setting(1 / 500, 8.0, 300.0, 3.0, None), 24.5, True
)
PLACE = (Path("book"), 4)


class Made:
    """Counts how often a lesson is made."""

    def __init__(self, lesson=LESSON):
        self.lesson, self.n = lesson, 0

    def __call__(self):
        self.n += 1
        return self.lesson


@pytest.mark.parametrize("lesson", [LESSON, BurstLesson(5, 9, "no animal was found in the burst")])
def test_a_kept_lesson_comes_back_as_it_was(tmp_path, lesson):
    made = Made(lesson)
    for _ in range(2):
        # Another process finds it too.
        assert LessonShelf(tmp_path / "shelf").lesson(PLACE, ("cause", 1), made) == lesson
    assert made.n == 1


def test_it_is_made_anew_for_another_cause_another_burst_and_other_code(tmp_path, monkeypatch):
    shelf, made = LessonShelf(tmp_path), Made()
    shelf.lesson(PLACE, "cause", made)
    shelf.lesson(PLACE, "another", made)
    assert made.n == 2
    shelf.lesson((Path("book"), 5), "another", made)
    assert made.n == 3
    monkeypatch.setattr(lessonshelf, "code_version", lambda: "later")
    shelf.lesson(PLACE, "another", made)
    assert made.n == 4
    # One file for each burst, however often it changes.
    assert len(list(tmp_path.iterdir())) == 2


def test_what_is_torn_or_cannot_be_kept_is_made_again(tmp_path):
    made = Made()
    LessonShelf(tmp_path).lesson(PLACE, "cause", made)
    for torn in (b'{"key": ', b"[]", b'{"key": "other"}'):
        next(tmp_path.iterdir()).write_bytes(torn)
        assert LessonShelf(tmp_path).lesson(PLACE, "cause", made) == LESSON
    assert made.n == 4
    (tmp_path / "file").touch()
    assert LessonShelf(tmp_path / "file").lesson(PLACE, "cause", made) == LESSON


def test_the_code_version_is_that_of_the_code():
    assert len(lessonshelf.code_version()) == 64
