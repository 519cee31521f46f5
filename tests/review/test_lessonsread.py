"""Lessons of an outing read from a field book: the shelf is asked, changes are noticed, progress is told."""

from dataclasses import replace

import pytest

from stillwing.errors import InputError
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.outings import outing
from stillwing.review import lessonsread
from stillwing.review.burstlesson import BurstLesson
from stillwing.review.lessonshelf import LessonShelf
from stillwing.review.lessonsread import read_outing_lesson
from web.flownbook import flown_outing


@pytest.fixture(scope="module")
def flown(tmp_path_factory):
    """A field book with one burst that shows a flight."""
    return flown_outing(tmp_path_factory.mktemp("flown"))


@pytest.fixture
def opened(flown):
    with open_book(flown.book_path) as book:
        yield book, outing(book, flown.outing_id)


def test_the_burst_of_an_outing_is_told_and_the_shelf_has_it_then(opened, tmp_path, monkeypatch):
    book, one = opened
    done = []
    told = read_outing_lesson(book, one, LessonShelf(tmp_path), lambda *how_far: done.append(how_far))
    assert done == [(0, 1), (1, 1)]
    assert (told.n_bursts, told.n_telling, told.n_frames) == (1, 1, 30)
    assert dict(told.lost)["not found"] == 1
    assert told.n_sharp + sum(n for _, n in told.lost) == 30

    def not_again(*_):
        raise AssertionError("made out again")

    monkeypatch.setattr(lessonsread, "burst_flight", not_again)
    assert read_outing_lesson(book, one, LessonShelf(tmp_path)) == told


def test_another_use_of_the_pictures_and_a_changed_picture_are_noticed(opened, flown, tmp_path, monkeypatch):
    book, one = opened
    made = []

    def quick(told, trace, limit_px, iso):
        made.append(limit_px)
        return BurstLesson(trace.id, len(trace.frames), "not looked at")

    monkeypatch.setattr(lessonsread, "burst_flight", lambda *_: None)
    monkeypatch.setattr(lessonsread, "burst_lesson", quick)
    shelf = LessonShelf(tmp_path)
    for _ in range(2):
        read_outing_lesson(book, one, shelf)
    assert len(made) == 1
    read_outing_lesson(book, replace(one, sharp_for="screen 640"), shelf)
    assert len(made) == 2 and made[1] > made[0]
    picture = flown.bursts[0].frames[3].path
    picture.touch()
    read_outing_lesson(book, replace(one, sharp_for="screen 640"), shelf)
    assert len(made) == 3


def test_an_outing_of_which_nobody_said_what_it_is_for_is_refused(opened, tmp_path):
    book, one = opened
    with pytest.raises(InputError, match="was not said"):
        read_outing_lesson(book, replace(one, sharp_for=None), LessonShelf(tmp_path))
